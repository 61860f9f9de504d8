"""In the crew's units, whatever they were typed in, on every screen."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.foreign import strays
from tests.tui.conftest import screen_text, until
from tests.tui.walking import FIGURES, walk
from trackside.analysis.plausible_ranges import value_mark
from trackside.preferences import Preferences
from trackside.records import Reading, read_value
from trackside.records.fields import field_of
from trackside.reports import cell_help
from trackside.reports.mark_words import mark_words
from trackside.reports.naming import value_in_words
from trackside.tui.app import build
from trackside.tui.screens.sheet import Sheet
from trackside.units import QUANTITIES

BESIDE = re.compile(r" = [−-]?\d[\d.,]* \S+|[−-]?\d[\d.,]* ?\S+ (?=\([−-]?\d[\d.,]* \S)")
"""What the line of detail, and the history, say in another unit too: a hand can check it."""

TYPED = (
    r"(?<= )[−-]?[\d.,]+(?:[CF]| ?psi| lb/in)(?! ?\()",  # a reading with its unit, in its cell
    r"\d+ mm, hole \d|40 mm forward|70 N·m",  # items of the whole car
    r"[Tt]rack (?:16|30) °C",  # why it was kept
    r"(?:oil )?at (?:40|100) °C|viscosity at 40 °C",  # where viscosities stand on a data sheet
    r"turn \d in",  # an event's notes
    r"\(mm\)|mm:N|mm:ratio|N/mm, stiffening, solid at mm",  # how discs, stops and ratios are noted
)
"""What people typed, and a data sheet's own words: they stay as they are."""
ASKED_IN_ITS_OWN = {
    "event record": ("m", "km/h"),  # altitude, speed on the road
    "damper parts": ("mm", "°C"),  # as its discs are noted; at what a least charge is said
}
PAGES = {"PIT BOARD", "RUN SHEET", "HISTORY", "CLICK MAP", "TREND", "DEBRIEF", "DAMPER SHED",
         "DAMPER RECORD", "RECORD", "GARAGE BOOK", "SHELF", "BRING BACK"}  # fmt: skip
UNITS = tuple(f" {u.symbol}" for kind in QUANTITIES.values() for u in kind.units if u.symbol)
CHOSEN = {
    "imperial": Preferences(preset="imperial"),
    "mixed": Preferences(preset="mixed"),
    "metric": Preferences(),
    "each": Preferences(units={"force": "kgf", "temperature": "K", "speed": "m/s"}),
}


def own_words(text: str) -> str:
    """The screen without what stands there as it was typed."""
    for pattern in TYPED:
        text = re.sub(pattern, "", text)
    return BESIDE.sub("", text)


@pytest.mark.parametrize(
    "preferences",
    [
        CHOSEN["imperial"],
        pytest.param(CHOSEN["mixed"], marks=pytest.mark.long),
        pytest.param(CHOSEN["metric"], marks=pytest.mark.long),
        pytest.param(CHOSEN["each"], marks=pytest.mark.long),
    ],
    ids=list(CHOSEN),
)
async def test_no_screen_shows_a_figure_in_another_unit(
    season_file: Path, preferences: Preferences
) -> None:
    app = build(season_file, preferences)
    async with app.run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        found, pages, cut = {}, set(), set()
        async for name in walk(pilot, among=FIGURES):
            text = own_words(screen_text(app))
            pages.add(text.split("  ")[0].strip())
            if isinstance(app.screen, Sheet):
                rows = app.screen.grid.as_table().splitlines()
                labels = {row.split("\t")[1] for row in rows}
                cut |= {one for one in labels if one.endswith(UNITS) and len(one) > 11}
            if stray := strays(text, preferences, ASKED_IN_ITS_OWN.get(name, ())):
                found[name] = stray
        assert pages == PAGES
        assert not cut
        assert not found, "\n".join(f"{page}: {stray}" for page, stray in found.items())


@pytest.mark.parametrize(
    ("typed", "path", "preset", "said"),
    [
        ("11,3", "FL.gas_pressure", "metric", "11.30 bar = 163.9 psi"),
        ("11,3 bar", "FL.gas_pressure", "imperial", "163.9 psi = 11.30 bar"),
        ("72 mm", "FL.ride_height", "imperial", "2.835 in = 72.0 mm"),
        ("72", "FL.ride_height", "metric", "72.0 mm"),
        ("47C", "FL.body_temperature", "imperial", "117 °F = 47 °C"),
        ("740 lb/in", "FL.spring_rate", "mixed", "740 lbf/in = 129.6 N/mm"),
        ("0°15′", "FL.toe", "imperial", "0.25 °"),  # an angle is no length
    ],
)
def test_the_crews_unit_stands_first_and_what_was_typed_behind_it(
    typed: str, path: str, preset: str, said: str
) -> None:
    """psi, lbf and inch as in tests/test_units.py; °F by the definition of the scale."""
    preferences = Preferences(preset=preset)
    assert cell_help.of_text(typed, path, preferences) == said
    kept = Reading.of_text(typed, field_of(path).quantity or "")
    assert cell_help.of_value(kept, path, None, preferences) == said


@pytest.mark.parametrize(
    ("typed", "path", "preset", "said"),
    [
        ("1,55", "FL.cold_pressure", "imperial", "1,55 bar (22.5 psi)"),
        ("1,55", "FL.cold_pressure", "metric", "1,55 bar"),
        ("181F", "FL.body_temperature", "mixed", "181F (83 °C)"),
        ("181F", "FL.body_temperature", "imperial", "181F"),
        ("6", "FL.rebound_bleed", "imperial", "6"),
        ("warm", "FL.body_temperature", "imperial", "warm"),
        ("-3.2", "FL.camber", "imperial", "-3.2 °"),
    ],
)
def test_history_tells_what_was_typed_and_what_it_is(
    typed: str, path: str, preset: str, said: str
) -> None:
    body = (read_value(field_of(path), typed)).body()
    assert value_in_words(body, path, Preferences(preset=preset)) == said


@pytest.mark.parametrize(
    ("typed", "preset", "said"),
    [
        ("9", "metric", "9.00 bar is outside 0.30 to 4.50 bar"),
        ("9", "imperial", "130.5 psi is outside 4.4 to 65.3 psi"),
        ("9 bar", "imperial", "9.00 bar is outside 0.30 to 4.50 bar"),
    ],
)
def test_a_mark_speaks_the_unit_of_its_cell(typed: str, preset: str, said: str) -> None:
    mark = value_mark("FL.cold_pressure", Reading.of_text(typed, "pressure"))
    assert mark is not None
    assert mark_words(mark, Preferences(preset=preset)).startswith(said)
