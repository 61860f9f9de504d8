"""Undo shows what it takes back before it does: field, from → to, whose, when; to any depth."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook import Logbook, patch
from trackside.tui.screens.undoing import Undoing

SIZES = [(80, 24), (120, 40)]


@pytest.mark.parametrize("size", SIZES)
async def test_the_first_press_shows_the_second_does(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        count = sheet.desk.session.si("FL.rebound_bleed")
        await pilot.press("h")
        sheet.desk.flush()
        await pilot.press("u")
        await until(pilot, lambda: isinstance(pilot.app.screen, Undoing))
        text = screen_text(pilot.app)
        assert "Take back the last change?" in text
        assert "FL rebound" in text
        assert "→" in text
        assert "this session" in text
        assert "tester, 20" in text
        assert sheet.desk.session.si("FL.rebound_bleed") != count
        await pilot.press("escape")
        assert sheet.desk.session.si("FL.rebound_bleed") != count
        await pilot.press("u", "u")
        assert sheet.desk.session.si("FL.rebound_bleed") == count
        await pilot.press("U")
        assert "Set again the last change?" in screen_text(pilot.app)
        await pilot.press("enter")
        assert sheet.desk.session.si("FL.rebound_bleed") != count


async def test_several_steps_at_once_after_a_restart_too(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        count = sheet.desk.session.si("FL.rebound_bleed")
        await pilot.press("h", "h", "h")
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("u", "down", "down")
        assert "the last 3 changes" in screen_text(pilot.app)
        await pilot.press("up", "down", "enter")
        assert sheet.desk.session.si("FL.rebound_bleed") == count
        await pilot.press("U", "down", "down", "down")
        assert "there is nothing before that" in screen_text(pilot.app)
        await pilot.press("escape")


AXLE = ("FL.rebound_bleed", "FR.rebound_bleed")


@pytest.mark.parametrize(("page", "key"), [("r", "H"), ("r", "S"), ("c", "H"), ("c", "S")])
async def test_both_sides_of_an_axle_are_one_step_after_a_restart_too(
    season_file: Path, drive: Drive, page: str, key: str
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, AXLE[0])
        before = [sheet.desk.session.si(path) for path in AXLE]
        desk = sheet.desk
        await pilot.press(page, key)
        turned = [desk.session.si(path) for path in AXLE]
        assert all(abs(a - b) == 1 for a, b in zip(before, turned, strict=True))
        await until(pilot, lambda: all(desk.is_kept(path) for path in AXLE))
        await pilot.press("r")
        await until(pilot, lambda: pilot.app.screen is sheet)
        assert [sheet.cells.shown(path).mark for path in AXLE] == ["", ""]
        await pilot.press("u")
        await until(pilot, lambda: "Take back the last change?" in screen_text(pilot.app))
        text = screen_text(pilot.app)
        assert "FL rebound" in text
        assert "FR rebound" in text
        await pilot.press("u")
        assert [desk.session.si(path) for path in AXLE] == before
        await pilot.press(key)
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, AXLE[0])
        assert [sheet.desk.session.si(path) for path in AXLE] == turned
        await pilot.press("u", "u")
        assert [sheet.desk.session.si(path) for path in AXLE] == before
        await pilot.press("U", "U")
        assert [sheet.desk.session.si(path) for path in AXLE] == turned


async def test_one_side_at_its_stop_holds_the_other_not_back(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, AXLE[0])
        await pilot.press("0", "enter")
        sheet.grid.go(AXLE[0])
        right = sheet.desk.session.si(AXLE[1])
        await pilot.press("H")
        assert sheet.desk.session.si(AXLE[0]) == 0
        assert sheet.desk.session.si(AXLE[1]) == right + 1  # that damper counts from full soft
        assert "FL rebound is at its stop" in screen_text(pilot.app)


async def test_another_sessions_change_is_named_and_gone_to(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        changed = sheet.desk.entity
        before = sheet.desk.session.value("FL.camber")
        sheet.desk.keep_text("FL.camber", "-1.23")
        sheet.desk.flush()
        line = sheet.desk.line()
        other = sheet.desk.logbook.session_lines(limit=3)[-1].entity
        sheet.desk.take(other)
        await pilot.press("p", "u")
        await until(pilot, lambda: isinstance(pilot.app.screen, Undoing))
        told = screen_text(pilot.app)
        assert f"{line.kind} {line.number}".strip().capitalize() in told
        await pilot.press("enter")
        await until(pilot, lambda: pilot.app.screen is sheet)
        assert sheet.desk.entity == changed
        assert sheet.desk.session.value("FL.camber") == before
        await until(pilot, lambda: sheet.grid.path == "FL.camber")


async def test_what_was_written_meanwhile_is_shown_before_it_is_taken_back(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        desk = sheet.desk
        desk.keep_text("FL.camber", "-1.23")
        desk.flush()
        await pilot.press("u")
        await until(pilot, lambda: isinstance(pilot.app.screen, Undoing))
        with Logbook.open(season_file, device=desk.logbook.device, author="Otto") as other:
            other.write(patch("session", desk.entity, {"driver": "Somebody"}))
        await pilot.press("u")
        assert "written meanwhile" in screen_text(pilot.app)
        assert "Somebody" in screen_text(pilot.app)
        assert (desk.logbook.state(desk.entity) or {})["driver"] == "Somebody"
        await pilot.press("escape")


async def test_nothing_to_undo_says_so(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("u")
        assert "nothing to undo" in screen_text(pilot.app)
        await pilot.press("U")
        assert "nothing to redo" in screen_text(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_much_that_was_done_at_once_leaves_the_keys_on_the_screen(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        desk = pilot.app.desk
        why = "brought back: the set-up that ran in the cold, with the nose held down for turn 7"
        for corner in ("FL", "FR", "RL", "RR"):
            words = dict.fromkeys(("damper", "build", "bump_stop"), f"set for {corner} " * 4)
            desk.logbook.write(patch("session", desk.entity, {corner: words}), reason=why)
        await pilot.press("u", "down", "down", "down")
        text = screen_text(pilot.app)
        assert "the last 4 changes" in text
        assert "Enter does it · Esc leaves it" in text
        assert "more" in text.split("… and")[1].split("\n")[0]
        assert text.count("brought back") == text.count("this session")


async def test_a_session_that_was_opened_goes_as_a_whole(season_file: Path, drive: Drive) -> None:
    """The page says that the session goes, and not that a value is emptied; no code is shown."""
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        await pilot.press("n")
        opened, many = desk.entity, len(desk.logbook.state(desk.entity) or {})
        assert many
        for key, said in (
            ("u", "Take back the last change? the whole session race 2 · Averholme · "),
            ("U", "Set again the last change? the whole session race 2 · Averholme · "),
        ):
            await pilot.press(key)
            told = " ".join(screen_text(pilot.app).split())
            assert said in told
            assert ("leaves the logbook" if key == "u" else "comes back") in told
            assert "empty" not in told
            assert desk.logbook.state(opened) is None or key == "u"
            await pilot.press("enter")
            assert (desk.logbook.state(opened) is None) == (key == "u")
            await until(
                pilot,
                lambda: "the whole session race 2 · Averholme" in screen_text(pilot.app),
            )


async def test_from_the_board_of_an_empty_logbook_nothing_is_this_session(
    tmp_path: Path, drive: Drive
) -> None:
    async with drive(tmp_path / "new.trackside") as pilot:
        await pilot.press("e", "A", "enter", "escape", "escape", "u")
        told = screen_text(pilot.app)
        assert "in event A" in told
        assert "session" not in told.partition("Take back")[2]


async def test_what_names_another_record_is_told_in_its_words(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        sheet = await run_sheet_at(pilot, "car")
        before = desk.session.car
        other = next(e for e, _ in desk.logbook.all("car") if e != before)
        desk.keep("car", other)
        desk.flush()
        sheet.redraw()
        await pilot.press("escape", "u")
        told = screen_text(pilot.app)
        names = [str((desk.logbook.state(e) or {})["name"]) for e in (other, before)]
        assert f"{names[0]} " in told
        assert f"→ {names[1]}" in told
        assert before not in told
