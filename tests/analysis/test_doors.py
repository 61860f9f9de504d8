"""What analysis refuses and where its limits lie: each once, by the sentence and at either side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import SHED, SPEEDS, corner, session, with_ring
from trackside.analysis import recall
from trackside.analysis.cavitation import cavitation
from trackside.analysis.corner_limits import corner_limits
from trackside.analysis.damping import damping
from trackside.analysis.estimate import estimate
from trackside.analysis.estimate_cache import MOST, EstimateCache
from trackside.analysis.gas_loss import charge_before
from trackside.analysis.gauges import NO_TEMPERATURE, charges, cold_pressures
from trackside.analysis.last_read import LastReadings
from trackside.analysis.parts import parts_curve
from trackside.analysis.plausible_ranges import marks_of, record_marks
from trackside.analysis.recall import find, last_two, outing_before
from trackside.analysis.revalve import half_open, revalve, set_at
from trackside.analysis.row_checks import refuse_slips, refuse_strange_run
from trackside.analysis.shed import fit_of
from trackside.analysis.sheet_intake import judged
from trackside.analysis.warm_oil import warm_estimate
from trackside.analysis.worth import click_worth, moved
from trackside.errors import BadInput, NoEstimate, TracksideError
from trackside.logbook import Logbook, put
from trackside.records import DynoRow, DynoSheet, Reading, Session

HARD = SHED.builds[0]
SHEET = SHED.sheets[0]


def with_rows(change: Callable[[DynoRow], DynoRow]) -> DynoSheet:
    """HARD's sheet with every row changed."""
    return SHEET.model_copy(update={"rows": tuple(map(change, SHEET.rows))})


def strange(factor: float, preload: float | None = None) -> DynoSheet:
    """The run at 20 in bump is so much weaker or stronger."""
    return with_rows(
        lambda row: row._replace(
            force=row.force * (factor if (row.position, row.direction) == (20, "bump") else 1.0),
            preload_position=preload,
        )
    )


def alone(sheet: DynoSheet) -> None:
    """Refuse a run of it that is strange."""
    fit = fit_of(sheet, HARD).bump
    assert fit is not None
    refuse_strange_run(fit, sheet)


def warm(damper: str, body: float | None) -> None:
    """The warm estimate of that damper at FL, its body so warm (°C)."""
    read = None if body is None else Reading.of_si(body, "temperature")
    now = session(corner(damper, body_temperature=read))
    cold = estimate(now, "FL", "bump", SHED, SPEEDS)
    warm_estimate(cold, now, SHED, SPEEDS)


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: refuse_slips(with_rows(lambda r: r._replace(force=0.0))),
     "HARD.csv: every bump force is zero: check the force column"),
    (lambda: refuse_slips(with_rows(lambda r: r._replace(position=r.position - 1))),
     "HARD.csv: position -1 in bump is no count of clicks: count from 0 to"),
    (lambda: refuse_slips(with_rows(lambda r: r._replace(position=r.position * 300))),
     "in bump is no count of clicks"),
    (lambda: refuse_slips(with_rows(lambda r: r._replace(position=r.position / 1e4))),
     "positions 0 and 0.0005 are one: write the same number for the same click"),
    (lambda: judged(SHEET, HARD, SHED), "HARD.csv is the sheet of 2026-04-01 that HARD has alrea"),
    (
        lambda: judged(SHEET.model_copy(update={"source": "soft-A.csv"}), HARD, SHED),
        "soft-A.csv is named for damper SOFT, not HARD: add it to that one, or rename the file",
    ),
    (lambda: warm("HARD", None), "the body temperature at FL is not entered: read it after the"),
    (lambda: warm("RULE", 60.0), "warm oil needs a dyno sheet to start from: add one in the dam"),
    (lambda: warm("HARD", 60.0), "the sheet does not say its oil temperature: add the column oil"),
    (lambda: set_at(HARD, "bump", None, None), "no bump position to compare at: give one"),
    (lambda: set_at(HARD, "bump", 21.0, None), "compare at a position that both builds have"),
    (lambda: estimate(session(corner("NEW")), "FL", "bump", SHED, SPEEDS), "NEW"),
    (lambda: estimate(session(corner("HARD", None)), "FL", "bump", SHED, SPEEDS), "bump position"),
    (lambda: estimate(session(corner("HARD", 21)), "FL", "bump", SHED, SPEEDS), "21"),
    (lambda: estimate(session(corner("BARE")), "FL", "bump", SHED, SPEEDS),
     "no dyno sheet and no shop rule"),
    (lambda: estimate(session(corner(None)), "FL", "bump", SHED, SPEEDS), "damper"),
    (lambda: parts_curve(HARD, "bump"), "."),
    (lambda: cavitation(session(), "FL", SHED, 0.5), "."),
]  # fmt: skip


