"""A verdict by one key from pit board, run sheet and debrief; notes and reasons put right."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.conftest import Drive, run_sheet_at, screen_text, settled, until
from trackside.logbook import Logbook, patch, put
from trackside.tui.screens.board import Board
from trackside.tui.screens.debrief import DebriefPage
from trackside.tui.screens.sheet import Sheet
from trackside.tui.screens.verdicts import Judging
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]
WAITS = "1 change waits for its verdict: j gives it."


def _reason(file: Path, back: int = 1, **more: str) -> str:
    """The reason of a session so many before the newest, without a verdict."""
    with Logbook.open(file, author="Otto", device="other") as logbook:
        session = logbook.session_lines(offset=back, limit=1)[0].entity
        write = put("change", {"session": session, "what": "Rear bar softer", **more})
        logbook.write(write)
    return write.entity


async def _judging(pilot: Pilot[None]) -> Judging:
    await until(pilot, lambda: isinstance(pilot.app.screen, Judging))
    await settled(pilot)
    box = pilot.app.screen
    assert isinstance(box, Judging)
    return box


def _text(pilot: Pilot[None]) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("page", "keys"), [(Board, ()), (Sheet, ("r",)), (DebriefPage, ("d",))])
async def test_a_verdict_takes_two_keys(
    season_file: Path, drive: Drive, size: tuple[int, int], page: type, keys: tuple[str, ...]
) -> None:
    """At most three keys are asked for."""
    entity = _reason(season_file, reason="loose on exit")
    async with drive(season_file, size) as pilot:
        await until(pilot, lambda: WAITS in _text(pilot))
        if keys:
            await pilot.press(*keys)
            await until(pilot, lambda: isinstance(pilot.app.screen, page))
            await settled(pilot)
        before = pilot.app.screen
        await pilot.press("j")
        await _judging(pilot)
        assert "Esc back" in _text(pilot)
        await pilot.press("1")
        await until(pilot, lambda: pilot.app.screen is before)
        await until(pilot, lambda: "verdict saved: better" in _text(pilot))
        desk = pilot.app.desk  # type: ignore[attr-defined]
        assert (desk.logbook.state(entity) or {})["verdict"] == "better"
        if not keys:
            await until(pilot, lambda: "waits for its verdict" not in _text(pilot))
        await pilot.press("u", "u")
        await until(pilot, lambda: not (desk.logbook.state(entity) or {}).get("verdict"))


async def test_several_are_judged_one_after_the_other(season_file: Path, drive: Drive) -> None:
    first, second = _reason(season_file, 2), _reason(season_file, 1)
    async with drive(season_file) as pilot:
        await until(pilot, lambda: "2 changes wait for their verdict" in _text(pilot))
        await pilot.press("j")
        box = await _judging(pilot)
        assert [one.entity for one in box.rows[:2]] == [second, first]
        assert [one.waits for one in box.rows[:3]] == [True, True, False]
        assert "waits for its verdict" in _text(pilot)
        await pilot.press("3")
        await until(pilot, lambda: not box._keeping and box.rows[0].entity == first)
        assert pilot.app.screen is box
        await pilot.press("2")
        await until(pilot, lambda: pilot.app.screen is not box)
        logbook = pilot.app.desk.logbook  # type: ignore[attr-defined]
        given = [(logbook.state(entity) or {})["verdict"] for entity in (second, first)]
        assert given == ["worse", "no difference"]


@pytest.mark.parametrize("size", SIZES)
async def test_a_note_is_put_right_and_its_past_is_shown(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    with Logbook.open(season_file, author="Otto", device="other") as logbook:
        session = logbook.session_lines(limit=1)[0].entity
        write = put("note", {"session": session, "words": "pushes wide", "turn": "3"})
        logbook.write(write)
    async with drive(season_file, size) as pilot:
        await run_sheet_at(pilot, "FL.camber")
        await pilot.press("j")
        box = await _judging(pilot)
        assert box.under_cursor is not None
        assert box.under_cursor.entity == write.entity
        assert "pushes wide" in _text(pilot)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        form = pilot.app.screen
        assert isinstance(form, Ask)
        assert form.typed()["turn"] == "3"
        form.query_one("#turn").value = "4"  # type: ignore[attr-defined]
        await pilot.press("ctrl+s")
        await until(pilot, lambda: pilot.app.screen is box)
        await until(pilot, lambda: "turn: 3 → 4" in _text(pilot))
        assert "note changed" in _text(pilot)
        logbook = pilot.app.desk.logbook  # type: ignore[attr-defined]
        assert len(logbook.history(write.entity)) == 2
        await pilot.press("1")
        await pilot.pause()
        assert "only the reason of a change gets a verdict" in _text(pilot)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))


async def test_what_another_window_wrote_stays_and_is_said(season_file: Path, drive: Drive) -> None:
    entity = _reason(season_file)
    async with drive(season_file) as pilot:
        await pilot.press("j")
        await _judging(pilot)
        with Logbook.open(season_file, author="Otto", device="other") as other:
            other.write(patch("change", entity, {"verdict": "worse"}))
        await pilot.press("1")
        await until(pilot, lambda: "changed meanwhile" in _text(pilot))
        logbook = pilot.app.desk.logbook  # type: ignore[attr-defined]
        assert (logbook.state(entity) or {})["verdict"] == "worse"


async def test_an_empty_logbook_has_nothing_to_judge(tmp_path: Path, drive: Drive) -> None:
    async with drive(tmp_path / "empty.trackside") as pilot:
        await pilot.press("j")
        await _judging(pilot)
        await pilot.press("1", "enter", "down", "space")
        assert "No change waits for its verdict" in _text(pilot)
        await pilot.press("j")
        await until(pilot, lambda: isinstance(pilot.app.screen, Board))
