"""Hostile text in every field that a hand can reach: it is kept as text, and shown as text.

The fields come from where the program declares them, so that a new one is walked by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input, TextArea

from tests.book_entries import FORMS_OF_BOOK, STRIP_DOWN, write_book
from tests.hostile import EVERYTHING, TEXTS, obeyed, write_everywhere
from tests.tui.conftest import LAST_DAY, Drive, run_sheet_at, screen_text, settled, until
from tests.tui.fields import asked_in_source, made_in_source, squeezed, words_in
from tests.tui.walking import FIGURES, SHEET, walk
from trackside.crew.belonging import BELONGS
from trackside.crew.forms import FORMS, entries
from trackside.crew.strip_downs import StripDowns
from trackside.logbook import Logbook, patch, put
from trackside.records.fields import ADJUSTERS, CORNER_FIELDS, CORNERS, SESSION_FIELDS
from trackside.tui.screens.disc_box import DiscBoxList
from trackside.tui.screens.jobs import JobList
from trackside.tui.screens.plan import PlanBoard
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.shed import ShedPage
from trackside.tui.screens.strip_down import StripDownSteps
from trackside.tui.widgets.ask import Ask
from trackside.units import clean, one_line

EACH = [EVERYTHING, *(pytest.param(text, marks=pytest.mark.long) for text in TEXTS.values())]
ALIKE = {*CORNERS[1:], *list(ADJUSTERS)[1:], "rebound", "rebound_parts"}
"""Corners, knobs and directions that have the same fields as another."""
TOLD = {
    "board": ("p",),
    "sheet": SHEET,
    "session": ("shift+tab",),
    "past": ("escape", "l", "a"),
    "debrief": ("escape", "escape", "d"),
    "shed": ("b",),
    "damper record": ("enter",),
    "kept": ("escape", "k", "escape"),
    "bring": ("enter",),
}
"""Where a session's words stand, by the keys that lead there from the one before."""
each_text = pytest.mark.parametrize("text", EACH, ids=["everything", *TEXTS])


def seen(app: Any) -> str:
    """What the screen shows: lines of the full width, and nothing that a terminal obeys."""
    strips = app.screen._compositor.render_strips()
    assert [strip.cell_length for strip in strips] == [app.size.width] * app.size.height
    lines = screen_text(app).split("\n")
    assert len(lines) == app.size.height
    assert obeyed("".join(lines)) == []
    return "\n".join(lines)


async def paste(pilot: Pilot[None], text: str) -> str:
    """Paste into what has the keys; what the screen shows then."""
    pilot.app.post_message(events.Paste(text))
    await pilot.pause(0)
    return seen(pilot.app)


async def fill(pilot: Pilot[None], page: Any, text: str) -> set[str]:
    """Paste into every cell of the part on the page; the paths. It is looked at by turns while the
    text is typed, and when it was left."""
    paths = walked_in(text, page.grid.paths)
    for number, path in enumerate(paths):
        if path not in page.grid.paths:  # a damper that nobody knows took its knob off the sheet
            page.desk.keep_text(path, "3")
            page.redraw()
        page.grid.go(path)
        pilot.app.post_message(events.Paste(text))
        await pilot.pause(0)
        if number % 2:
            seen(pilot.app)
        await leave_it(pilot, page, path)
        if number % 2 == 0:
            seen(pilot.app)
    seen(pilot.app)
    assert {p: holds(page, p) for p in paths} == {p: meant(p, text) for p in paths}
    return set(paths)


async def leave_it(pilot: Pilot[None], page: Any, path: str) -> None:
    """Leave the cell; in a list that can grow the new word is agreed to, in another there is no
    such word, and it is held beside what stands there."""
    picking = page.grid.picking
    if picking is not None and picking.offer.new:
        await pilot.press("enter", "enter")
    page.grid.leave()
    await pilot.pause(0)


def holds(page: Any, path: str) -> str:
    """What the cell shows; in a list that cannot grow, what is half typed beside it."""
    shown = page.grid._show(path)
    return shown.half_typed or shown.text


