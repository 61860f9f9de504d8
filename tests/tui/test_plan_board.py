"""Plans side by side over the run sheet: stepped, refused, explained, taken and printed."""

from __future__ import annotations

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from tests.tui.conftest import Drive, screen_text, settled, until
from trackside.analysis.same_curve import translate
from trackside.crew.plans import Plans
from trackside.logbook import Logbook, patch
from trackside.preferences import data_folder
from trackside.tui.app import Trackside
from trackside.tui.screens.bring import Bring
from trackside.tui.screens.plan import PlanBoard
from trackside.tui.screens.sheet import Sheet
from trackside.tui.screens.shelf import Shelf
from trackside.tui.widgets.ask import Ask

MOST_KEYS = 12


def _text(pilot: Pilot[None]) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


def _app(pilot: Pilot[None]) -> Trackside:
    assert isinstance(pilot.app, Trackside)
    return pilot.app


async def _board(pilot: Pilot[None]) -> PlanBoard:
    app = _app(pilot)
    await until(pilot, lambda: isinstance(app.screen, PlanBoard))
    board = app.screen
    assert isinstance(board, PlanBoard)
    await until(pilot, lambda: board.facts and not board.stale and not board.coming)
    return board


async def _ready(pilot: Pilot[None], board: PlanBoard, columns: int) -> None:
    await until(pilot, lambda: len(board.columns) == columns and not board.coming)
    await until(pilot, lambda: len(board.facts) == columns and not board.stale)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_plans_stand_beside_the_run(
    season_file: object, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:  # type: ignore[arg-type]
        app = _app(pilot)
        await pilot.press("r", "N")
        board = await _board(pilot)
        assert "no plan yet: press n for one" in _text(pilot)
        await pilot.press("h")
        assert "this is the run" in _text(pilot)
        await pilot.press("n")
        await _ready(pilot, board, 2)
        await pilot.press("down", "h", "h")
        await _ready(pilot, board, 2)
        corner = board.corner
        was, now = (c.session.si(f"{corner}.rebound_bleed") for c in board.columns)
        assert was is not None
        assert now == was - 2
        assert "+67" in _text(pilot)  # what two clicks are worth there, as the click map has it
        await pilot.press("n", "H")
        await _ready(pilot, board, 3)
        await pilot.press("n", "s")
        await _ready(pilot, board, 4)
        cells = [dict(c.plan.record.cells) for c in board.columns if c.plan]
        assert [len(one) for one in cells] == [1, 2, 2]
        app.desk.flush()
        kept = [one.record.cells for one in Plans(app.desk.logbook).of_run(app.desk.entity)]
        assert kept == cells
        await pilot.press(*["h"] * 9)
        assert "clicks past full hard" in _text(pilot) or "click past full hard" in _text(pilot)
        await pilot.press("end", "question_mark")
        await settled(pilot)
        assert "1/k before" in _text(pilot)
        await pilot.press("escape", "home", "down", "delete", "X")
        await _ready(pilot, board, 3)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Sheet))


async def test_a_kept_set_up_comes_as_a_plan_and_is_taken_and_printed(
    season_file: object, drive: Drive
) -> None:
    """The journey: the kept set-up on the colder day with the swapped damper, a second plan beside
    it, one taken, the sheet printed."""
    async with drive(season_file) as pilot:  # type: ignore[arg-type]
        app = _app(pilot)
        keys = 0

        async def press(*names: str) -> None:
            nonlocal keys
            keys += len(names)
            await pilot.press(*names)

        await press("k")
        await until(pilot, lambda: isinstance(app.screen, Shelf))
        await settled(pilot)
        await press("enter", "down", "enter")
        await until(pilot, lambda: isinstance(app.screen, Bring) and app.screen.plan)
        assert isinstance(app.screen, Bring)
        found, of = app.screen.plan, app.screen.row.session
        assert found is not None
        assert [one for one in found.translations if one.corner == "FR"]
        told = str(app.screen.query_one("#plan", Static).content)
        assert "Same curve, not same clicks" in told
        assert "FL the same charge in today's air of 11 °C: " in told
        assert "FL cold for the hot target: 1." in told
        await press("p")
        board = await _board(pilot)
        assert len(board.columns) == 2
        assert board.at == 1
        plan = board.column.plan
        assert plan is not None
        shed, run = app.desk.shed, app.desk.session
        assert shed is not None
        kept = app.desk.logbook.session_record(of)
        build = shed.build_at(run, "FR")
        assert build is not None
        speeds = app.desk.preferences.reference_speeds
        for one in translate(kept, run, "FR", build, shed, speeds):
            if hasattr(one, "now") and one.is_set:
                assert board.column.session.si(f"FR.{one.adjuster}") == one.now
        await press("n", "h")
        await _ready(pilot, board, 3)
        await press("t")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press(*"as in May")  # the words
        before = app.desk.entity
        await press("ctrl+s")
        await until(pilot, lambda: isinstance(app.screen, Sheet) and app.desk.entity != before)
        await settled(pilot)
        assert not app.desk.session.ran
        assert app.desk.session.based_on == before
        assert "to set" in _text(pilot)
        await press("P")
        folder = data_folder() / "paper"
        await until(pilot, lambda: folder.exists() and len(list(folder.iterdir())) == 2)
        assert keys <= MOST_KEYS
        logbook, entity = app.desk.logbook, app.desk.entity
        assert logbook.changes(entity)[0][1]["reason"] == "as in May"
        sheet = next(p for p in folder.iterdir() if "to-do" in p.name).read_text("utf-8")
        assert "Check word" in sheet


async def test_an_unknown_damper_leaves_its_place_and_says_why(
    season_file: object, drive: Drive
) -> None:
    with Logbook.open(season_file, author="a", device="b") as logbook:  # type: ignore[arg-type]
        newest = logbook.session("last")
        logbook.write(patch("session", newest, {"FL.damper": "ZZ-1", "FL.build": None}))
    async with drive(season_file) as pilot:  # type: ignore[arg-type]
        await pilot.press("r", "N")
        board = await _board(pilot)
        while board.corner != "FL":
            await pilot.press("right_square_bracket")
        await _ready(pilot, board, 1)
        await pilot.press("n")
        await _ready(pilot, board, 2)
        await pilot.press("down")
        assert "no estimate" in _text(pilot)
        assert "ZZ-1" in _text(pilot)


async def test_a_plan_prints_its_own_sheet(season_file: object, drive: Drive) -> None:
    async with drive(season_file) as pilot:  # type: ignore[arg-type]
        await pilot.press("r", "N")
        board = await _board(pilot)
        await pilot.press("n")
        await _ready(pilot, board, 2)
        await pilot.press("h", "P")
        await until(pilot, lambda: "printed to" in _text(pilot))
        files = list((data_folder() / "paper").iterdir())
        assert len(files) == 1
        sheet = files[0].read_text("utf-8")
        assert "To do: plan A" in sheet
        assert "cold for the hot target: 1." in sheet
