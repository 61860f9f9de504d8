"""The shelf: found in a few keys, compared first, brought in as one step of undo."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from textual.widgets import Input, Static

from tests.tui.conftest import Drive, screen_text, until
from trackside.tui.screens.bring import Bring
from trackside.tui.screens.sheet import Sheet
from trackside.tui.screens.shelf import Shelf
from trackside.tui.widgets.ledger import Ledger

SIZES = [(80, 24), (120, 40)]


async def _planned(pilot) -> Bring:  # type: ignore[no-untyped-def]
    await until(pilot, lambda: isinstance(pilot.app.screen, Bring) and pilot.app.screen.plan)
    await pilot.pause()
    return pilot.app.screen


async def test_into_a_new_session_when_the_one_in_hand_has_run(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        last, many = desk.entity, desk.logbook.session_count()
        await pilot.press("k")
        await pilot.press(*"winner", "enter", "enter")
        bring = await _planned(pilot)
        assert "Into a new session: race 2" in screen_text(pilot.app)
        await pilot.press("escape")
        await pilot.pause()
        assert desk.logbook.session_count() == many
        await pilot.press("enter")
        await _planned(pilot)
        await pilot.press("y")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert desk.entity != last
        assert desk.session.status == "planned"
        assert desk.session.based_on == bring.row.session
        await pilot.press("u", "u")
        await pilot.pause()
        assert desk.logbook.session_count() == many
        assert desk.entity == last


async def test_a_count_is_told_with_the_end_it_counts_from(season_file: Path, drive: Drive) -> None:
    """FL counts from full hard, FR from full soft: a bare count would be read as either."""
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        await pilot.press("n", "k", *"winner", "enter", "enter")
        bring = await _planned(pilot)
        told = str(bring.query_one("#plan", Static).content)
        counts = [
            line
            for line in told.split("\n")
            if line.startswith(("  FL reb", "  FR reb")) and "→" in line
        ]
        assert counts
        for line in counts:
            knob = desk.shed.build_at(bring.after, line[2:4]).adjuster("rebound_bleed")
            assert line.endswith(f" from full {knob.counted_from}")


@pytest.mark.parametrize("many", [1, 2])
async def test_one_value_brought_in_is_told_as_one(
    season_file: Path, drive: Drive, many: int
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("k", *"winner", "enter", "enter")
        bring = await _planned(pilot)
        values = dict(list(bring.plan.values.items())[:many])
        bring.plan = replace(bring.plan, values=values, overwrites=())
        await pilot.press("y")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        brought = "1 value brought in" if many == 1 else "2 values brought in"
        await until(pilot, lambda: brought in " ".join(screen_text(pilot.app).split()))
        told = " ".join(screen_text(pilot.app).split())
        assert ("Ctrl-U takes it back" if many == 1 else "Ctrl-U takes them back") in told


@pytest.mark.parametrize("size", SIZES)
async def test_the_page_fits_and_tells_each_corner(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("k")
        await until(pilot, lambda: isinstance(pilot.app.screen, Shelf))
        await pilot.pause()
        text = screen_text(pilot.app)
        assert "SHELF" in text
        assert "Ctrl-Q Quit" in text
        told = str(pilot.app.screen.query_one("#words", Static).content)
        for corner in ("FL", "FR", "RL", "RR"):
            assert f"{corner} damper" in told


def _foot(pilot) -> str:  # type: ignore[no-untyped-def]
    return "\n".join(screen_text(pilot.app).rstrip().split("\n")[-2:])


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("page", "opens"), [("k", ""), ("p", "/")])
async def test_the_foot_shows_the_keys_of_the_line_to_search_in_and_of_the_list(
    season_file: Path, drive: Drive, size: tuple[int, int], page: str, opens: str
) -> None:
    """While words are searched, no letter is a command."""
    async with drive(season_file, size) as pilot:
        await pilot.press(page, *opens)
        await until(pilot, lambda: "letters Find" in _foot(pilot))
        for command in ("Bring back", "p Board", "q Quit", "e Event"):
            assert command not in _foot(pilot)
        await pilot.press("down")
        await until(pilot, lambda: "q Quit" in _foot(pilot))
        assert "letters Find" not in _foot(pilot)


async def test_an_empty_logbook_has_an_empty_shelf(tmp_path: Path, drive: Drive) -> None:
    async with drive(tmp_path / "new.trackside") as pilot:
        await pilot.press("k", "enter", "enter", "space")
        await pilot.pause()
        assert "Nothing here" in screen_text(pilot.app)
        assert pilot.app.screen.query_one(Ledger).count == 0


@pytest.mark.parametrize("size", SIZES)
async def test_a_set_up_is_taken_off_the_shelf_and_put_back(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        logbook = pilot.app.desk.logbook
        before = logbook.all("kept")
        await pilot.press("k")
        await until(pilot, lambda: isinstance(pilot.app.screen, Shelf))
        await pilot.press("down", "x")
        await until(pilot, lambda: "off the shelf?" in screen_text(pilot.app))
        await pilot.press("escape")
        assert logbook.all("kept") == before
        await pilot.press("x")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*"torn", "enter")
        await until(pilot, lambda: len(logbook.all("kept")) == len(before) - 1)
        await until(pilot, lambda: "off the shelf:" in pilot.app.view.news[0])
        await until(pilot, lambda: len(pilot.app.screen.rows) == len(before) - 1)
        [gone] = {entity for entity, _ in before} - {entity for entity, _ in logbook.all("kept")}
        assert (logbook.history(gone)[0].op, logbook.history(gone)[0].reason) == ("drop", "torn")
        assert gone not in {row.entity for row in pilot.app.screen.rows}
        await pilot.press("u", "u")
        await until(pilot, lambda: logbook.all("kept") == before)
        await until(pilot, lambda: gone in {row.entity for row in pilot.app.screen.rows})
