"""The crew's own keys: taken everywhere at once, and refused in words."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import trackside
from tests.tui.conftest import run_sheet_at, screen_text, until
from trackside.errors import BadPreference
from trackside.preferences import Preferences, load
from trackside.tui.app import build
from trackside.tui.commands import (
    ALL_COMMANDS,
    COMMANDS,
    PAGES,
    Command,
    bind,
    bound_keys,
    commands_of,
    key_line,
    key_of,
    navigation,
)
from trackside.tui.keys import SWALLOWED, character, key_named
from trackside.tui.manual import chapters, keys_markdown


@pytest.fixture(autouse=True)
def _own_keys_again() -> Iterator[None]:
    yield
    bind({})


def test_every_place_follows() -> None:
    keymap = bind({"click_harder": ["plus", "z"], "pit_board": ["f5"]})
    assert keymap == {"click_harder": "plus,z", "pit_board": "f5"}
    assert ("+", "Harder") in key_line("clicks")
    assert ("F5", "Board", "board") in navigation()
    assert {"+", "z"} <= bound_keys("sheet")
    assert "h" not in bound_keys("sheet")
    assert "**`+`** One click harder" in keys_markdown()


async def test_the_new_key_turns_and_the_old_one_does_not(season_file: Path) -> None:
    crew = Preferences(author="tester", keys={"click_harder": ("plus", "z")})
    app = build(season_file, crew)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await run_sheet_at(pilot, "FL.rebound_bleed")
        was = app.desk.session.si("FL.rebound_bleed")
        await pilot.press("h")
        assert app.desk.session.si("FL.rebound_bleed") == was
        await pilot.press("plus", "z")
        await pilot.pause()
        assert abs(app.desk.session.si("FL.rebound_bleed") - was) == 2
        assert "+ Harder" in screen_text(app)
        await pilot.press("question_mark")
        await pilot.pause()
        assert "+ z" in screen_text(app)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"click_hardr": ["h"]}, "keys.click_hardr is no action"),
        ({"click_harder": ["hh"]}, "“hh”, which is no key"),
        (
            {"click_harder": ["z"], "click_softer": ["z"]},
            "the key z would mean two things on the run sheet",
        ),
        ({"click_harder": ["7"]}, "begins a number"),
        ({"click_harder": ["ctrl+h", "f1"]}, "some terminals keep"),
        ({"session_here": ["z"]}, "keys.session_here has only z, which is text on the record"),
        ({"undo": ["escape"]}, "the key Esc would mean two things on the record"),
        ({"undo": ["z"], "quit": ["f5", "z"]}, "the key z would mean two things"),
    ],
)
def test_what_cannot_be_is_refused_in_words(keys: dict[str, list[str]], words: str) -> None:
    with pytest.raises(BadPreference, match="key") as caught:
        bind(keys)
    assert words in str(caught.value)
    assert caught.value.remedy
    assert ("h", "Harder") in key_line("clicks")  # what was refused changed nothing


@pytest.mark.parametrize("command", COMMANDS, ids=lambda c: f"{c.name} {'-'.join(c.pages)}")
def test_a_default_key_gives_way_to_a_chosen_one(command: Command) -> None:
    """A key that a newer trackside gives to a command may be the crew's own for another."""
    stays = {"enter", "escape", "tab", "shift+tab", "comma", "full_stop", *"123"}
    for key in {*command.key.split(",")} - stays:
        for other in ("walk", "load_sheet", "edit_event"):
            bind({other: [key]} if other != command.name else {})
            pages = [page for page in PAGES if command in commands_of(page)]
            for page in pages:
                meant = [c.name for c in commands_of(page) if key in c.keys]
                assert len(set(meant)) <= 1
            assert command.key_shown


async def test_a_crew_that_chose_the_key_of_a_newer_command_has_its_own(season_file: Path) -> None:
    crew = Preferences(author="tester", keys={"click_harder": ("g",), "walk": ("o",)})
    app = build(season_file, crew)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await run_sheet_at(pilot, "FL.rebound_bleed")
        was = app.desk.session.si("FL.rebound_bleed")
        await pilot.press("g")
        await pilot.pause()
        assert abs(app.desk.session.si("FL.rebound_bleed") - was) == 1
        await pilot.press("p")
        await until(pilot, lambda: app.page_name == "board")
        await pilot.press("g", "o")  # nothing there, as the help says
        await pilot.pause()
        assert app.page_name == "board"
        await pilot.press("ctrl+p")
        await pilot.pause()
        await pilot.press(*"garage", "enter")
        await until(pilot, lambda: app.page_name == "book")
    assert key_of("garage_book") == key_of("jobs") == ALL_COMMANDS


def test_two_keys_may_change_places() -> None:
    bind({"click_harder": ["s"], "click_softer": ["h"]})
    assert [key for key, label in key_line("clicks") if label in ("Harder", "Softer")] == ["s", "h"]


@pytest.mark.parametrize("line", ['keys = "h"', "[keys]\nundo = 3", "[keys]\nundo = []"])
def test_a_table_of_another_shape_is_named(tmp_path: Path, line: str) -> None:
    file = tmp_path / "preferences.toml"
    file.write_text(line + "\n", "utf-8")
    with pytest.raises(BadPreference, match="keys"):
        load(file)


def test_the_file_is_read_as_the_readme_writes_it(tmp_path: Path) -> None:
    file = tmp_path / "preferences.toml"
    file.write_text('[keys]\nclick_harder = ["h", "plus"]\nundo = "z"\n', "utf-8")
    assert load(file).keys == {"click_harder": ("h", "plus"), "undo": ("z",)}


def test_every_command_has_a_key_that_no_terminal_swallows() -> None:
    for command in COMMANDS:
        for key in command.key.split(","):
            assert key_named(key if len(character(key)) != 1 else character(key)) == key
        assert any(key not in SWALLOWED for key in command.key.split(","))
    assert len({c.name for c in COMMANDS if "(" in c.name}) == 0


async def test_an_empty_logbook_tells_the_first_steps_until_there_is_an_event(
    tmp_path: Path,
) -> None:
    app = build(
        tmp_path / "new.trackside", Preferences(author="tester", keys={"new_event": ("z",)})
    )
    async with app.run_test(size=(60, 20)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        text = screen_text(app)
        assert "z begins an event" in text
        assert [f" {n}  " in text for n in (1, 2, 3)] == [True, True, True]
        await pilot.press("z")
        await until(pilot, lambda: app.page_name == "record")
        await pilot.press("escape", "escape")
        await until(pilot, lambda: "PIT BOARD" in screen_text(app))
        assert "Three steps" not in screen_text(app)


def test_the_handbook_names_every_action_and_the_keys_in_force() -> None:
    bind({"undo": ["z"], "counts": ["f6"]})
    text = {chapter.name: chapter.text for chapter in chapters()}
    for command in COMMANDS:
        assert f"`{command.key_shown}`** {command.words} · `{command.name}`" in text["Keys"]
    assert "`z` undoes the last change" in text["Start"]
    assert "(`F6` in the shed" in text["Estimate"]
    assert not any("`{" in each for each in text.values())


def test_no_sentence_names_a_key_that_the_crew_may_change() -> None:
    """A letter before what it does, in a string of the source, is a key of the default set."""
    deed = re.compile(
        r"(?:^|[ :(·])[A-Za-z] (?:on (?:the|a)|opens|begins|enters|takes|loads|puts|keeps)\b"
    )
    found = {
        f"{file.name}: {node.value}"
        for room in ("tui", "reports", "analysis")
        for file in Path(trackside.__path__[0], room).rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and deed.search(node.value)
    }
    assert not found