def walked_in(text: str, paths: Iterable[str]) -> list[str]:
    """Which cells that text is pasted into: everything at once into one cell of those alike, in the
    long run each text into each."""
    left_out = ALIKE if text == EVERYTHING else set()
    return [path for path in paths if not set(path.split(".")) & left_out]


def meant(path: str, text: str) -> str:
    """What the cell at `path` then holds: the text on one line; between lap times stand blanks."""
    return one_line(text.replace(";", " ") if path == "lap_times" else text)


@each_text
async def test_every_cell_of_the_run_sheet(season_file: Path, drive: Drive, text: str) -> None:
    corners = {f"{corner}.{name}" for corner in CORNERS for name in CORNER_FIELDS}
    item = "items.Front bar"
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.damper")
        entity = sheet.desk.entity
        for path in (*(f"{c}.{name}" for c in CORNERS for name in ADJUSTERS), item):
            sheet.desk.keep_text(path, "3")  # a knob that holds a value stands on the sheet
        sheet.redraw()
        walked = set()
        for _ in sheet.parts:
            walked |= await fill(pilot, sheet, text)
            await pilot.press("tab")
        every = walked_in(text, [*corners, *SESSION_FIELDS, *BELONGS, "lap_times", item])
        assert walked >= set(every)
        assert sheet.desk.flush() == []
        await pilot.press("p", "r")
        for _ in sheet.parts:
            seen(pilot.app)
            for path in walked_in(text, sheet.grid.paths):
                assert holds(sheet, path) == meant(path, text)
            await pilot.press("tab")
    with Logbook.open(season_file, read_only=True) as logbook:
        kept = logbook.record(entity)
    for path in walked - {*BELONGS, "lap_times"}:
        value = kept.value(path)
        assert getattr(value, "typed", value) == one_line(text), path


@each_text
async def test_every_cell_of_every_record(season_file: Path, drive: Drive, text: str) -> None:
    write_book(season_file)
    ways = {"event": (("p",), ("E",)), "car": (("p",), ("V",)), "damper": (("b",), ("enter",))}
    ways |= {f: (("g", *("tab",) * bool(n)), ("enter",)) for n, f in enumerate(FORMS_OF_BOOK)}
    ways |= {form: (keys[:2], keys[2:]) for form, keys in STRIP_DOWN.items()}
    async with drive(season_file) as pilot:
        for form, (there, opens) in ways.items():
            await pilot.press(*there)
            before = pilot.app.screen
            twice = text != EVERYTHING or form == "event"
            for again in (False, True)[: 1 + twice]:
                await pilot.press(*opens)
                await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage))
                page = pilot.app.screen
                await until(pilot, lambda page=page: page.grid.paths)
                walked = set()
                for _ in FORMS[form]:
                    if not again:
                        walked |= await fill(pilot, page, text)
                    for path in walked_in(text, page.grid.paths):
                        assert holds(page, path) == one_line(text)
                    seen(pilot.app)
                    await pilot.press("tab")
                assert again or walked == set(walked_in(text, entries(form)))
                await pilot.press("escape")
                await until(pilot, lambda before=before: pilot.app.screen is before)
                seen(pilot.app)


# ── forms ───────────────────────────────────────────────────────────────────────────────────


async def _sheet(pilot: Pilot[None], file: Path) -> None:
    await run_sheet_at(pilot, "FL.camber")


async def _shed(pilot: Pilot[None], file: Path) -> None:
    await pilot.press("escape", "b")  # an item's cell takes letters
    await until(pilot, lambda: isinstance(pilot.app.screen, ShedPage) and pilot.app.screen.damper)


async def _board(pilot: Pilot[None], file: Path) -> None:
    while isinstance(pilot.app.screen, (Ask, DiscBoxList)):
        before = pilot.app.screen
        await pilot.press("escape")
        await until(pilot, lambda before=before: pilot.app.screen is not before)
    await pilot.press("escape", "p")  # from a record first
    await until(pilot, lambda: pilot.app.screen.query("#sessions"))