@pytest.mark.parametrize(("ask", "said"), REFUSED)
def test_what_is_refused(ask: Callable[[], object], said: str) -> None:
    with pytest.raises(TracksideError, match=said):
        ask()


def test_what_is_almost_refused_is_taken() -> None:
    alone(strange(0.8))
    refuse_slips(SHEET)
    assert set_at(HARD, "bump", 20.0, None).from_hard == 20.0
    assert half_open(HARD, "bump") == 10.0
    assert half_open(SHED.builds[2], "bump") == 8.0
    odd = HARD.adjusters[0].model_copy(update={"clicks": 21, "step": 3.0})
    assert half_open(HARD.model_copy(update={"adjusters": (odd,)}), "bump") == 12.0
    assert half_open(HARD.model_copy(update={"adjusters": ()}), "bump") is None


# ── gauges and the day ──────────────────────────────────────────────────────────────────────────


def cold(bar: float, air: float | None, target: float | None = None) -> Session:
    """A session with that cold pressure at FL."""
    aim = None if target is None else Reading.of_si(target * 1e5, "pressure")
    pressure = Reading.of_si(bar * 1e5, "pressure")
    sheet = corner(cold_pressure=pressure, hot_target=aim)
    day = {} if air is None else {"air_temperature": Reading.of_si(air, "temperature")}
    return session(FL=sheet, **day)


@pytest.mark.parametrize(
    ("then", "now", "basis"),
    [
        (cold(1.45, 24), cold(1.326, 9), "same"),  # (1.45 + 1.013) · 282.15 / 297.15 − 1.013
        (cold(1.45, 24), cold(1.25, 9), "set"),
        (cold(1.45, 24), cold(1.574, 9), "set"),  # as far the other way
        (cold(1.45, 24), cold(1.47, 24), "set"),
        (cold(1.45, None), cold(1.326, 9), "set"),
        (cold(1.45, 24, 1.9), cold(1.30, 24, 1.9), "same"),  # set for one and the same target
        (cold(1.45, 24, 1.9), cold(1.30, 24, 1.8), "set"),
        (cold(1.45, 24), cold(9.0, 24), "unknown"),
    ],
)
def test_a_cold_pressure_is_set_or_goes_with_the_day(
    then: Session, now: Session, basis: str
) -> None:
    assert [one.verdict for one in cold_pressures(then, now)] == [basis]
    assert cold_pressures(then, then) == ()


def test_a_charge_that_reads_the_same_is_no_change_for_want_of_a_temperature() -> None:
    def charge(Pa: float, C: float | None) -> Session:
        warm = None if C is None else Reading.of_si(C, "temperature")
        return session(FL=corner(gas_pressure=Reading.of_si(Pa, "pressure"), gas_temperature=warm))

    assert list(charges(charge(16e5, 20.0), charge(16e5, None))) == []
    assert list(charges(charge(16e5, None), charge(16e5, 20.0))) == []
    [found] = charges(charge(16e5, 20.0), charge(15e5, None))
    assert (found.corner, found.before, found.after) == ("FL", 16e5, 15e5)
    assert (found.verdict, found.why) == ("unknown", NO_TEMPERATURE)


