"""A dyno sheet drawn: which line and which point is which, read back from the text alone."""

from __future__ import annotations

from itertools import groupby

import pytest

from tests.charts.reading import cells_of
from trackside.analysis.shed import Shed, fit_of
from trackside.preferences import Preferences
from trackside.reports.sheet_picture import sheet_drawing

COUNTS = ["a 0", "b 5", "c 10", "d 15", "e 20"]
"""What FP-0611-A.csv was run at, hard first."""


def _drawing(samples, width: int, height: int, ink: str = "braille"):  # type: ignore[no-untyped-def]
    shed = Shed.of(samples)
    [sheet] = [sheet for sheet in shed.sheets if sheet.source == "FP-0611-A.csv"]
    build = shed.build(sheet.damper, sheet.build)
    fit = fit_of(sheet, build)
    return sheet_drawing(sheet, build, fit, width, height, Preferences(drawing=ink))


def _labels(drawing, role: str) -> list[str]:  # type: ignore[no-untyped-def]
    spans = [line[-1] for line in drawing.lines if line[-1].role == role]
    spans += [line[-2] for line in drawing.lines if len(line) > 1 and line[-2].role == role]
    return sorted(s.text.strip() for s in spans if s.text.strip() in COUNTS)


@pytest.mark.parametrize(
    ("width", "height", "rebound"), [(44, 12, []), (66, 21, COUNTS)], ids=["80x24", "120x40"]
)
def test_every_line_is_named_in_either_direction_where_there_is_room(
    samples, width: int, height: int, rebound: list[str]
) -> None:  # type: ignore[no-untyped-def]
    drawing = _drawing(samples, width, height)
    assert _labels(drawing, "bump") == COUNTS
    assert _labels(drawing, "rebound") == rebound


def test_letters_stand_at_the_points_the_harder_further_from_zero(samples) -> None:  # type: ignore[no-untyped-def]
    """Harder is never less force: at one speed the letters run outward from e to a."""
    drawing = _drawing(samples, 160, 90)
    seen = 0
    for role, outward in (("bump", -1), ("rebound", 1)):
        marks = [(c, outward * r, g) for r, c, g in cells_of(drawing, role) if g in "abcde"]
        marks = [mark for mark in marks if mark[0] < 150]  # the labels stand further right
        assert {glyph for *_, glyph in marks} == set("abcde")
        for _, column in groupby(sorted(marks), key=lambda mark: mark[0]):
            letters = [glyph for *_, glyph in column]
            assert letters == sorted(letters, reverse=True)
            seen += len(letters) > 1
    assert seen > 5


def test_plain_ascii_draws_each_line_with_its_letter(samples) -> None:  # type: ignore[no-untyped-def]
    drawing = _drawing(samples, 66, 21, "ascii")
    assert drawing.plain().isascii()
    for letter in "abcde":
        assert sum(glyph == letter for *_, glyph in cells_of(drawing, "bump")) > 3
