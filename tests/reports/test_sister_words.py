"""The lines of the shed about sisters and the next bench run."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tests.analysis.garage import PREFERENCES, SHED
from trackside.analysis.shed import Shed
from trackside.damper import advice
from trackside.damper.sisters import NextRun, Stranger
from trackside.records import CornerSheet, Reading
from trackside.reports import sister_words
from trackside.reports.sister_words import (
    next_run_lines,
    run_words,
    stranger_words,
    used_positions,
)


def test_a_run_is_told_with_the_band_before_and_after() -> None:
    assert (
        run_words(NextRun(8.0, 0.1, 0.099))
        == "the band is ±10 %: another run would hardly narrow it"
    )
    run = NextRun(8.0, 0.304, 0.071)
    assert run_words(run) == "one run at 8 would take the band from ±30 to ±7 %"
    assert run_words(run, lambda hard: f"{20 - hard:g}").startswith("one run at 12 ")


def test_a_stranger_is_told_with_the_figure() -> None:
    assert stranger_words(Stranger("X A", 0.31, 0.09)) == (
        "X A is no sister: foretold from the others it misses by 31 %, where 9 % is usual"
    )


def test_a_full_sheet_names_the_next_run_where_the_crew_is() -> None:
    lines = [line for _, line in next_run_lines(SHED.builds[0], SHED, (), PREFERENCES)]
    assert len(lines) == 2
    for line in lines:
        before, after = map(float, re.findall(r"±([\d.]+)", line))
        assert "about 10 from" in line
        assert after <= before


def test_a_damper_without_a_sheet_says_who_its_sisters_are() -> None:
    """SOFT's sister is the same unit on paper, with no sheet of its own."""
    soft = SHED.builds[2].model_copy(update={"family": "club"})
    new = soft.model_copy(update={"damper": "NEW"})
    shed = replace(SHED, builds=(*SHED.builds[:2], soft, *SHED.builds[3:], new))
    lines = [line for _, line in next_run_lines(new, shed, (), PREFERENCES)]
    assert "  bump: sister SOFT A" in lines
    assert any(re.search(r"with no run of its own ±\d+ % about 8", line) for line in lines)
    assert any("would take the band from ±" in line for line in lines)


def test_the_shop_rule_has_no_bench_to_advise() -> None:
    assert not list(next_run_lines(SHED.builds[3], SHED, (), PREFERENCES))


def corner(bump: float) -> CornerSheet:
    return CornerSheet(damper="HARD", bump_bleed=Reading.of_si(bump, "clicks"))


def test_the_next_run_is_for_the_positions_of_the_last_sessions() -> None:
    knob = SHED.builds[0].bleed_adjuster("bump")
    assert knob is not None
    ran = [corner(n) for n in (6.0, 8.0, 6.0, 99.0)]
    assert used_positions(ran, knob) == (6.0, 8.0)
    soft = knob.model_copy(update={"counted_from": "soft"})
    assert used_positions(ran, soft) == (14.0, 12.0)
    lines = [line for _, line in next_run_lines(SHED.builds[0], SHED, ran, PREFERENCES)]
    assert "where you ran it (6, 8)" in lines[0]
    assert "about 10" in lines[1], "its rebound was never set"


def test_a_run_that_is_worth_little_is_not_advised(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(advice, "WORTH", 0.999)
    lines = [line for _, line in next_run_lines(SHED.builds[0], SHED, (), PREFERENCES)]
    assert len(lines) == 2
    for line in lines:
        assert re.search(
            r"the band about 10 is ±[\d.]+ %: another run would hardly narrow it", line
        )
        [band] = map(float, re.findall(r"±([\d.]+)", line))
        assert 0.5 < band < 50.0, "percent, of a sheet with five positions"


@pytest.mark.parametrize("needed", [0.1, 2.5, 10.0])
def test_after_a_strip_down_the_shed_says_whether_one_run_is_enough(
    needed: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Now about ±30 %, with the run ±5 %, as the build before: 2.5 lies between."""
    monkeypatch.setattr(sister_words, "ENOUGH", needed)
    before = SHED.builds[0].model_copy(update={"family": "club"})
    after = before.model_copy(update={"version": "B", "date": "2026-06-01"})
    sister = before.model_copy(update={"damper": "TWIN"})
    sheet = SHED.sheet(before)
    assert sheet is not None
    theirs = sheet.model_copy(update={"damper": "TWIN", "source": "TWIN.csv"})
    shed = Shed(builds=(before, after, sister), sheets=(sheet, theirs))
    lines = [line.strip() for _, line in next_run_lines(after, shed, (), PREFERENCES)]
    told = [line for line in lines if re.search(r"build A has ±\d+ % there", line)]
    assert len(told) == 2, lines
    for line in told:
        assert line.startswith("that one run is enough" if needed > 1 else "one run is not enough")


def test_a_build_that_is_not_in_the_shed_has_none_before_it() -> None:
    gone = SHED.builds[0].model_copy(update={"version": "Z"})
    assert sister_words._enough_words(gone, "bump", SHED, [10.0], (0.1,), 0.01) == ""
    assert sister_words._enough_words(SHED.builds[0], "bump", SHED, [10.0], (0.1,), 0.01) == ""
