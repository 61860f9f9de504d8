"""Rules of a line each of a dyno sheet: its positions, its gas, its fit, and which sheet counts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import (
    HARD,
    SHED,
    SHEET,
)
from trackside.analysis.bench_fit import Residual, bench_fit
from trackside.analysis.fit_checks import largest_change, sheet_warnings
from trackside.analysis.row_checks import odd_run, refuse_slips, refuse_strange_run
from trackside.analysis.shed import Shed, fit_of, rows_of
from trackside.analysis.sheet_change import SheetChange, against_first, sheet_changes
from trackside.analysis.sheet_gas import GasSaid, GasUnknown, slow_rows, with_gas
from trackside.analysis.sheet_intake import ends_of, judged
from trackside.damper.sheet_fit import fit_sheet
from trackside.errors import BadSheet
from trackside.logbook import Logbook, put
from trackside.records import Build, DynoRow, SheetWarning
from trackside.units import LBF


def test_a_sheet_without_a_build_counts_to_its_highest_position() -> None:
    soft = SHEET.model_copy(update={"counted_from": "soft"})
    counts = [row.position for row in soft.rows]
    assert rows_of(soft).position_from_hard == pytest.approx([20.0 - count for count in counts])
    assert rows_of(SHEET).position_from_hard == pytest.approx(counts)


def test_counting_is_assumed_where_one_direction_has_no_knob_on_record() -> None:
    half = HARD.model_copy(update={"adjusters": HARD.adjusters[:1]})
    for build, assumed in ((half, True), (HARD, False)):
        shed = replace(SHED, builds=(build,), sheets=())
        names = [one.name for one in judged(SHEET, build, shed).sheet.warnings]
        assert ("counting_assumed" in names) == assumed
    said = SHEET.model_copy(update={"counted_from": "hard"})
    names = [one.name for one in judged(said, half, replace(SHED, sheets=())).sheet.warnings]
    assert "counting_assumed" not in names


def test_a_third_sheet_is_held_against_the_newest_where_none_counts_yet() -> None:
    doubt = {"name": "run_off", "serious": True}
    waiting = [
        SHEET.model_copy(
            update={
                "date": f"2026-0{n}-01",
                "source": f"{n}.csv",
                "rows": tuple(r._replace(force=r.force * (1 - 0.3 * (n == 5))) for r in SHEET.rows),
                "warnings": (SheetWarning(**doubt),),
            }
        )
        for n in (4, 5)
    ]
    shed = replace(SHED, sheets=tuple(waiting))
    new = SHEET.model_copy(
        update={"rows": tuple(row._replace(force=row.force * 1.002) for row in SHEET.rows)}
    )
    found = judged(new, HARD, shed)
    assert found.first is None
    assert found.changes == {}
    large = [one for one in found.sheet.warnings if one.name == "large_change"]
    assert large, "more than the sheet of May, and as much as that of April"
    assert against_first(HARD, shed) is None
    seen = [one.model_copy(update={"seen_by": "Ann"}) for one in waiting]
    third = SHEET.model_copy(
        update={"date": "2026-06-01", "source": "6.csv",
                "rows": tuple(r._replace(force=r.force * 0.8) for r in SHEET.rows)}
    )  # fmt: skip
    told = against_first(HARD, replace(SHED, sheets=(*seen, third)))
    assert told is not None
    first, against = told
    assert first.date == "2026-04-01"
    assert against["bump"].mean == pytest.approx(-0.2, abs=0.02), "the newest, not the second"  # type: ignore[union-attr]


@pytest.mark.parametrize("direction", ["bump", "rebound"])
def test_the_direction_that_lacks_positions_is_named(direction: str) -> None:
    rows = tuple(r for r in SHEET.rows if r.direction != direction or r.position in (0, 5, 10))
    cut = SHEET.model_copy(update={"rows": rows})
    fits = {d: fit for d in ("bump", "rebound") if (fit := getattr(fit_of(cut), d))}
    [one] = [w for w in sheet_warnings(cut, fits, None) if w.name == "positions_lacking"]
    assert one.direction == direction
    assert one.words == "15, 20"


def test_two_runs_that_do_not_belong_together_are_refused_and_one_cannot_be() -> None:
    """One rises steeply with speed, the other hardly."""

    def fit(positions: tuple[int, ...]) -> None:
        rows = [r for r in SHEET.rows if r.position in positions and r.direction == "bump"]
        law = {0: (20e3, 1.5), 20: (2500.0, 0.1)}
        mixed = tuple(
            r._replace(force=law[int(r.position)][0] * (2 * r.speed) ** law[int(r.position)][1])
            for r in rows
        )
        two = SHEET.model_copy(update={"rows": mixed})
        found = fit_sheet(rows_of(two, HARD)).bump
        assert found is not None
        refuse_strange_run(found, two)

    fit((20,))
    with pytest.raises(BadSheet, match="the bump runs do not go together: the fit misses them by"):
        fit((0, 20))


@pytest.mark.parametrize(
    ("last_runs", "factor", "refused"),
    [
        (2, lambda v: LBF, True),
        (2, lambda v: 1 / LBF, True),
        (1, lambda v: LBF, False),  # a bleed that is wide open, perhaps
        (4, lambda v: LBF, False),  # the hard end alone
        (2, lambda v: 2.5, False),
        (2, lambda v: 8.0, False),
        (2, lambda v: LBF * v**-0.2, False),  # less and less as speed rises, as a bleed does
    ],
)
def test_runs_that_step_by_another_unit_at_every_speed_are_refused(
    last_runs: int, factor: Callable[[float], float], refused: bool
) -> None:
    """1 lbf is 4.4482 N, from the international pound and standard gravity."""
    from_there = sorted({row.position for row in SHEET.rows})[-last_runs]
    rows = tuple(
        row._replace(force=row.force / factor(row.speed))
        if row.direction == "bump" and row.position >= from_there
        else row
        for row in SHEET.rows
    )
    mixed = SHEET.model_copy(update={"rows": rows})
    refuse_slips(SHEET)
    if refused:
        with pytest.raises(BadSheet, match=r"the bump runs do not go together.* at every speed"):
            refuse_slips(mixed)
    else:
        refuse_slips(mixed)


def test_a_row_beside_its_fit_keeps_the_sheets_sign() -> None:
    for sign in (1, -1):
        sheet = SHEET.model_copy(update={"rebound_sign": sign})
        found = bench_fit(sheet)
        for direction in ("bump", "rebound"):
            of = sign if direction == "rebound" else 1
            curve = found.fits[direction]
            for one, miss in zip(found.residuals(direction), curve.residuals, strict=True):
                assert one.force == of * one.row.force
                assert one.fitted == pytest.approx(of * (one.row.force - miss))
                assert one.miss == pytest.approx(of * miss)
    assert Residual(SHEET.rows[0], 100.0, 98.0).miss == 2.0


def test_gas_that_is_still_in_a_sheet_is_said_with_the_row_that_shows_it() -> None:
    row = SHEET.rows[0]
    pushing = SHEET.model_copy(
        update={"rows": (*SHEET.rows, row._replace(direction="rebound", speed=0.002, force=-90.0))}
    )
    with pytest.raises(GasUnknown) as refused:
        with_gas(pushing, GasSaid(free=True), HARD)
    assert refused.value.cause == (
        "HARD.csv: at position 0 and 2 mm/s the rod pushes with 90 N against rebound: gas force is "
        "still in it"
    )
    assert refused.value.remedy.startswith("give the force, or the charge on the bench")


@pytest.mark.parametrize(
    ("build", "cause", "remedy"),
    [
        (None, "HARD.csv: the rod is not known", "give its diameter, or the gas force itself"),
        (HARD, "HARD.csv: the rod of HARD build A is not on record",
         "enter its diameter in the damper shed, or give the gas force itself"),
    ],
)  # fmt: skip
def test_a_charge_needs_the_rod(build: Build | None, cause: str, remedy: str) -> None:
    with pytest.raises(BadSheet) as refused:
        with_gas(SHEET, GasSaid(free=False, pressure=15e5), build)
    assert (refused.value.cause, refused.value.remedy) == (cause, remedy)


def test_one_run_alone_is_not_odd_among_others() -> None:
    rows = tuple(r for r in SHEET.rows if r.position == 8 or r.direction == "rebound")
    one = SHEET.model_copy(update={"rows": rows or SHEET.rows[:1]})
    alone = one.model_copy(
        update={"rows": tuple(r for r in SHEET.rows if r.position == SHEET.rows[0].position)}
    )
    fit = fit_of(alone, HARD).bump
    assert fit is not None
    assert not odd_run(fit, alone, [])


def test_the_largest_change_is_told_by_its_speed_and_share() -> None:
    speed, share = np.array([0.05, 0.1, 0.2]), np.array([0.1, -0.5, 0.4])
    change = SheetChange("bump", (8.0,), speed, share, 0.0, 0.02, None)
    assert largest_change(change) == (0.1, -0.5)
    assert largest_change(replace(change, share=share / 2)) is None  # 30 % is our own, no source
    assert largest_change(replace(change, band=0.6)) is None


def test_rows_at_rest_show_the_gas_and_a_creep_the_friction_too() -> None:
    """Bump reads gas + friction, rebound friction − gas."""

    def rows(*told: tuple[str, float, float]) -> list[DynoRow]:
        return [DynoRow(8.0, direction, speed, force) for direction, speed, force in told]  # type: ignore[arg-type]

    fast = rows(("bump", 0.1, 500.0), ("rebound", 0.1, 900.0))
    signed = SHEET.model_copy(update={"rebound_sign": -1})
    still = rows(("bump", 0.0, 130.0), ("rebound", 0.0, -110.0))
    found = slow_rows(signed.model_copy(update={"rows": (*fast, *still)}))
    assert found is not None
    assert (found.gas, found.friction, found.speed) == (120.0, None, 0.0)
    creep = rows(("bump", 0.001, 140.0), ("rebound", 0.0015, -100.0))
    found = slow_rows(signed.model_copy(update={"rows": (*fast, *creep)}))
    assert found is not None
    assert (found.gas, found.friction, found.speed) == (120.0, 20.0, 0.0015)
    assert slow_rows(signed.model_copy(update={"rows": tuple(fast)})) is None
    unsigned = SHEET.model_copy(
        update={"rebound_sign": 1, "rows": (*fast, *rows(("bump", 0.0, 9.0)))}
    )
    assert slow_rows(unsigned) is None


def test_of_two_sheets_that_are_one_the_chosen_counts() -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        sheets = [put("sheet", SHEET.model_copy(update={"source": f"{n}.csv"}).body())
                  for n in (1, 2, 3)]  # fmt: skip
        logbook.write(*sheets)
        smallest = min(one.entity for one in sheets)
        build = put("build", HARD.body())
        logbook.write(build)
        assert Shed.of(logbook).entities == (smallest,)
        chosen = max(one.entity for one in sheets)
        logbook.write(put("build", {**HARD.body(), "version": "B", "sheet": chosen}))
        assert Shed.of(logbook).entities == (chosen,)


def test_the_band_of_a_mean_change_is_nineteen_in_twenty() -> None:
    """Two sheets of one damper, the bench's scatter alone apart: most bands hold zero, and none is
    so wide that a loss of a tenth would be missed (our own, no source)."""
    rows = tuple(r._replace(force=r.force * 0.9) for r in SHEET.rows)
    weaker = SHEET.model_copy(update={"rows": rows, "date": "2026-06-01", "source": "b.csv"})
    found = sheet_changes(SHEET, weaker, HARD)
    for direction in ("bump", "rebound"):
        one = found[direction]
        assert isinstance(one, SheetChange)
        assert one.mean == pytest.approx(-0.1, abs=0.01)
        assert one.band < 0.06
        assert one.lost
        assert not one.open


def test_what_a_person_says_of_the_counting_comes_before_the_build() -> None:
    build = HARD.model_copy(update={"adjusters": HARD.adjusters[:1]})
    assert ends_of(None, None, None) == dict.fromkeys(("bump", "rebound"), (None, None))
    assert ends_of(build, None, None) == {"bump": ("hard", 20.0), "rebound": (None, None)}
    assert ends_of(build, "soft", None) == {"bump": ("soft", 20.0), "rebound": ("soft", None)}
    assert ends_of(build, "soft", 0.0) == dict.fromkeys(("bump", "rebound"), ("soft", 0.0))
    assert ends_of(build, None, 12) == {"bump": ("hard", 12), "rebound": (None, 12)}
