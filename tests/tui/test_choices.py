"""Words from a list: narrowed down as one types, taken by Enter alone, added by a second one."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.pilot import Pilot
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from tests.tui.fields import revisions_in
from trackside.crew.belonging import BELONGS
from trackside.crew.forms import FORMS, entries
from trackside.records.fields import CORNER_FIELDS, SESSION_FIELDS, VERDICTS
from trackside.tui.choices import FREE, SOURCES, is_listed, offered
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.picking import Offer, Picking, fitting

CREW = Offer(("Teo Vannick", "Marla Quintrey", "Ida Kestrup"), "driver")


# ── the list by itself ──────────────────────────────────────────────────────────────────────────


def _typed(offer: Offer, text: str) -> Picking:
    picking = Picking(offer, "")
    for sign in text:
        picking.insert(sign)
    return picking


def test_what_is_just_that_comes_first_then_what_begins_so() -> None:
    words = ("warm race", "races", "race", "trace")
    assert fitting("RACE", words) == ["race", "races", "warm race", "trace"]
    assert fitting("quin mar", CREW.words) == ["Marla Quintrey"]


@given(st.text(max_size=12))
def test_what_fits_is_of_the_list_and_each_once(text: str) -> None:
    found = fitting(text, CREW.words)
    assert set(found) <= set(CREW.words)
    assert len(found) == len(set(found))


def test_enter_takes_the_row_that_is_lit() -> None:
    assert _typed(CREW, "id").enter() == "Ida Kestrup"
    picking = _typed(CREW, "k")
    lit = [row.text for row in picking.rows]
    picking.move(1)
    assert picking.enter() == lit[1]


def test_a_new_word_needs_a_second_enter_and_says_what_it_may_be() -> None:
    picking = _typed(CREW, "Teo Vanick")
    assert picking.enter() is None
    assert "Enter again adds it" in picking.said()
    assert "“Teo Vannick”" in picking.said()
    picking.insert("k")  # another word is another question
    assert picking.said() == ""
    assert picking.enter() is None
    assert picking.enter() == "Teo Vanickk"


def test_another_case_is_the_word_of_the_list_unless_it_is_meant() -> None:
    picking = _typed(CREW, "ida kestrup")
    assert picking.enter() == "Ida Kestrup"
    picking.move(1)
    assert picking.rows[picking.at].new
    assert picking.enter() is None
    assert "did you mean “Ida Kestrup”" in picking.said()


def test_a_list_that_cannot_grow_takes_no_other_word() -> None:
    ends = Offer(("hard", "soft"))
    assert _typed(ends, "h").enter() == "hard"
    picking = _typed(ends, "left")
    assert (picking.enter(), picking.enter()) == (None, None)
    assert "not on the list: hard, soft" in picking.said()


def test_what_the_cell_holds_stays_when_nothing_is_chosen() -> None:
    held = Picking(CREW, "Somebody Else", marked=True)
    assert len(held.rows) == len(CREW.words)
    assert held.enter() == "Somebody Else"
    assert held.half == ""
    held.move(1)
    assert held.enter() == "Teo Vannick"
    emptied = Picking(CREW, "Ida Kestrup", marked=True)
    emptied.key("backspace")
    assert emptied.enter() == ""


# ── where the words come from ───────────────────────────────────────────────────────────────────


def test_every_cell_of_words_has_a_list_or_is_known_to_have_none() -> None:
    words = {n for n, f in (CORNER_FIELDS | SESSION_FIELDS).items() if f.quantity is None}
    words |= {*BELONGS, "lap_times"}
    listed = {name for name in words if name in SOURCES or is_listed(name)}
    assert words == listed | FREE
    assert not listed & FREE
    for name in ("damper", "build", "bump_stop", "driver", "tyre_set", "kind", "surface"):
        assert name in listed
    assert is_listed("FL.damper")
    assert not is_listed("items.kind")


async def test_the_lists_are_what_is_on_record(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk  # type: ignore[attr-defined]
        offers = {
            path: offered(desk, path)
            for path in (
                "FL.damper",
                "FL.build",
                "FL.bump_stop",
                "driver",
                "tyre_set",
                "kind",
                "event",
            )
        }
        assert offers["FL.damper"].words[0] == desk.session.FL.damper
        assert {d.serial for d in desk.shed.dampers} <= set(offers["FL.damper"].words)
        builds = {b.version for b in desk.shed.builds_of(desk.session.FL.damper)}
        assert set(offers["FL.build"].words) == builds
        assert desk.session.FL.bump_stop in offers["FL.bump_stop"].words
        drivers = {line.driver for line in desk.logbook.session_lines()}
        assert set(offers["driver"].words) == drivers
        assert offers["driver"].words[0] == desk.session.driver
        assert offers["kind"].new == "kind"
        assert offers["event"].new == ""
        assert len(offers["event"].words) == len(desk.logbook.all("event"))
        assert desk.session.tyre_set in offers["tyre_set"].words


# ── in the cells ────────────────────────────────────────────────────────────────────────────────


def _listed_paths(sheet: Sheet) -> list[str]:
    return [path for path in sheet.grid.paths if is_listed(path)]


@pytest.mark.parametrize("leave", ["tab", "click", "blur", "page", "quit"])
async def test_leaving_a_list_never_stores_half_a_word(
    season_file: Path, drive: Drive, leave: str
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "driver")
        was, before = sheet.desk.session.driver, revisions_in(season_file)
        await pilot.press("I", "d")
        if leave == "tab":
            await pilot.press("tab")
        elif leave == "click":
            await pilot.click("#cells", offset=(40, 14))
        elif leave == "blur":
            sheet.set_focus(None)
        elif leave == "page":
            await pilot.press("f2")
        else:
            await pilot.app.action_quit()
        if leave == "quit":
            assert revisions_in(season_file) == before
        else:
            await until(pilot, lambda: [d.text for d in sheet.desk.logbook.drafts()] == ["Id"])
            assert sheet.desk.session.driver == was
            sheet.desk.flush()
            assert revisions_in(season_file) == before
            return
    async with drive(season_file) as pilot:  # it is offered again, and is no value
        sheet = await run_sheet_at(pilot, "driver")
        assert sheet.desk.session.driver == was
        assert "half typed: “Id”" in str(sheet.query_one("#detail", Static).render())
        assert was in screen_text(pilot.app)
        await pilot.press("enter", "enter")
        await pilot.pause()
        assert sheet.desk.session.driver == "Ida Kestrup"
        assert sheet.desk.logbook.drafts() == []


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_list_of_every_choice_is_seen_whole_at_its_cell(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.damper")
        seen = set()
        for _ in sheet.parts:
            for path in _listed_paths(sheet):
                seen.add(path.rpartition(".")[2])
                sheet.grid.go(path)
                sheet.grid.edit()
                await pilot.pause()
                picking = sheet.grid.picking
                assert picking is not None
                shown = screen_text(pilot.app)
                rows = [row.text[:9] for row in picking.rows]
                lit = max(picking.at, 0)
                if rows:
                    assert f"{'▸' if picking.at >= 0 else '│'}{rows[lit]}" in shown, path
                await pilot.press("escape")
            sheet.action_next_part()
            await pilot.pause()
        assert seen >= {*SOURCES, "kind", "surface", "status"}


async def test_a_click_takes_a_row(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "kind")
        sheet.grid.edit()
        await pilot.pause()
        box = sheet.grid._list()
        assert box is not None
        wanted = sheet.grid.picking.rows[box.first + 1].text  # type: ignore[union-attr]
        await pilot.click("#cells", offset=(box.column + 2, box.line + 1))
        await until(pilot, lambda: sheet.desk.session.kind == wanted)


async def test_a_closed_list_on_a_record(season_file: Path, drive: Drive) -> None:
    key = "build.adjusters.bump_bleed.counted_from"
    async with drive(season_file) as pilot:
        page = await _adjusters(pilot)
        page.grid.go(key)
        before = revisions_in(season_file)
        await pilot.press(*"qq", "enter", "enter")
        assert page.grid.buffer == "qq"
        assert "not on the list: hard, soft" in screen_text(pilot.app)
        await pilot.press("tab", "shift+tab")
        page.grid.go(key)
        await pilot.pause()
        assert "half typed: “qq”" in screen_text(pilot.app)
        assert revisions_in(season_file) == before
        await pilot.press("enter", "escape", "s", "enter")
        page.desk.flush()
        assert page._shown(key).text == "soft"


async def _adjusters(pilot: Pilot[None]) -> RecordPage:
    await pilot.press("b", "enter", "tab")
    page = pilot.app.screen
    assert isinstance(page, RecordPage)
    return page


def test_every_choice_of_a_record_is_closed() -> None:
    """A record takes only the words that it knows; free words have no list."""
    listed = [e.key for form in FORMS for e in entries(form).values() if e.choices]
    assert {key.rpartition(".")[2] for key in listed} == {
        "counted_from",
        "driver",
        "road_class",
        "sort",
        "state",
        "surface",
    }
    assert listed


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_choice_of_a_form_is_narrowed_down_as_on_a_sheet(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    """Any part of the word finds it, the arrows light another, Enter takes the lit one."""
    async with drive(season_file, size) as pilot:
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("y", *"softer", "tab", "tab")
        assert " · ".join(VERDICTS) in screen_text(pilot.app)
        await pilot.press(*"diff")
        offered = pilot.app.screen.query_one("#verdict-offered", Static)
        assert str(offered.content) == "no difference"
        await pilot.press("enter")
        assert pilot.app.screen.typed()["verdict"] == "no difference"
        assert not offered.display
        await pilot.press("shift+tab", "ctrl+u", "down", "down", "down", "enter", "shift+tab")
        assert pilot.app.screen.typed()["verdict"] == "worse"
        await pilot.press("ctrl+u", *"much", "enter")
        assert "“much” is not on the list: better, no difference" in screen_text(pilot.app)
        assert pilot.app.focused.id == "verdict"
        await pilot.press("ctrl+u", *"uncl", "ctrl+s")
        change = [b for _, b in pilot.app.desk.logbook.all("change")][-1]
        assert change["verdict"] == "unclear"
