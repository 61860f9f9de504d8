"""What is doubtful about a dyno sheet: each doubt is found where it was put, and nowhere else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from tests.analysis.garage import SHED, UNIT, sheet_of
from tests.bench.trial_bench import NEEDLES, TUNING, VALVES, trial_damper
from tests.bench.varied_bench import varied_damper
from tests.bench.virtual_bench import population
from trackside.analysis.bench_fit import bench_fit
from trackside.analysis.fit_checks import sheet_warnings
from trackside.analysis.sheet_intake import judged
from trackside.preferences import Preferences
from trackside.records import DynoRow, DynoSheet, SheetWarning, read_sheet
from trackside.reports.sheet_warning_words import warning_words

SOUND = sheet_of("D", UNIT, 20, "hard").model_copy(update={"counted_from": "hard"})


def names(sheet: DynoSheet) -> dict[str, SheetWarning]:
    found = bench_fit(sheet)
    doubts = sheet_warnings(sheet, found.fits, found.counting, found.preload_counting)
    return {doubt.name: doubt for doubt in doubts}


def changed(change: Callable[[DynoRow], DynoRow | None]) -> DynoSheet:
    rows = tuple(row for row in map(change, SOUND.rows) if row is not None)
    return SOUND.model_copy(update={"rows": rows})


def test_a_sound_sheet_has_no_doubts() -> None:
    assert names(SOUND) == {}


def test_sheets_of_twenty_dampers_raise_nothing_serious() -> None:
    for damper in population(20, first_seed=5000):
        clicks = damper.clicks - damper.clicks % 4
        sheet = sheet_of("D", replace(damper, clicks=clicks), clicks, "hard")
        assert not [doubt for doubt in names(sheet).values() if doubt.serious]


def _varied(seed: int, places: int) -> list[DynoRow]:
    damper = varied_damper("mixed", seed)
    columns = damper.measure(np.unique(np.linspace(0, damper.clicks, places).round()), 1)
    return [DynoRow(float(p), d, float(v), float(f)) for p, d, v, f in zip(*columns, strict=True)]


@pytest.mark.parametrize(
    ("seed", "places", "position", "speed", "times"),
    [
        (3, 3, 18.0, 0.1, 2.0),
        (4, 3, 12.0, 0.025, 2.0),
        (9, 3, 6.0, 0.045, 2.0),
        (12, 5, 15.0, 0.012, 2.0),
        (35, 3, 0.0, 0.07, 1.25),
        (6, 5, 12.0, 0.045, 1.25),
        (11, 5, 0.0, 0.19, 1.25),
    ],
)
def test_a_slip_that_a_supple_fit_would_follow_is_named(
    seed: int, places: int, position: float, speed: float, times: float
) -> None:
    """What the fit learns of a valve would rather follow the row: left out, the rest agrees."""
    wrong = [
        row._replace(force=times * row.force) if row[:3] == (position, "bump", speed) else row
        for row in _varied(seed, places)
    ]
    sheet = SOUND.model_copy(update={"rows": tuple(wrong)})
    doubt = names(sheet)["stray_row"]
    assert (doubt.position, doubt.speed) == (position, speed)


@pytest.mark.parametrize("seed", [43, 78, 99, 121])
def test_a_sound_sheet_of_three_positions_is_blamed_for_nothing(seed: int) -> None:
    sheet = SOUND.model_copy(update={"rows": tuple(_varied(seed, 3))})
    assert not {"stray_row", "poor_fit"} & set(names(sheet))


@pytest.mark.parametrize("n", [48, 97, 136])
def test_a_valve_whose_end_runs_alone_miss_the_model_is_no_sheet_mixed_up(n: int) -> None:
    damper = trial_damper(TUNING[n], VALVES[n % 5], NEEDLES[(n + n // 5) % 5])
    places = np.unique(np.linspace(0, damper.bump.clicks, 3).round())
    rows = tuple(DynoRow(*row[:4]) for row in damper.sheet(places, TUNING[n]).rows)
    assert not {"stray_row", "poor_fit"} & set(names(SOUND.model_copy(update={"rows": rows})))


@pytest.mark.parametrize(("seed", "gain"), [(1005, 0.95), (1006, 1.05), (1009, 0.95), (1019, 1.05)])
def test_a_run_that_reads_high_or_low_as_a_whole_is_named(seed: int, gain: float) -> None:
    rows = [r._replace(force=gain * r.force) if r[0] == 9.0 else r for r in _varied(seed, 9)]
    doubt = names(SOUND.model_copy(update={"rows": tuple(rows)}))["run_off"]
    assert (doubt.direction, doubt.position, doubt.serious) == ("bump", 9.0, False)
    assert doubt.figures["share"] == pytest.approx(gain - 1.0, abs=0.02)
    words = warning_words(doubt, Preferences())
    assert "at position 9 reads" in words
    # oil that is warmer is thinner: the force is lower (textbook, from memory)
    assert ("colder oil" in words, "warmer oil" in words) == (gain > 1, gain < 1)


@pytest.mark.parametrize(("seed", "read"), [(1005, 7.0), (1009, 11.0), (1019, 11.0), (1019, 7.0)])
def test_a_run_filed_under_another_position_is_named(seed: int, read: float) -> None:
    damper = varied_damper("mixed", seed)
    places = np.unique(np.linspace(0, damper.clicks, 9).round())
    true = np.where(places == 9.0, read, places)
    columns = damper.measure(true, 1)
    filed = np.repeat(places, len(damper.speeds))
    rows = tuple(
        DynoRow(float(p), d, float(v), float(f))
        for p, d, v, f in zip(filed, *columns[1:], strict=True)
    )
    doubt = names(SOUND.model_copy(update={"rows": rows}))["position_doubtful"]
    assert (doubt.direction, doubt.position, doubt.serious) == ("bump", 9.0, False)
    assert doubt.figures["clicks"] == pytest.approx(read - 9.0, abs=0.8)
    words = warning_words(doubt, Preferences())
    assert f"2 clicks {'softer' if read > 9.0 else 'harder'}" in words


def _ring_rows(
    seed: int, places: list[float], rings: list[float], misread: dict[str, dict[float, float]]
) -> tuple[DynoRow, ...]:
    """Bump rows of a damper whose ring adds 0.15 MPa of crack pressure a click, some of its
    positions or rings read in the sheet as another one."""
    damper = next(population(1, seed))
    rows: list[DynoRow] = []
    for n, (ring, place) in enumerate(product(rings, places)):
        turns = misread.get("ring", {}).get(ring, ring)
        piston = replace(damper.bump, crack=damper.bump.crack + (8.0 - turns) * 0.15e6)
        run = replace(damper, bump=piston).measure([misread.get("needle", {}).get(place, place)], n)
        rows += [DynoRow(place, d, v, f, None, ring) for _, d, v, f in run.rows if d == "bump"]
    return tuple(rows)


@pytest.mark.parametrize(("seed", "adjuster"), [(5000, "ring"), (5000, "needle"), (5001, "needle")])
def test_all_runs_at_a_node_are_meant_where_its_count_is_doubted(seed: int, adjuster: str) -> None:
    """One run cannot say that its count is wrong while the others at that count do not."""
    clicks = next(population(1, seed)).clicks
    if adjuster == "ring":
        rows = _ring_rows(seed, [0.0, 10.0, 20.0], np.arange(9.0).tolist(), {"ring": {4.0: 6.0}})
        where, words = (None, 4.0), "the bump runs at preload 4 read as if they were"
    else:
        places = np.arange(0.0, clicks + 1, clicks // 8).tolist()
        wrong = {places[4]: places[4] + 2.0}
        rows = _ring_rows(seed, places, [0.0, 4.0, 8.0], {"needle": wrong})
        where, words = (places[4], None), f"the bump runs at position {places[4]:g} read as if they"
    doubt = names(SOUND.model_copy(update={"rows": rows}))["position_doubtful"]
    assert (doubt.position, doubt.preload_position) == where
    assert words in warning_words(doubt, Preferences())
    assert "softer: were they filed" in warning_words(doubt, Preferences())


@pytest.mark.parametrize("places", [5, 9])
def test_no_run_of_a_sound_sheet_is_doubted(places: int) -> None:
    for seed in range(2000, 2010):
        sheet = SOUND.model_copy(update={"rows": tuple(_varied(seed, places))})
        assert not {"run_off", "position_doubtful"} & set(names(sheet))


def test_a_stray_row_is_named_with_its_place() -> None:
    def wild(row: DynoRow) -> DynoRow:
        at = (row.position, row.direction, row.speed)
        return row._replace(force=1.6 * row.force) if at == (10, "bump", 0.1) else row

    doubt = names(changed(wild))["stray_row"]
    assert (doubt.direction, doubt.position, doubt.speed) == ("bump", 10, 0.1)
    assert doubt.figures["share"] == pytest.approx(0.6, abs=0.05)
    assert not doubt.serious


@pytest.mark.parametrize(
    ("change", "name", "serious", "words"),
    [
        (lambda r: r._replace(oil_C=20 + 300 * r.speed), "warming_oil", False, "24 to 170 °C"),
        (lambda r: r if r.speed in (0.025, 0.05, 0.1, 0.2) else None, "few_speeds", False,
         "only 4 rod speeds"),
        (lambda r: r._replace(speed=r.speed / 10), "unit_doubtful", True, "50 mm/s"),
        (lambda r: r if r.direction == "bump" else None, "no_rows", False, "no rebound rows"),
        (lambda r: r if r.position == 10 else None, "one_position", False, "one position"),
        (lambda r: r if (r.direction, r.position) not in {("rebound", 20), ("rebound", 15)}
         else None, "positions_lacking", False, "rebound lacks position 15, 20"),
    ],
)  # fmt: skip
def test_each_doubt_has_a_name_a_weight_and_a_sentence(
    change: Callable[[DynoRow], DynoRow | None], name: str, serious: bool, words: str
) -> None:
    doubt = names(changed(change))[name]
    assert doubt.serious is serious
    assert words in warning_words(doubt, Preferences())


def test_rows_that_no_curve_follows_are_a_poor_fit() -> None:
    """Every second bump run is made steeper and the others flatter, about 100 mm/s: no damper has
    one stack and curves of two shapes."""
    odd = changed(
        lambda r: r._replace(force=r.force * (r.speed / 0.1) ** (0.15 * (-1) ** (r.position % 2)))
        if r.direction == "bump" else r
    )  # fmt: skip
    doubt = names(odd)["poor_fit"]
    assert doubt.serious
    assert doubt.direction == "bump"
    assert doubt.figures["rms_percent"] > 5


def test_how_positions_were_counted_is_a_doubt_until_somebody_says_it() -> None:
    assert set(names(SOUND.model_copy(update={"counted_from": None}))) == {"counting_inferred"}


@pytest.mark.parametrize(("share", "asked"), [(1.5, True), (0.6, True), (1.2, False), (0.8, False)])
def test_a_change_of_more_than_thirty_percent_either_way_is_serious(
    share: float, asked: bool
) -> None:
    """30 %: our own limit, no source."""
    rows = tuple(row._replace(force=share * row.force) for row in SHED.sheets[0].rows)
    later = SHED.sheets[0].model_copy(update={"rows": rows, "date": "2026-09-01"})
    found = judged(later, SHED.builds[0], SHED).sheet
    large = [doubt for doubt in found.warnings if doubt.name == "large_change"]
    assert bool(large) is asked
    assert found.waits is asked
    if asked:
        assert {doubt.direction for doubt in large} == {"bump", "rebound"}
        assert large[0].figures["mean"] == pytest.approx(share - 1, abs=0.01)


def test_a_change_of_the_slow_rows_alone_is_asked_about() -> None:
    """What gas force left in the forces does: it adds in bump, and takes off in rebound."""
    rows = tuple(
        row._replace(force=row.force + (60 if row.direction == "bump" else 0))
        for row in SHED.sheets[0].rows
    )
    later = SHED.sheets[0].model_copy(update={"rows": rows, "date": "2026-09-01"})
    found = judged(later, SHED.builds[0], SHED).sheet
    assert any(doubt.name == "large_change" for doubt in found.warnings)


def test_a_sheet_that_waits_does_not_count_until_somebody_saw_it() -> None:
    rows = tuple(row._replace(force=2 * row.force) for row in SHED.sheets[0].rows)
    later = SHED.sheets[0].model_copy(update={"rows": rows, "date": "2026-09-01"})
    waiting = judged(later, SHED.builds[0], SHED).sheet
    build = SHED.builds[0]
    names = (*(f"s{n}" for n in range(len(SHED.sheets))), "z")

    def counting(sheet: DynoSheet, chosen: str = "") -> str:
        shed = replace(SHED, sheets=(*SHED.sheets, sheet), entities=names)
        found = shed.sheet(build.model_copy(update={"sheet": chosen}))
        assert found is not None
        return found.date

    first = SHED.sheets[0].date
    assert counting(waiting) == first
    assert counting(waiting, chosen="z") == first
    assert counting(waiting.model_copy(update={"seen_by": "Olle"})) == "2026-09-01"
    assert counting(DynoSheet.checked(waiting.body())) == first, "the record carries it"


@pytest.mark.parametrize("name", ["stray_row", "poor_fit", "gas_unlike", "large_change", "novel"])
def test_a_doubt_without_its_figures_keeps_its_own_words(name: str) -> None:
    """As a remark in a table, or another program, may leave it."""
    remark = f"# serious warning {name}: the rod was bent\n"
    table = "position,direction,speed_mm_s,force_N\n"
    lines = "".join(f"8,bump,{v},{v}\n" for v in (25, 50, 100, 200, 400))
    (doubt,) = read_sheet(table + remark + lines).warnings
    assert (doubt.name, doubt.serious) == (name, True)
    assert warning_words(doubt, Preferences()) == "the rod was bent"
    assert name in warning_words(doubt.model_copy(update={"words": ""}), Preferences())