async def _conflicts(pilot: Pilot[None], file: Path) -> None:
    desk = pilot.app.desk  # type: ignore[attr-defined]
    desk.logbook.flush()
    with Logbook.open(file, author="Otto", device="other") as other:
        other.take_up(desk.entity)
        desk.logbook.write(patch("session", desk.entity, {"tyre_set": "[/a"}))
        other.write(patch("session", desk.entity, {"tyre_set": "[b"}), reason="[/ why")
    await pilot.press("!")
    await until(pilot, lambda: getattr(pilot.app.screen, "rows", ()))


async def _shelf(pilot: Pilot[None], file: Path) -> None:
    await pilot.press("k")
    await until(pilot, lambda: getattr(pilot.app.screen, "rows", ()))
    await pilot.press("down")


async def _jobs(pilot: Pilot[None], file: Path) -> None:
    await pilot.press("escape")  # a copy opened its record
    await _board(pilot, file)
    await pilot.press("o")
    await until(pilot, lambda: isinstance(pilot.app.screen, JobList))


async def _a_job(pilot: Pilot[None], file: Path) -> None:
    await pilot.press("escape")
    await until(pilot, lambda: not isinstance(pilot.app.screen, JobList))
    pilot.app.desk.logbook.write(put("job", {"words": "[/a", "who": "[b"}))  # type: ignore[attr-defined]
    await pilot.press("o")
    await until(pilot, lambda: getattr(pilot.app.screen, "rows", ()))
    seen(pilot.app)


async def _shed_again(pilot: Pilot[None], file: Path) -> None:
    await _board(pilot, file)
    await _shed(pilot, file)


async def _box(pilot: Pilot[None], file: Path) -> None:
    await _board(pilot, file)
    await _shed(pilot, file)
    await pilot.press("x")
    await until(pilot, lambda: isinstance(pilot.app.screen, DiscBoxList))


async def _strip_down(pilot: Pilot[None], file: Path) -> None:
    await _board(pilot, file)
    await _shed(pilot, file)
    serial = pilot.app.screen.damper.serial  # type: ignore[attr-defined]
    logbook = pilot.app.desk.logbook  # type: ignore[attr-defined]
    logbook.write(StripDowns(logbook).planned(serial, "[/ why"))
    await pilot.press("B")
    await until(pilot, lambda: isinstance(pilot.app.screen, StripDownSteps))


async def _a_step(pilot: Pilot[None], file: Path) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, StripDownSteps))
    await pilot.press("end")


async def _plans(pilot: Pilot[None], file: Path) -> None:
    await pilot.press("escape")
    await until(pilot, lambda: not isinstance(pilot.app.screen, StripDownSteps))
    await run_sheet_at(pilot, "FL.camber")
    await pilot.press("N")
    await until(pilot, lambda: isinstance(pilot.app.screen, PlanBoard))
    await pilot.press("n")
    await until(pilot, lambda: len(getattr(pilot.app.screen, "columns", ())) == 2)


async def _a_plan(pilot: Pilot[None], file: Path) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, PlanBoard))


WAYS: dict[str, tuple[Callable[[Pilot[None], Path], Any], str]] = {
    "note_questions": (_sheet, "a"),
    "reason_questions": (_sheet, "y"),
    "action_shelve": (_sheet, "K"),
    "action_item": (_sheet, "i"),
    "put_in": (_sheet, "I"),
    "move": (_sheet, "M"),
    "new_damper": (_shed, "n"),
    "copy_damper": (_shed, "equals_sign"),
    "new_build": (_shed, "B"),
    "ask": (_shed, "l"),
    "action_other": (_conflicts, "enter"),
    "action_version": (_conflicts, "1"),
    "action_take_off": (_shelf, "x"),
    "copy_car": (_board, "equals_sign"),
    "action_add": (_jobs, "a"),
    "action_edit": (_a_job, "e"),
    "import_rows": (_board, "i"),
    "ask_target": (_shed_again, "w"),
    "_move_parts": (_box, "n"),
    "action_count_box": (_box, "i"),
    "action_add_step": (_strip_down, "a"),
    "action_edit_step": (_a_step, "e"),
    "action_type": (_plans, "enter"),
    "action_rename": (_a_plan, "e"),
    "action_take_plan": (_a_plan, "t"),
}
"""The function that asks → the way to its page, and the key. A correction's reason, which is asked
by no key, is walked below, and so is the name of the second of two things; how a doubtful sheet is
looked at, which takes three words and keeps no other, in the tests of the shed, and whether a
strip-down is closed, which takes two, in its own."""