def test_the_charge_before_needs_its_temperature() -> None:
    with Logbook.open(":memory:", device="test") as logbook:

        def run(start: str, **sheet: object) -> tuple[str, Session]:
            read = {
                name: Reading.of_si(value, quantity) for name, (value, quantity) in sheet.items()
            }  # type: ignore[misc]
            body = session(corner(**read)).body() | {"start": start, "status": "done"}
            write = put("session", body)
            logbook.write(write)
            return write.entity, logbook.session_record(write.entity)

        run("2026-05-01 09:00", gas_pressure=(15e5, "pressure"))
        entity, now = run("2026-05-02 09:00")
        assert charge_before(LastReadings(logbook), entity, now, "FL") is None
        run("2026-05-03 09:00", gas_pressure=(15e5, "pressure"),
            gas_temperature=(20.0, "temperature"))  # fmt: skip
        entity, now = run("2026-05-04 09:00")
        before = charge_before(LastReadings(logbook), entity, now, "FL")
        assert before is not None
        assert before.si("FL.gas_pressure") == 15e5
        assert before.si("FL.gas_temperature") == 20.0
        assert outing_before(logbook, entity) is not None
        assert last_two(logbook, car="car")[1] == entity


# ── curves ──────────────────────────────────────────────────────────────────────────────────────


def test_the_slope_of_a_curve_is_that_of_its_neighbours() -> None:
    """A central difference over one percent to either side, against one over a tenth of that."""
    at = estimate(session(), "FL", "bump", SHED, SPEEDS)
    found = damping(at, SHED)
    near = np.array([
        [float(estimate(session(), "FL", "bump", SHED, (v * f,)).force[0]) for f in (0.999, 1.001)]
        for v in SPEEDS
    ])  # fmt: skip
    slope = (near[:, 1] - near[:, 0]) / (0.002 * np.array(SPEEDS))
    assert found.tangent == pytest.approx(slope, rel=0.01)
    assert found.secant == pytest.approx(at.force / np.array(SPEEDS))


def test_the_cache_gives_the_same_and_forgets_when_it_is_full() -> None:
    known = EstimateCache(SHED, SPEEDS)
    at = estimate(session(), "FL", "bump", SHED, SPEEDS).setting
    first = known.at(at)
    assert known.at(at) is first
    assert known.at(replace(at, from_hard=9.0)) is not first
    for n in range(MOST):
        known._found[n,] = first  # type: ignore[index]
    known.at(replace(at, from_hard=7.0))
    assert len(known._found) == 1
    assert MOST == 500, "our own choice: some MB"


def test_speeds_that_the_sheet_never_ran_are_named_and_no_standstill() -> None:
    at = estimate(session(), "FL", "bump", SHED, (0.0, 0.0001, 0.1, 9.0))
    found = corner_limits(at, session(), SHED, 0.5)
    assert found.unrun == (0.0001, 9.0)
    assert found.ran is not None
    assert found.ran[0] < 0.1 < found.ran[1]
    assert found.discs is None


def test_a_click_and_what_it_is_worth() -> None:
    at = estimate(session(), "FL", "rebound", SHED, SPEEDS).setting
    knob = at.adjuster
    assert knob is not None
    for clicks, there in ((1.0, 7.0), (-2.0, 10.0), (8.0, 0.0)):
        found = moved(at, knob, clicks)
        assert found is not None
        assert found.from_hard == there
    assert moved(at, knob, 9.0) is None
    worth = click_worth(session(), "FL", SHED, SPEEDS)
    assert len(worth) == 2
    assert all(not isinstance(one, NoEstimate) for one in worth)
    bare = click_worth(session(corner("BARE")), "FL", SHED, SPEEDS)
    assert all(isinstance(one, NoEstimate) for one in bare)
    ring = click_worth(session(corner("HARD")), "FL", with_ring("HARD"), SPEEDS)
    assert any("preload" in str(one) for one in ring)


