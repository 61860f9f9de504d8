"""Three themes that can be read: contrast of every pair on every screen, and colour-blind eyes."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest

from tests.tui.conftest import Drive
from tests.tui.eyes import EYES, MARKS, TEXT, contrast, difference, is_mark, luminance, pairs, rgb
from tests.tui.walking import drawn, walk
from trackside.preferences import THEMES as NAMES
from trackside.tui.themes import ROLES, THEMES

SIZES = [(80, 24), pytest.param((120, 40), marks=pytest.mark.long)]


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),  # by its definition the largest: 1.05 / 0.05
        ("#777777", "#ffffff", 4.48),  # a well-known grey that just fails on white; from memory
    ],
)
def test_contrast_is_calculated_as_the_standard_does(one: str, other: str, ratio: float) -> None:
    assert contrast(rgb(one), rgb(other)) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("size", SIZES)
async def test_every_pair_on_every_screen_has_contrast(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    weak = set()
    async with drive(season_file, size) as pilot:
        async for name in walk(pilot):
            for theme in NAMES:
                while pilot.app.theme != theme:
                    pilot.app.action_theme()  # type: ignore[attr-defined]
                await drawn(pilot)
                weak |= {(theme, name, *pair) for pair in _weak(pilot.app, theme == "night")}
    assert not weak, "\n".join(sorted(map(str, weak)))


def _weak(app: object, at_night: bool) -> set[tuple[object, ...]]:
    """Pairs that cannot be read, and at night those that would dazzle: bright, or not red."""
    found: set[tuple[object, ...]] = set()
    for text, front, back in pairs(app):
        ratio = contrast(front, back)
        if ratio < (MARKS if is_mark(text) else TEXT):
            found.add((text.strip()[:12], front, back, round(ratio, 2)))
        if at_night and any(luminance(c) > 0.55 or c[2] > 80 for c in (front, back)):
            found.add((text.strip()[:12], front, back, "dazzles"))
    return found


def test_each_theme_names_every_role_and_variable() -> None:
    from trackside.charts import ROLES as DRAWN

    assert tuple(theme.name for theme in THEMES) == NAMES == tuple(ROLES)
    for colours in ROLES.values():
        assert set(DRAWN) <= set(colours)
    assert len({frozenset(theme.variables) for theme in THEMES}) == 1


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("theme", ["garage", "sun"])
def test_corners_look_different_to_every_eye(theme: str, eye: str | None) -> None:
    """15 in CAM02-UCS is our own line: some fifteen just noticeable differences (from memory)."""
    roles = ROLES[theme]
    groups = (("FL", "FR", "RL", "RR"), ("before", "after"), ("bump", "rebound"))
    for group in groups:
        for one, other in combinations(group, 2):
            assert difference(roles[one], roles[other], eye) >= 15, (one, other)


def test_at_night_corners_still_differ() -> None:
    """Long wavelengths leave little room: half of that line, and to the three-coloured eye only."""
    for one, other in combinations(("FL", "FR", "RL", "RR"), 2):
        assert difference(ROLES["night"][one], ROLES["night"][other], None) >= 7.5, (one, other)


def test_no_corner_is_told_by_colour_alone() -> None:
    from trackside.charts import MARKERS
    from trackside.charts.drawing import ASCII_MARKERS

    for markers in (MARKERS, ASCII_MARKERS):
        assert len(set(markers.values())) == len(markers)
