"""The run sheet: what is typed is kept as typed, clicks move the numbers, nothing is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Static, TextArea

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook import Logbook
from trackside.records import Reading
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.worth import Worth

SIZES = [(80, 24), (120, 40)]


def _kept(path: Path, session: str, at: str) -> object:
    with Logbook.open(path, read_only=True) as logbook:
        return logbook.record(session).value(at)  # type: ignore[union-attr]


@pytest.mark.parametrize("size", SIZES)
async def test_every_cell_of_every_part_is_on_the_screen(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.damper")
        for _ in range(5):
            text = screen_text(pilot.app)
            for path in sheet.grid.paths:
                cell = sheet.grid.cell(path)
                assert cell is not None
                assert cell.label[: sheet.grid.label_width - 1] in text
            assert sheet.grid.size.height >= max(sheet.grid.places.line_of.values()) + 1
            await pilot.press("tab")
            await pilot.pause()


@pytest.mark.parametrize(
    ("typed", "si", "shown"),
    [
        ("12,5", 12.5e5, "12,5"),
        ("12.5", 12.5e5, "12.5"),
        ("300 psi", 300 * 6894.757293168361, "300 psi"),  # psi: by definition
        ("20.7 bar", 20.7e5, "20.7 bar"),
        ("twelve", None, "twelve"),
    ],
)
async def test_what_is_typed_stays_as_typed(
    season_file: Path, drive: Drive, typed: str, si: float | None, shown: str
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.gas_pressure")
        await pilot.press("delete", "enter", *(c if c != " " else "space" for c in typed), "enter")
        await until(pilot, lambda: sheet.desk.is_kept("FL.gas_pressure"))
        value = sheet.desk.session.value("FL.gas_pressure")
        assert isinstance(value, Reading)
        assert value.typed == typed
        assert value.si == (pytest.approx(si) if si is not None else None)
        sheet.grid.go("FL.gas_pressure")
        await pilot.pause()
        assert shown in screen_text(pilot.app)
        entity = sheet.desk.entity
    kept = _kept(season_file, entity, "FL.gas_pressure")
    assert isinstance(kept, Reading)
    assert kept.typed == typed


async def test_a_note_of_five_thousand_characters_is_kept_whole(
    season_file: Path, drive: Drive
) -> None:
    words = ("understeer at the third apex [/ [b 🏁 " * 200)[:5000]
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        await pilot.press("a")
        await until(pilot, lambda: pilot.app.screen.query(TextArea))
        pilot.app.screen.query_one(TextArea).text = words
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        notes = sheet.desk.logbook.notes(sheet.desk.entity)
        assert any(body["words"] == words.strip() for _, body in notes)


@pytest.mark.parametrize("size", SIZES)
async def test_a_click_moves_value_numbers_and_difference(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await until(pilot, lambda: "of 20" in str(sheet.query_one(Worth).render()))
        before, count = (
            str(sheet.query_one(Worth).render()),
            sheet.desk.session.si("FL.rebound_bleed"),
        )
        assert count is not None
        await pilot.press("h")
        await until(pilot, lambda: str(sheet.query_one(Worth).render()) != before)
        assert sheet.desk.session.si("FL.rebound_bleed") == count - 1  # counted from full hard
        shown = str(sheet.query_one(Worth).render())
        assert "since" in shown
        assert "±" in shown
        await pilot.press("s")
        assert sheet.desk.session.si("FL.rebound_bleed") == count


async def test_harder_is_harder_whatever_the_convention(season_file: Path, drive: Drive) -> None:
    """On every adjuster of the car a harder click adds force; counts go their own way."""
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        desk = sheet.desk
        assert desk.shed is not None
        for corner in ("FL", "FR", "RL", "RR"):
            build = desk.shed.build_at(desk.session, corner)
            assert build is not None
            for adjuster in build.adjusters:
                path = f"{corner}.{adjuster.acts_on}"
                count = desk.session.si(path)
                assert count is not None
                assert desk.turn([path], 1) == {}
                sense = -1 if adjuster.counted_from == "hard" else 1
                assert desk.session.si(path) == count + sense * adjuster.step


async def test_a_stop_is_said_and_nothing_is_overwritten(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("0", "enter")
        sheet.grid.go("FL.rebound_bleed")
        await pilot.press("h")
        assert sheet.desk.session.si("FL.rebound_bleed") == 0
        assert "stop" in str(sheet.query_one("#detail", Static).render())


async def test_what_cannot_be_right_is_marked_and_explained(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("4", "4", "enter")
        sheet.grid.go("FL.rebound_bleed")
        await pilot.pause()
        assert sheet.desk.session.si("FL.rebound_bleed") == 44
        assert "beyond" in str(sheet.query_one("#detail", Static).render())
        assert sheet.cells.shown("FL.rebound_bleed").mark == "!"


async def test_undo_and_redo(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        count = sheet.desk.session.si("FL.rebound_bleed")
        await pilot.press("h", "h")
        sheet.desk.flush()
        await pilot.press("u", "u", "u", "u")
        assert sheet.desk.session.si("FL.rebound_bleed") == count
        await pilot.press("U", "U")
        assert count is not None
        assert sheet.desk.session.si("FL.rebound_bleed") == count - 1


async def test_half_typed_text_is_kept_on_the_way_out(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.cold_pressure")
        await pilot.press("1", ",", "6", "6")
        entity = sheet.desk.entity
        await pilot.app.action_quit()
    kept = _kept(season_file, entity, "FL.cold_pressure")
    assert isinstance(kept, Reading)
    assert kept.typed == "1,66"


async def test_another_windows_write_appears(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        sheet.desk.catch_up()
        from trackside.logbook import patch

        with Logbook.open(season_file, author="other") as other:
            body = Reading.of_text("-3,1", "angle")
            assert body is not None
            other.write(patch("session", sheet.desk.entity, {"FL.camber": body.body()}))
        await until(pilot, lambda: "-3,1" in screen_text(pilot.app))


async def test_a_session_can_be_moved_to_another_event(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "event")
        before = sheet.desk.session.event
        sheet.grid.edit("averholme 2026-05")
        await pilot.press("enter")
        assert sheet.desk.session.event != before
        await until(pilot, lambda: "2026-05-09" in screen_text(pilot.app))
        moved = sheet.desk.session.event
        sheet.grid.go("event")
        sheet.grid.edit("averholme")  # there are several: they are listed, the newest is lit
        assert sheet.grid.picking is not None
        assert len(sheet.grid.picking.rows) > 1
        await pilot.press("enter")
        await pilot.pause()
        assert sheet.desk.session.event != moved
        assert "Averholme" in sheet.desk.text.shown(sheet.desk.session, "event")
        there = sheet.desk.session.event
        sheet.grid.go("event")
        sheet.grid.edit("Nowhere")
        await pilot.press("enter", "enter")
        await pilot.pause()
        assert sheet.desk.session.event == there
        assert "not on the list" in str(sheet.query_one("#detail", Static).render())


async def test_the_build_goes_with_the_serial(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.damper")
        sheet.grid.edit("FP-0625")
        await pilot.press("enter")
        await pilot.pause()
        assert sheet.desk.session.value("FL.damper") == "FP-0625"
        assert sheet.desk.session.value("FL.build") == "U"
        sheet.desk.flush()
        await pilot.press("ctrl+u", "u")
        assert sheet.desk.session.value("FL.build") == "A"


async def test_any_character_begins_words(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "result")
        await pilot.press("P", "4", "enter")
        await pilot.pause()
        assert sheet.desk.session.result == "P4"
        sheet.grid.go("result")
        await pilot.press("enter", "3", "0", "enter")  # what stood there is marked: replaced
        await pilot.pause()
        assert sheet.desk.session.result == "30"
        sheet.grid.go("result")
        await pilot.press("enter", "end", " ", "A", "enter")
        await pilot.pause()
        assert sheet.desk.session.result == "30 A"


async def test_a_large_step_is_cautioned_where_it_is_turned(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("n")
        sheet.grid.go("FL.rebound_bleed")
        await pilot.press(*"hhhhh")
        await until(pilot, lambda: "cautious out-lap" in screen_text(pilot.app))


async def test_the_corner_in_hand_is_the_cursors_before_the_panel_is_drawn(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A click map opened by the very next key, or a tablet that asks for its place, would get the
    corner where the cursor was."""
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        monkeypatch.setattr(Sheet, "_panel", lambda *_: None)
        view = pilot.app.view  # type: ignore[attr-defined]
        await pilot.press("right")
        assert (sheet.grid.path, view.corner, view.direction) == (
            "FR.rebound_bleed", "FR", "rebound",
        )  # fmt: skip
        sheet.stand_on("RR.bump_bleed")
        assert (view.corner, view.direction) == ("RR", "bump")
