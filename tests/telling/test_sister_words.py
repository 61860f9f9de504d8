"""The lines of the shed about sisters and the next bench run."""

from __future__ import annotations

import re
from dataclasses import replace

from tests.review.garage import PREFERENCES, SHED
from trackside.damper.sisters import NextRun, Stranger
from trackside.telling.sister_words import next_run_lines, run_words, stranger_words


def test_a_run_is_told_with_the_band_before_and_after() -> None:
    run = NextRun(8.0, 0.304, 0.071)
    assert run_words(run) == "one run at 8 would take the band from ±30 to ±7 %"
    assert run_words(run, lambda hard: f"{20 - hard:g}").startswith("one run at 12 ")


def test_a_stranger_is_told_with_the_figure() -> None:
    assert stranger_words(Stranger("X A", 0.31, 0.09)) == (
        "X A is no sister: foretold from the others it misses by 31 %, where 9 % is usual"
    )


def test_a_full_sheet_names_the_next_run_where_the_crew_is() -> None:
    lines = [line for _, line in next_run_lines(SHED.builds[0], SHED, None, PREFERENCES)]
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
    lines = [line for _, line in next_run_lines(new, shed, None, PREFERENCES)]
    assert "  bump: sister SOFT A" in lines
    assert any(re.search(r"with no run of its own ±\d+ % about 8", line) for line in lines)
    assert any("would take the band from ±" in line for line in lines)


def test_the_shop_rule_has_no_bench_to_advise() -> None:
    assert not list(next_run_lines(SHED.builds[3], SHED, None, PREFERENCES))