async def write(pilot: Pilot[None], text: str) -> dict[str, str]:
    """Paste into every field of the form that is open, in place of what stands there, and its name
    behind it; what the fields then hold: one line where there is one."""
    form = pilot.app.screen
    assert isinstance(form, Ask)
    for question in form.questions:
        field = form.query_one(f"#{question.name}")
        field.focus()
        assert isinstance(field, (Input, TextArea))
        field.clear()
        await paste(pilot, f"{text} {form.heading} {question.name}")
        await settled(pilot)  # the next field takes the keys by no key
    line = " ".join(clean(text).replace("\t", " ").split("\n"))
    heading = clean(form.heading)
    return {q.name: f"{clean(text) if q.many else line} {heading} {q.name}" for q in form.questions}


async def opened(pilot: Pilot[None], key: str) -> Ask:
    """The form that the key opens."""
    await pilot.press(key)
    await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
    form = pilot.app.screen
    assert isinstance(form, Ask)
    return form


def test_every_form_is_walked() -> None:
    assert {*WAYS, "ask_why", "_look_at", "_ask_two_things", "_ask_close"} == set(asked_in_source())
    assert made_in_source() == {
        ("ask.py", "Line"),
        ("ask.py", "Lines"),
        ("board.py", "Line"),
        ("shelf.py", "Line"),
        ("asking.py", "Ask"),
        ("pages.py", "Ask"),
        ("sheet.py", "Grid"),
        ("record.py", "Grid"),
    }


@each_text
async def test_every_field_of_every_form(season_file: Path, drive: Drive, text: str) -> None:
    """Written, left by Escape and opened again (in the plain run the first form), kept."""
    asked = asked_in_source()
    typed = []
    async with drive(season_file) as pilot:
        for asks, (go, key) in WAYS.items():
            await go(pilot, season_file)
            page = pilot.app.screen
            form = await opened(pilot, key)
            holds = await write(pilot, text)
            assert set(holds) == asked[asks]
            assert form.typed() == holds
            if text != EVERYTHING or asks == "note_questions":
                await pilot.press("escape")
                await until(pilot, lambda page=page: pilot.app.screen is page)
                seen(pilot.app)
                form = await opened(pilot, key)
                assert form.typed() == holds, asks
                seen(pilot.app)
            why = form.query_one("#refused")
            await pilot.press("ctrl+s")
            await until(
                pilot, lambda form=form, why=why: pilot.app.screen is not form or why.display
            )
            await pilot.pause(0)
            seen(pilot.app)
            if pilot.app.screen is form:  # its answers are refused, and stay in it
                assert form.typed() == holds
                await pilot.press("escape")
                await until(pilot, lambda form=form: pilot.app.screen is not form)
            typed += holds.values()
        pilot.app.desk.flush()
        kept = words_in(season_file)
        lost = [text[-60:] for text in typed if not any(squeezed(text) in one for one in kept)]
        assert not lost


async def test_what_a_column_of_a_file_is(season_file: Path, drive: Drive, tmp_path: Path) -> None:
    """The form names the columns as the file does, and takes any words for an answer."""
    heads = ["[/", "[red]v[/red]", "[@click=app.quit]x", TEXTS["right to left"]]
    rows = (f"{p};{v};{p + v};bump" for p in (0, 5) for v in (13, 25, 50, 100, 200))
    file = tmp_path / "[b] 漢字.csv"
    file.write_text("\n".join([";".join(heads), *rows]), "utf-8")
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.camber")
        await _shed(pilot, season_file)
        await opened(pilot, "l")
        pilot.app.focused.value = str(file)  # type: ignore[union-attr]
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "Columns of" in seen(pilot.app))
        form = pilot.app.screen
        for head in heads[:3]:
            assert head in seen(pilot.app)
        holds = await write(pilot, EVERYTHING)
        assert len(holds) == 4
        await pilot.press("ctrl+s")
        await until(pilot, lambda: form.query_one("#refused").display)
        assert pilot.app.screen is form, "it takes no such answer, and keeps the words"
        assert isinstance(form, Ask)
        assert form.typed() == holds
        seen(pilot.app)


