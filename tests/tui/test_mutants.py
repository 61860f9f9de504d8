"""False records of another laptop, of every kind: every screen is drawn, and goes on."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.book_entries import FORMS_OF_BOOK, STRIP_DOWN
from tests.faults.mutants import bring_in
from tests.tui.conftest import Drive, screen_text
from tests.tui.walking import FIGURES, SCREENS, walk
from tests.unreadable import WRONG, places, spoiled
from trackside.crew.cell_text import describe_value, text_of
from trackside.crew.forms import FORMS, entries
from trackside.preferences import Preferences
from trackside.reports.mark_words import figure_problem

GOOD = {
    "car": {"wheelbase": 2.5, "FL": {"mass": 300.0, "unsprung_mass": 30.0}},
    "build": {
        "stroke": 0.1, "oil_viscosity_40": 3e-5, "oil_viscosity_100": 6e-6, "oil_grade": 3e-5,
        "oil_index": 150.0, "bump_parts": {"seat": 0.02, "clamp": 0.01},
    },
}  # fmt: skip
"""Figures that are compared with those beside them."""
FORM_KINDS = ("event", "car", "damper", "build", *FORMS_OF_BOOK, *STRIP_DOWN)


@pytest.mark.parametrize("kind", FORM_KINDS)
def test_a_form_shows_any_value_of_another_laptop(kind: str) -> None:
    """Each place of a record with each wrong value: every cell has a text, a problem or none."""
    asked = [entry for form in FORMS for entry in entries(form).values() if entry.kind == kind]
    lists = ["adjusters", "shop_rules"] if kind == "build" else []
    for place in [*places(kind), *(entry.path for entry in asked), *lists]:
        for value in (*WRONG, [{}], [{"acts_on": [1], "clicks": {"a": "b"}}], [[5]]):
            body = spoiled(GOOD.get(kind, {}), place, value)
            for entry in asked:
                assert isinstance(text_of(entry, body, Preferences()), str)
                assert isinstance(figure_problem(entry, body, Preferences()), str)
            assert isinstance(describe_value(kind, place, value, Preferences()), str)


CONFLICTS = {"conflicts": ("escape", "p", "!"), "further": ("down",) * 5, "last": ("end",)}


@pytest.mark.long
@pytest.mark.parametrize("seed", range(10))
async def test_every_screen_goes_on_among_false_records(
    season_file: Path, drive: Drive, seed: int
) -> None:
    """100 records each time."""
    bring_in(season_file, 100, seed)
    async with drive(season_file) as pilot:
        for screens in (SCREENS, CONFLICTS, FIGURES):
            async for name in walk(pilot, among=screens):
                assert len(screen_text(pilot.app).split()) > 12, f"{name} is all but blank"
