"""In the crew's units, whatever they were typed in, on the screens that reckon and tell."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.tui.conftest import screen_text, until
from tests.tui.walking import walk
from trackside.preferences import Preferences
from trackside.tui.app import build

METRIC_UNITS = ("mm/s", "m/s", "km/h", "N/mm", "N/m", "kN", "N", "mm", "cm", "bar", "kPa", "MPa",
                "hPa", "°C", "kg", "L")  # fmt: skip
IMPERIAL_UNITS = ("in/s", "ips", "mph", "lbf/in", "lb/in", "lbf", "lbs", "lb", "in", "psi", "inHg",
                  "°F", "US gal", "gal")  # fmt: skip
BESIDE = re.compile(r" = [−-]?\d[\d.,]* \S+")
"""What the line of detail says in the other unit too, so that a hand can check it."""


def strays(text: str, units: tuple[str, ...]) -> list[str]:
    """Each number in the text with one of those units beside it."""
    spelled = "|".join(re.escape(unit) for unit in units)
    found = re.finditer(rf"[^ ]* ?\d ?(?:{spelled})(?![\w/²³·’'])", BESIDE.sub("", text))
    return [match[0] for match in found]


TELLING = ("board", "springs", "tyres", "session", "clicks", "trend", "debrief", "shed", "loops")
"""Screens without a person's own words, or values that were typed with their unit."""
CASES = [("imperial", METRIC_UNITS), ("metric", IMPERIAL_UNITS)]


@pytest.mark.parametrize(("preset", "foreign"), CASES, ids=["imperial", "metric"])
async def test_no_telling_screen_shows_a_number_in_another_unit(
    season_file: Path, preset: str, foreign: tuple[str, ...]
) -> None:
    app = build(season_file, Preferences(author="tester", preset=preset))
    async with app.run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        found = {}
        async for name in walk(pilot, *TELLING):
            if stray := strays(screen_text(app), foreign):
                found[name] = stray
        assert not found, "\n".join(f"{page}: {stray}" for page, stray in found.items())
