"""The journeys of the product paper, keys counted, at every size; text that is typed does not
count."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static, TextArea

from tests.tui.conftest import Drive, screen_text, until
from tests.tui.walking import drawn
from trackside.analysis.changes import changes
from trackside.analysis.recall import outing_before
from trackside.crew.walk_round import WALK_FIELDS
from trackside.logbook import Logbook, patch
from trackside.preferences import WALK_PARTS
from trackside.tui.app import Trackside
from trackside.tui.screens.board import Board
from trackside.tui.screens.bring import Bring
from trackside.tui.screens.debrief import DebriefPage
from trackside.tui.screens.sheet import Sheet

SIZES = [(60, 20), (80, 24), (120, 40), (200, 60)]
every_size = pytest.mark.parametrize("size", SIZES, ids=str)
Size = tuple[int, int]
FRONT_REBOUND = ("FL.rebound_bleed", "FR.rebound_bleed")


class Fingers:
    """Presses keys and counts them; text is typed but not counted."""

    def __init__(self, pilot: Pilot[None]) -> None:
        self.pilot = pilot
        self.pressed = 0

    @property
    def app(self) -> Trackside:
        """What the fingers lie on."""
        assert isinstance(self.pilot.app, Trackside)
        return self.pilot.app

    async def press(self, *keys: str) -> None:
        self.pressed += len(keys)
        await self.pilot.press(*keys)
        await drawn(self.pilot)

    async def type(self, text: str) -> None:
        await self.pilot.press(*text)
        await self.pilot.pause()


def _sheet(hands: Fingers) -> Sheet:
    page = hands.app.screen
    assert isinstance(page, Sheet)
    return page


@every_size
async def test_new_session_front_rebound_two_harder_why_done(
    season_file: Path, drive: Drive, size: Size
) -> None:
    async with drive(season_file, size) as pilot:
        hands = Fingers(pilot)
        desk = hands.app.desk
        assert isinstance(hands.app.screen, Board), "from the start of the program"
        last, before = desk.entity, [desk.session.si(path) for path in FRONT_REBOUND]
        await hands.press("n")
        sheet = _sheet(hands)
        while sheet.grid.path != "FL.rebound_bleed":
            await hands.press("down")
        await hands.press("H", "H")
        await hands.press("y")
        await until(pilot, lambda: isinstance(hands.app.focused, TextArea))
        await hands.type("nose lifts on exit")
        await hands.press("ctrl+s")
        assert hands.app.screen is sheet
        await until(pilot, lambda: all(desk.is_kept(path) for path in FRONT_REBOUND))
        assert hands.pressed <= 15
        entity = desk.entity
        assert entity != last
        after = [desk.session.si(path) for path in FRONT_REBOUND]
        assert [abs(a - b) for a, b in zip(after, before, strict=True)] == [2, 2]
        assert desk.session.si("FL.hot_pressure") is None, "what was measured is not carried over"
    with Logbook.open(season_file, read_only=True) as logbook:
        kept = logbook.record(entity)
        assert [kept.si(path) for path in FRONT_REBOUND] == after  # type: ignore[union-attr]
        (reason,) = [body for _, body in logbook.changes(entity)]
        assert reason["reason"] == "nose lifts on exit"


@every_size
async def test_walk_round(season_file: Path, drive: Drive, size: Size) -> None:
    """One key a value, and the one that begins the round."""
    async with drive(season_file, size) as pilot:
        await pilot.press("r", "n")
        await drawn(pilot)
        hands = Fingers(pilot)
        sheet = _sheet(hands)
        await hands.press("w")
        values = 0
        names = [WALK_FIELDS[part] for part in WALK_PARTS[:4]]
        for corner in sheet.desk.preferences.walk_round:
            for name in names:
                assert sheet.grid.path == f"{corner}.{name}"
                await hands.type("1.9" if name == "hot_pressure" else str(70 + values))
                await hands.press("enter")
                values += 1
        assert values == 16
        assert hands.pressed <= 1 + values
        order = iter(range(70, 70 + values))
        for corner in sheet.desk.preferences.walk_round:
            for name in names:
                typed = next(order)
                is_hot = name == "hot_pressure"
                wanted = 1.9e5 if is_hot else typed
                assert sheet.desk.session.si(f"{corner}.{name}") == pytest.approx(wanted)


@every_size
async def test_the_driver_sees_the_clearest_change_at_once_and_the_next_below(
    season_file: Path, drive: Drive, size: Size
) -> None:
    """The clearest is the largest share of its own band; the next two are with the rest, after
    what to feel and what was said."""
    with Logbook.open(season_file, author="tester") as logbook:
        entity = logbook.session_lines(limit=1)[0].entity
        four = {"typed": "4", "unit": "", "si": 4.0}
        turned = {f"{corner}.bump_bleed": four for corner in ("FL", "RL", "RR")}
        logbook.write(patch("session", entity, turned))
    async with drive(season_file, size) as pilot:
        hands = Fingers(pilot)
        await hands.press("d")
        page = hands.app.screen
        assert isinstance(page, DebriefPage)
        await until(pilot, lambda: page.sections)
        await drawn(pilot)
        desk = page.desk
        earlier = desk.logbook.record(outing_before(desk.logbook, desk.entity))
        found = changes(earlier, desk.session, desk.shed, desk.preferences.reference_speeds).forces
        shares = [np.abs(f.step.change) / ((f.step.high - f.step.low) / 2) for f in found]
        order = sorted(range(len(found)), key=lambda n: -shares[n].max())[:3]
        clearest = [
            (f"{found[n].corner} {found[n].direction}",
             abs(round(found[n].step.change[np.argmax(shares[n])])))
            for n in order
        ]  # fmt: skip
        shown = screen_text(hands.app)
        for words in ("FL bump: 6 clicks harder", "rear bump: 7 clicks harder"):
            assert words in shown
        assert hands.pressed == 1
        seen = _newtons(shown)
        while len(seen) < 3 and hands.pressed < (6 if size[1] < 24 else 4):
            await hands.press("pagedown")
            await pilot.pause()
            seen = list(dict.fromkeys(seen + _newtons(screen_text(hands.app))))
        assert seen[: len(clearest)] == clearest


def _newtons(text: str) -> list[tuple[str, int]]:
    """The force changes that the debrief shows in large letters: of what, and in N."""
    return [(of, int(n)) for of, n in re.findall(r"▸ ([FR][LR] \w+): [+−](\d+) N \(", text)]


@every_size
async def test_last_years_winner_here_comes_back(
    season_file: Path, drive: Drive, size: Size
) -> None:
    async with drive(season_file, size) as pilot:
        hands = Fingers(pilot)
        desk = hands.app.desk
        desk.new_session()
        planned, before = desk.entity, desk.logbook.state(desk.entity)
        assert isinstance(hands.app.screen, Board)
        hands.app.draw_again()  # as on any way back to the board: its cursor is on that session
        await pilot.pause()
        await hands.press("k")
        await until(pilot, lambda: isinstance(hands.app.focused, Input))
        await hands.type("winner")
        await drawn(pilot)
        assert [row.title for row in hands.app.screen.rows] == ["Averholme, dry race"]  # type: ignore[attr-defined]
        await hands.press("enter", "enter")
        await until(pilot, lambda: isinstance(hands.app.screen, Bring) and hands.app.screen.plan)
        await pilot.pause()
        bring = hands.app.screen
        assert isinstance(bring, Bring)
        text = str(bring.query_one("#plan", Static).content)
        assert text.index("What differs") < text.index("Same curve") < text.index("Overwritten")
        assert "FP-0619 instead of FP-0612" in text
        assert desk.logbook.state(planned) == before, "nothing is written before it is agreed"
        await hands.press("enter")
        await until(pilot, lambda: isinstance(hands.app.screen, Sheet))
        assert hands.pressed <= 8
        assert desk.entity == planned
        assert desk.session.si("FL.rebound_bleed") == 8
        assert desk.session.corner("FR").damper == "FP-0619"
        assert bring.plan is not None
        for step in bring.plan.translations:
            assert desk.session.si(f"{step.corner}.{step.adjuster}") == step.now
        entry = desk.logbook.history(planned)[0]
        assert "brought back: Averholme, dry race" in entry.reason
        await pilot.press("u", "u")
        await pilot.pause()
        assert desk.logbook.state(planned) == before


@every_size
async def test_a_note_begins_in_two_and_what_a_click_is_worth_shows_in_one(
    season_file: Path, drive: Drive, size: Size
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("r")
        await drawn(pilot)
        hands = Fingers(pilot)
        await hands.press("a")
        await until(pilot, lambda: isinstance(hands.app.focused, TextArea))
        assert hands.pressed <= 2
        await pilot.press("escape")
        hands = Fingers(pilot)
        await hands.press("c")
        assert hands.app.page_name == "clicks"
        assert "1 harder" in screen_text(hands.app)
        assert hands.pressed <= 1