def test_a_build_against_itself_has_no_change() -> None:
    found = revalve(HARD, HARD, "bump", 8.0, SHED, SPEEDS)
    assert found.step.change == pytest.approx(0.0, abs=1e-9)
    other = revalve(HARD, SHED.builds[2], "bump", 8.0, SHED, SPEEDS)
    assert other.step.change == pytest.approx(other.after.force - other.before.force)
    assert np.all(other.step.low <= other.step.change)
    assert np.all(other.step.high >= other.step.change)


# ── searching ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("cold", {"cold"}), ("hot", {"hot"}), ("winner", {"first"}), ("air<10", {"cold"}),
        ("air<=5", {"cold"}), ("air>30", {"hot"}), ("air>=35", {"hot"}),
        ("air=20", {"mild", "first"}),
        ("wet", {"wet"}), ("air > 30", {"hot"}), ("fuel<1", set()), ("Harrow", set()),
    ],
)  # fmt: skip
def test_what_is_searched_for_is_found(asked: str, found: set[str]) -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        days = {"cold": 5.0, "hot": 35.0, "mild": 20.0, "first": 20.0, "wet": None}
        for title, air in days.items():
            body = session().body()
            if air is not None:
                body["air_temperature"] = Reading.of_si(air, "temperature").body()
            run = put("session", body | ({"surface": "wet"} if title == "wet" else {}))
            result = "P1" if title == "first" else ""
            shelf = {"session": run.entity, "title": f"set-up {len(title)}", "result": result}
            logbook.write(run, put("kept", {**shelf, "why": f"it was {title[::-1]}"}))
        hits = find(logbook, asked, shelf_only=False)
        assert {one.why.removeprefix("it was ")[::-1] for one in hits} == found


def test_what_cannot_be_searched_for_says_so() -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        for asked in ("odd<3", "air<"):
            with pytest.raises(BadInput, match="cannot be searched for: compare one of"):
                find(logbook, asked, shelf_only=False)
    assert recall.COLD_BELOW < recall.HOT_ABOVE


# ── marks ───────────────────────────────────────────────────────────────────────────────────────


def test_each_mark_once() -> None:
    def bar(value: float) -> Reading:
        return Reading.of_si(value * 1e5, "pressure")

    def degrees(value: float) -> Reading:
        return Reading.of_si(value, "temperature")

    now = session(
        FL=corner("HARD", 21, 8, cold_pressure=bar(2.0), hot_pressure=bar(1.9)),
        FR=corner(
            "HARD",
            8,
            8,
            tread_inner=degrees(40),
            tread_middle=degrees(80),
            tread_outer=degrees(120),
        ),
        RL=corner("NEW", 8, 8, gas_pressure=bar(60)),
        RR=corner("SOFT", 8, 8, both_bleed=Reading.of_si(3, "clicks")),
    ).model_copy(update={"lap_times": (95.2, "soon", 3.0)})
    found = {path: mark.kind for path, mark in marks_of(now, SHED).items()}
    assert found["FL.bump_bleed"] == "position"
    assert found["FL.damper"] == "damper twice"
    assert found["RL.damper"] == "unknown damper"
    assert found["RL.gas_pressure"] == "outside"
    assert found["RR.both_bleed"] == "no adjuster"
    assert {"cold above hot", "tread spread"} <= set(found.values())
    assert "lap" in found["lap_times"]
    assert marks_of(session(FR=corner("TWIN"), RL=corner("SOFT"), RR=corner("RULE")), SHED) == {}


def test_marks_of_a_build_and_of_a_record() -> None:
    assert record_marks("build", HARD.body()) == {}
    thick = HARD.model_copy(update={"oil_viscosity_40": 1e-5, "oil_viscosity_100": 2e-5})
    assert record_marks("build", thick.body())["oil_viscosity_100"].kind == "oil not thinner"
    heavy = {"FL": {"mass": 200.0, "unsprung_mass": 200.0}}
    assert "all unsprung" in {mark.kind for mark in record_marks("car", heavy).values()}
    assert record_marks("car", {"FL": {"mass": 200.0, "unsprung_mass": 40.0}}) == {}
