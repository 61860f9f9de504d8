"""Words typed in one go, in a real terminal: they land where words belong, and run no command."""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from tests.terminal.terminal import Terminal
from tests.tui.fields import revisions_in
from trackside.logbook import Logbook, patch


@pytest.fixture
def season(samples_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own, whose last event goes on today: no correction is
    asked for its reason."""
    path = Path(shutil.copy(samples_log, tmp_path / "season.trackside"))
    with Logbook.open(path) as logbook:
        today = f"{date.today().isoformat()} 00:01"
        logbook.write(patch("session", logbook.session("last"), {"start": today}))
    return path


@pytest.fixture
def terminal(season: Path, tmp_path: Path) -> Iterator[Terminal]:
    one = Terminal([sys.executable, "-m", "trackside", "--log", str(season)], (80, 24), tmp_path)
    yield one
    one.close()


def test_words_behind_the_slash_are_looked_for(terminal: Terminal) -> None:
    terminal.wait_for("Averholme")
    os.write(terminal.master, b"/Kiln Lane hs")
    terminal.wait_for("Kiln Lane hs")


def test_words_behind_a_note_are_the_drivers(terminal: Terminal) -> None:
    terminal.wait_for("Averholme")
    os.write(terminal.master, b"\r")
    terminal.wait_for("RUN SHEET")
    terminal.wait_for("since")
    os.write(terminal.master, b"a12 nose lifts, 1 click h")
    screen = terminal.wait_for("12 nose lifts, 1 click h")
    assert "Driver's note" in screen
    assert "FL Bump · 10 clicks" in screen  # the cell beneath took nothing


def test_commands_pressed_before_a_page_came_up_do_nothing_there(
    terminal: Terminal, season: Path
) -> None:
    terminal.wait_for("Averholme")
    terminal.wait_for("24 runs")
    before = revisions_in(season)
    os.write(terminal.master, b"rns12P")
    screen = terminal.wait_for("not taken")
    assert "RUN SHEET" in screen
    assert revisions_in(season) == before


def test_a_venue_behind_the_key_that_begins_the_event(terminal: Terminal, season: Path) -> None:
    terminal.wait_for("24 runs")
    before = revisions_in(season)
    os.write(terminal.master, b"epvdamp quarry")
    terminal.wait_for("pvdamp quarry")
    assert revisions_in(season) == before + 1  # the event
    assert "RECORD" in terminal.text()


def test_words_in_the_damper_record_are_text(terminal: Terminal, season: Path) -> None:
    terminal.wait_for("24 runs")
    terminal.send("b")
    terminal.wait_for("DAMPER SHED")
    terminal.wait_for("FP-0611")
    terminal.send("enter")
    terminal.wait_for("DAMPER RECORD")
    terminal.wait_for("Piston ")
    terminal.send(*["down"] * 6)
    before = revisions_in(season)
    for words in (b"digressive", b"qualifying", b"P4 n!q?"):
        os.write(terminal.master, words)
        terminal.wait_for(words.decode())
        assert "DAMPER RECORD" in terminal.wait_for("As it was")
        terminal.send("escape")
        terminal.wait_for("letters Type")
    assert revisions_in(season) == before
    terminal.send("escape")
    terminal.wait_for("DAMPER SHED")


def test_words_in_the_session_tab_are_text(
    terminal: Terminal, season: Path, tmp_path: Path
) -> None:
    terminal.wait_for("24 runs")
    terminal.send("r")
    terminal.wait_for("since")
    terminal.send("tab", "tab", "tab", "tab")
    terminal.wait_for("letters Find")  # on the kind of session
    before = revisions_in(season)
    os.write(terminal.master, b"qualifying")
    terminal.wait_for("▸qualifying")
    os.write(terminal.master, b"\t")  # left without Enter: held, and no value
    time.sleep(0.5)
    assert revisions_in(season) == before
    for _ in range(4):
        terminal.send("tab")
    terminal.wait_for("half typed: “qualifying”")
    assert revisions_in(season) == before
    os.write(terminal.master, b"\r\r")
    terminal.wait_for("Qualifying")
    assert revisions_in(season) == before + 1
    assert not list(tmp_path.rglob("*.html")), "nothing is printed"
    assert terminal.process.poll() is None
