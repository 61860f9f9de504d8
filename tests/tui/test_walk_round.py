"""The walk round the tyres that goes on by itself, for crews that ask for it."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Static

from tests.tui.conftest import screen_text, until
from tests.tui.walking import drawn
from trackside.crew.walk_round import is_whole
from trackside.preferences import Preferences
from trackside.tui.app import build
from trackside.tui.screens.sheet import Sheet

BY_ITSELF = Preferences(author="tester", walk_by_itself=True)
TREAD, HOT = "FL.tread_inner", "FL.hot_pressure"


@pytest.mark.parametrize(
    ("path", "text", "unit", "whole"),
    [
        (TREAD, "8", "°C", False),  # 80 can be right
        (TREAD, "88", "°C", True),  # 880 cannot: a tread is taken for right up to 160 °C
        (TREAD, "12", "°C", False),
        (TREAD, "16", "°C", False),  # 160 is the limit itself
        (TREAD, "17", "°C", True),
        (TREAD, "120", "°C", True),
        (TREAD, "0", "°C", False),
        (TREAD, "32", "°F", False),  # 320 °F = 160 °C, by the definition of the scale
        (TREAD, "33", "°F", True),
        (TREAD, "181", "°F", True),
        (TREAD, "36", "K", False),
        (TREAD, "361", "K", True),
        (TREAD, "88F", "°C", False),  # a unit, a sign or a point: Enter goes on
        (TREAD, "-8", "°C", False),
        (TREAD, "88.", "°C", False),
        (TREAD, "٨٨", "°C", False),
        (HOT, "1", "bar", False),  # 1.86 can be right
        (HOT, "27", "psi", False),  # 27.5 can be right
        (HOT, "18", "kPa", False),
        (HOT, "186", "kPa", True),
        ("FL.bump_stop", "88", "", False),
    ],
)
def test_a_value_is_whole_when_no_digit_that_follows_could_be_right(
    path: str, text: str, unit: str, whole: bool
) -> None:
    quantity = "pressure" if path == HOT else "temperature"
    preferences = Preferences(units={quantity: unit} if unit else {})
    assert is_whole(path, text, preferences) is whole


async def test_the_walk_takes_less_than_a_key_a_value(season_file: Path) -> None:
    """Twelve treads and four hot pressures: `w`, the digits, and Enter after what has a point."""
    app = build(season_file, BY_ITSELF)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await pilot.press("r", "n")
        await drawn(pilot)
        sheet = app.screen
        assert isinstance(sheet, Sheet)
        await pilot.press("w")
        over, wanted = 1, {}
        for path in sheet.grid.walk:
            typed = "1.9" if path.endswith("hot_pressure") else str(70 + len(wanted))
            wanted[path] = typed
            await pilot.press(*typed)
            if "." in typed:
                await pilot.press("enter")
                over += 1
        assert over <= len(wanted) == 16
        await pilot.pause()
        kept = {path: sheet.desk.session.value(path) for path in wanted}
        assert {path: getattr(value, "typed", "") for path, value in kept.items()} == wanted


TAKEN_UP_AGAIN = [
    (("8", "8", ".", "5", "enter"), "88.5", None, "FL.tread_outer"),
    (("8", "8", "comma", "5", "enter"), "88,5", None, "FL.tread_outer"),
    (("8", "8", "backspace", "backspace", "7"), "87", None, "FL.tread_outer"),
    (("8", "8", "up", "backspace", "7"), "87", None, "FL.tread_outer"),
    (("8", "8", "up", "escape"), "88", None, "FL.tread_middle"),
    (("1", "2", "4"), "124", None, "FL.tread_outer"),
    (("1", "2", "enter"), "12", None, "FL.tread_outer"),
    (("1", "2", "F"), "12F", None, "FL.tread_middle"),
    (("8", "8", "9"), "88", "9", "FL.tread_outer"),
    (("8", "8", "enter"), "88", None, "FL.tread_outer"),  # by habit: no cell is left out
    (("1", "2", "4", "F", "enter"), "124F", None, "FL.tread_outer"),  # never 124 °C
    (("1", "2", "4", "space", "F", "enter"), "124 F", None, "FL.tread_outer"),
    (("8", "8", "enter", "enter"), "88", None, "FL.hot_pressure"),
    (("8", "8", "right", "backspace"), "88", None, "FR.tread_middle"),  # back along the walk
    (("8", "8", "enter", "enter", "up", "up"), "88", None, "FL.tread_middle"),
    (("1", "2", "enter", "up", "7", "enter"), "7", None, "FL.tread_outer"),  # typed anew
    (("1", "2", "enter", "backspace", "enter"), "12", None, "FL.tread_outer"),  # and left
    (("1", "2", "enter", "backspace", "delete"), None, None, "FL.tread_middle"),
    (("1", "backspace", "backspace"), None, None, "FL.tread_inner"),
    (("8", "8", "enter", "down", "down", "up"), "88", None, "FL.hot_pressure"),
]
"""Keys in the second cell of the walk; what stands there then, in the third, and the cursor."""


async def test_what_was_left_too_early_is_taken_up_again(season_file: Path) -> None:
    app = build(season_file, BY_ITSELF)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await pilot.press("r", "n")
        await drawn(pilot)
        sheet = app.screen
        assert isinstance(sheet, Sheet)
        for keys, second, third, stands_on in TAKEN_UP_AGAIN:
            await pilot.press("w")
            walk = sheet.grid.walk[:3]
            await pilot.press("7", "0", *keys)
            await pilot.pause()
            assert sheet.grid.path == stands_on, keys
            sheet.leave()
            kept = [getattr(sheet.desk.session.value(path), "typed", None) for path in walk]
            assert kept == ["70", second, third], keys
            for path in walk:
                sheet.desk.keep_text(path, "")


async def test_without_being_asked_for_enter_goes_on(season_file: Path) -> None:
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await pilot.press("r", "n")
        await drawn(pilot)
        sheet = app.screen
        assert isinstance(sheet, Sheet)
        await pilot.press("w", "8", "8")
        assert sheet.grid.path == sheet.grid.walk[0]
        assert "1 of 16" in str(sheet.query_one("#detail", Static).render())
        assert "88" in screen_text(app)


async def test_old_news_leaves_the_line_to_the_cell_under_the_cursor(season_file: Path) -> None:
    """What a swap cleared, a conflict that was found: said over the cells, then gone by itself."""
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await pilot.press("r", "n")
        await drawn(pilot)

        def said() -> str:
            return str(app.screen.query_one("#detail", Static).render())

        app.view.tell("1 value differs", "problem", 1.0)
        await pilot.press("w")
        await until(pilot, lambda: "differs" in said())
        await until(pilot, lambda: "1 of 16" in said(), tries=150)
        app.view.tell("cleared by a swap", "problem", 1.0)
        await pilot.press("down")
        await until(pilot, lambda: "swap" in said())
        await pilot.press("8")
        await until(pilot, lambda: "swap" not in said(), tries=150)
        assert "88" not in said()


async def _walking(pilot, *keys: str) -> Sheet:
    """The run sheet of a new session after these keys."""
    await pilot.press("r", "n")
    await drawn(pilot)
    sheet = pilot.app.screen
    assert isinstance(sheet, Sheet)
    await pilot.press(*keys)
    return sheet


def _typed(sheet: Sheet, path: str) -> str:
    return getattr(sheet.desk.session.value(path), "typed", "")


async def test_what_is_filled_is_passed_and_said_and_never_typed_over(season_file: Path) -> None:
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        sheet = await _walking(pilot)
        for path in ("FL.tread_inner", "FL.tread_outer", "FL.hot_pressure"):
            sheet.desk.keep_text(path, "1.9")
        await pilot.press("w")
        assert sheet.grid.path == "FL.tread_middle"
        await pilot.press("8", "4", "enter")
        await pilot.pause()
        assert sheet.grid.path == "FR.tread_inner"
        assert "passed, filled already: FL outer, hot" in " ".join(screen_text(app).split())
        await pilot.press("7", "1", "enter", "up", "up")
        assert sheet.grid.path == "FL.hot_pressure"  # ↑ stops where it is filled too
        await pilot.press("enter")
        assert sheet.grid.path == "FR.tread_middle"
        assert _typed(sheet, "FL.hot_pressure") == "1.9"
        await pilot.press("backspace", "backspace", "2", "enter")
        assert _typed(sheet, "FL.hot_pressure") == "2"
        assert _typed(sheet, "FR.tread_inner") == "71"


async def test_the_walk_ends_with_a_word_and_begins_again_at_what_is_empty(
    season_file: Path,
) -> None:
    app = build(season_file, Preferences(author="tester", walk_parts=("hot", "gas")))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        sheet = await _walking(pilot, "w", *"1.9", "enter", "enter", *"1.8", "enter", *"1.7")
        await pilot.press("enter", "escape")
        await pilot.pause()
        told = " ".join(screen_text(app).split())
        assert (
            "walk-round over: 3 of 8 values read, still empty: FR all; FL gas; RR gas; RL gas"
            in told
        )
        assert not sheet.grid.walk
        assert sheet.grid.path == "FL.gas_pressure"  # on the sheet, where the walk was left
        assert "Walk-round" not in screen_text(app)
        await pilot.press("w")
        assert sheet.grid.path == "FR.hot_pressure"
        await pilot.press(*"1.9", "enter")
        for _ in range(4):
            await pilot.press(*"15.2", "enter")
        await pilot.pause()
        assert "walk-round over: all 8 values read" in screen_text(app)
        await pilot.press("w")
        await pilot.pause()
        assert "all values are read" in screen_text(app)
        assert sheet.grid.path == "FL.hot_pressure"


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_gas_step_warns_of_the_charge_and_the_body_of_heat(
    season_file: Path, size: tuple[int, int]
) -> None:
    app = build(season_file, Preferences(author="tester", walk_parts=("body", "gas")))
    async with app.run_test(size=size) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await _walking(pilot, "w")
        await pilot.pause()
        assert "hot: damper, brakes" in " ".join(screen_text(app).split())
        await pilot.press("4", "1", "enter")
        await pilot.pause()
        told = " ".join(screen_text(app).split())
        assert "Eye protection on; keep clear of rod and valve." in told
        assert "regulator" in told


async def test_another_tab_or_another_session_ends_the_walk(season_file: Path) -> None:
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        sheet = await _walking(pilot, "w", "8", "tab")
        await pilot.pause()
        assert not sheet.grid.walk
        assert _typed(sheet, "FL.tread_inner") == "8"
        assert "walk-round over: 1 of 16" in " ".join(screen_text(app).split())
        await pilot.press("w", "9", "R")
        await drawn(pilot)
        assert not app.screen.grid.walk
        assert "Walk-round" not in screen_text(app)


async def test_what_is_taken_back_on_the_way_is_seen(season_file: Path) -> None:
    """Undo of a value of the walk leaves the walk on; of another value it shows that value."""
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        sheet = await _walking(pilot)
        sheet.desk.keep_text("FL.camber", "-3.1")
        await pilot.press("w", "8", "1", "enter", "u", "u")
        await until(pilot, lambda: not _typed(sheet, "FL.tread_inner"))
        assert sheet.grid.walk
        assert sheet.grid.path == "FL.tread_inner"
        await pilot.press("u", "u")
        await until(pilot, lambda: _typed(sheet, "FL.camber") != "-3.1")
        await until(pilot, lambda: sheet.grid.path == "FL.camber")
        assert not sheet.grid.walk
