"""A planned build's forecast: made before it is put together, kept, and set against the bench.

Laws of our own; how true the bands are is measured in `tests/benchmarks/test_forecast_bands.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.analysis.garage import SHED
from tests.analysis.test_one_force import CASES
from trackside.analysis.estimate import ground
from trackside.analysis.forecast import Forecast, Proof, track_record
from trackside.analysis.shed import Shed, fit_of
from trackside.crew.forecasts import kept_forecast, outlook
from trackside.crew.strip_downs import PARTS_IN, StripDownJob, StripDowns
from trackside.errors import BadInput, NoEstimate
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Build, DynoSheet
from trackside.reports.forecast_words import NOT_KEPT, outlook_lines

SPEEDS = (0.05, 0.1, 0.2)
BEFORE, AFTER = CASES["rebound stack changed"]
SOFTER = {"rebound_stack": AFTER.rebound_stack}
SHEET = next(sheet for sheet in SHED.sheets if sheet.damper == "HARD")


def plan_on_hard(logbook: Logbook, before: Build = BEFORE) -> StripDownJob:
    """Damper HARD with its parts and its sheet, and a job that plans another rebound stack."""
    jobs = StripDowns(logbook)
    logbook.write(put("damper", {"serial": "HARD"}), put("build", before.body()))
    logbook.write(put("sheet", SHEET.body()))
    logbook.write(jobs.planned("HARD", "softer rebound", parts=SOFTER))
    return jobs.of("HARD")[0]


def bench(logbook: Logbook, times: float = 1.0) -> None:
    """The new build on the bench: the old sheet's forces, so many times."""
    rows = tuple(row._replace(force=row.force * times) for row in SHEET.rows)
    body = SHEET.model_copy(update={"build": "B", "date": "2026-07-01", "rows": rows}).body()
    logbook.write(put("sheet", body))


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "shop.trackside", author="Mara", device="d") as opened:
        yield opened


def test_a_planned_build_has_the_curve_that_every_page_will_give_it(logbook: Logbook) -> None:
    job = plan_on_hard(logbook)
    seen = outlook(logbook, job, SPEEDS)
    assert seen.build is not None
    rebound = seen.fresh["rebound"]
    assert isinstance(rebound, Forecast)
    assert rebound.origin.kind == "carried over"
    positions = [point.position for point in rebound.points[:: len(SPEEDS)]]
    assert positions == sorted(SHEET.positions("rebound"))[: len(positions)]
    assert all(p.low < p.force < p.high for p in rebound.points)
    assert all(
        a and a.high - a.low > p.high - p.low
        for p, a in zip(rebound.points, rebound.alone, strict=True)
    )
    logbook.write(*StripDowns(logbook).turned(job, PARTS_IN, True))
    shed = Shed.of(logbook)
    built = shed.build("HARD", "B")
    assert built is not None
    curve = ground(built, "rebound", shed).curve
    for point in rebound.points:
        assert curve.predict(point.from_hard, [point.speed]).force[0] == pytest.approx(point.force)


def test_what_is_kept_is_set_against_the_bench(logbook: Logbook) -> None:
    job = plan_on_hard(logbook)
    write = kept_forecast(logbook, job, SPEEDS)
    assert write is not None
    logbook.write(write)
    assert kept_forecast(logbook, job, SPEEDS) is None, "the last one says the same"
    logbook.write(*StripDowns(logbook).turned(job, PARTS_IN, True))
    assert outlook(logbook, job, SPEEDS).against is None
    bench(logbook, 3.0)
    seen = outlook(logbook, job, SPEEDS)
    assert seen.kept is not None
    assert seen.against is not None
    assert not seen.fresh, "a bench has run it"
    shed = Shed.of(logbook)
    built = shed.build("HARD", "B")
    sheet = built and shed.sheet(built)
    assert sheet is not None
    fit = fit_of(sheet, built).direction("rebound")
    checked = [one for one in seen.against.checked if one.point.direction == "rebound"]
    assert checked
    for one in checked:
        at = one.point
        assert one.measured == pytest.approx(fit.predict(at.from_hard, [at.speed]).force[0])
        assert one.miss == pytest.approx(one.measured / at.force - 1)
        assert one.inside == (at.low <= one.measured <= at.high)
    assert not all(one.inside for one in checked), "three times the force is no hit"
    told = "\n".join(line for _, line in outlook_lines(seen, Preferences()))
    assert "OUTSIDE" in told
    assert "points inside the band" in told
    with pytest.raises(BadInput, match="has been on the bench"):
        kept_forecast(logbook, job, SPEEDS)


def test_a_kept_forecast_is_never_changed_by_what_is_entered_later(logbook: Logbook) -> None:
    job = plan_on_hard(logbook)
    first = kept_forecast(logbook, job, SPEEDS)
    assert first is not None
    logbook.write(first)
    kept = StripDowns(logbook).again(job).record.forecast
    second = kept_forecast(logbook, job, (0.15,))
    assert second is not None
    logbook.write(second)
    forecasts = StripDowns(logbook).again(job).record.forecasts
    assert len(forecasts) == 2
    assert kept in forecasts.values()


def test_how_good_the_shop_s_forecasts_have_been() -> None:
    """Two points, one 10 % over and inside, one 20 % under and outside (arithmetic)."""
    from trackside.analysis.forecast import Checked
    from trackside.damper.basis import Basis
    from trackside.records.strip_down import ForecastPoint

    point = ForecastPoint(direction="bump", speed=0.1, force=100.0, low=85.0, high=115.0)
    checked = tuple(Checked(point, measured, Basis.MEASURED) for measured in (110.0, 80.0))
    found = track_record([Proof(checked, 1), Proof((), 3)])
    assert found is not None
    assert (found.builds, found.points, found.inside) == (1, 2, 1)
    assert found.miss == pytest.approx(0.15)
    assert found.off == pytest.approx(-0.05)
    assert track_record([]) is None


def test_nothing_is_forecast_where_nothing_is_known_or_no_build_comes(logbook: Logbook) -> None:
    bare = Build(damper="HARD", version="A", date="2026-01-01")
    jobs = StripDowns(logbook)
    logbook.write(put("damper", {"serial": "HARD"}), put("build", bare.body()))
    logbook.write(jobs.planned("HARD", "softer"))
    job = jobs.of("HARD")[0]
    seen = outlook(logbook, job, SPEEDS)
    assert all(isinstance(one, NoEstimate) for one in seen.fresh.values())
    with pytest.raises(NoEstimate):
        kept_forecast(logbook, job, SPEEDS)
    logbook.write(jobs.closed(job, though_open=True))
    logbook.write(jobs.planned("HARD", "seals", reseal=True))
    reseal = jobs.of("HARD")[0]
    assert outlook(logbook, reseal, SPEEDS).build is None
    with pytest.raises(BadInput, match="no new build"):
        kept_forecast(logbook, reseal, SPEEDS)


def test_a_bench_run_without_a_forecast_is_said_to_have_none(logbook: Logbook) -> None:
    job = plan_on_hard(logbook)
    logbook.write(*StripDowns(logbook).turned(job, PARTS_IN, True))
    bench(logbook)
    told = [line.strip() for _, line in outlook_lines(outlook(logbook, job, SPEEDS), Preferences())]
    assert NOT_KEPT in told
    assert isinstance(SHEET, DynoSheet)
    assert np.isfinite(SHEET.rows[0].force)