async def test_the_name_of_the_second_of_two_things(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.camber")
        mine = pilot.app.desk.logbook
        with Logbook.open(season_file, author="Otto [/", device="other") as other:
            for logbook in (mine, other):
                logbook.write(put("damper", {"serial": "[b]NEW"}))
        await pilot.press("!")
        await until(pilot, lambda: getattr(pilot.app.screen, "rows", ()))
        page = pilot.app.screen
        await opened(pilot, "enter")
        holds = await write(pilot, EVERYTHING)
        assert set(holds) == asked_in_source()["_ask_two_things"]
        await pilot.press("ctrl+s")
        await until(pilot, lambda: pilot.app.screen is page)
        seen(pilot.app)
        pilot.app.desk.flush()
        kept = words_in(season_file)
        assert all(any(squeezed(text) in one for one in kept) for text in holds.values())


async def test_the_reason_of_a_correction(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trackside.crew.moments.today", lambda: LAST_DAY + timedelta(days=366))
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        await pilot.press("9", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        holds = await write(pilot, EVERYTHING)
        assert set(holds) == asked_in_source()["ask_why"]
        await pilot.press("enter")
        await until(pilot, lambda: pilot.app.screen is sheet)
        sheet.desk.flush()
        [newest, *_] = sheet.desk.logbook.history(sheet.desk.entity, "FL.camber")
        assert squeezed(newest.reason) == squeezed(holds["why"])
        sheet.grid.go("FL.camber")
        await pilot.press("l")
        await pilot.pause()
        assert newest.reason[:20] in seen(pilot.app)


@each_text
async def test_every_search_line(season_file: Path, drive: Drive, text: str) -> None:
    async with drive(season_file) as pilot:
        for keys in (("p", "slash"), ("k",)):
            await pilot.press(*keys)
            await until(pilot, lambda: isinstance(pilot.app.focused, Input))
            line = pilot.app.focused
            assert isinstance(line, Input)
            await paste(pilot, text)
            assert squeezed(line.value) == squeezed(clean(text))
            await pilot.press("escape")
            await pilot.pause()
            assert pilot.app.focused is not line
            assert "logbook is empty" not in screen_text(pilot.app)
            seen(pilot.app)


async def test_keys_right_behind_the_slash_are_no_commands(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        for keys in (("p",), ("k", "escape")):
            await pilot.press(*keys)
            page = pilot.app.screen
            for sign in "/nct":
                pilot.app.post_message(events.Key("slash" if sign == "/" else sign, sign))
            await pilot.pause()
            assert pilot.app.screen is page
            assert isinstance(pilot.app.focused, Input)


async def test_an_emoji_of_several_signs_is_typed_by_keys(season_file: Path, drive: Drive) -> None:
    async def type_it() -> None:
        for sign in "👩\u200d🚒":
            pilot.app.post_message(events.Key(f"key_{ord(sign)}", sign))
        await settled(pilot)  # they are handed on in turn

    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.bump_stop")
        await pilot.press("enter", "delete")
        await type_it()
        assert sheet.grid.buffer == "👩\u200d🚒"
        await pilot.press("enter", "enter")
        sheet.grid.go("FL.spring_rate")
        form = await opened(pilot, "a")
        await type_it()
        await pilot.press("tab")
        await type_it()
        assert [form.typed()[name] for name in ("words", "phase")] == ["👩\u200d🚒"] * 2


# ── afterwards ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("size", [(80, 24), pytest.param((120, 40), marks=pytest.mark.long)])
@each_text
async def test_every_page_tells_it_as_words(
    season_file: Path, drive: Drive, size: tuple[int, int], text: str
) -> None:
    begins = one_line(text.replace("\ud800", ""))[:6].strip()
    write_everywhere(season_file, text, "last-1")  # on which the walk is
    async with drive(season_file, size) as pilot:
        async for name in walk(pilot, among=TOLD):
            assert begins in seen(pilot.app), name
        if text != EVERYTHING:
            await pilot.press("escape")
            async for _ in walk(pilot, among=FIGURES):
                seen(pilot.app)
