"""The main job typed through the real program in a terminal, and the ways it can be cut off."""

from __future__ import annotations

import shutil
import signal
import sys
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from tests.terminal.terminal import Terminal
from trackside.logbook import Logbook, patch

pytestmark = pytest.mark.terminal

Open = type[Terminal]


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
def terminals(tmp_path: Path, season: Path) -> Iterator[object]:
    """Opens the program on the season; closes every terminal at the end."""
    opened: list[Terminal] = []

    def open_one(size: tuple[int, int] = (80, 24)) -> Terminal:
        command = [sys.executable, "-m", "trackside", "--log", str(season)]
        terminal = Terminal(command, size, tmp_path)
        opened.append(terminal)
        return terminal

    yield open_one
    for terminal in opened:
        terminal.close()


def newest(season: Path) -> object:
    with Logbook.open(season, read_only=True) as logbook:
        return logbook.record(logbook.session("last"))


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_log_a_session_from_board_to_debrief_and_find_it_again(
    terminals, season: Path, size: tuple[int, int]
) -> None:
    terminal = terminals(size)
    terminal.wait_for("PIT BOARD")
    terminal.wait_for("Averholme")
    before = newest(season)
    terminal.send("r")
    terminal.wait_for("RUN SHEET")
    terminal.wait_for("since")  # the panel stands: the sheets are fitted
    terminal.send("n")
    terminal.wait_for("new session with the same set-up")
    terminal.send("down", "h", "h")
    terminal.wait_for("clicks of 20 from full hard")
    terminal.send("a")
    terminal.wait_for("Driver's note")
    terminal.send(*"nose stays down [/ [b", "ctrl+s")
    terminal.wait_for("note saved")
    terminal.send("d")
    terminal.wait_for("DEBRIEF")
    terminal.wait_for("harder")
    terminal.send("q")
    assert terminal.wait_for_end() == 0

    session = newest(season)
    assert session.FL.rebound_bleed.si == before.FL.rebound_bleed.si - 2
    again = terminals(size)
    again.wait_for("PIT BOARD")
    again.wait_for("race 2")  # a driver who spoke of it has run it
    again.send("enter")
    again.wait_for("RUN SHEET")
    again.wait_for(f"{session.FL.rebound_bleed.si:g}")
    with Logbook.open(season, read_only=True) as logbook:
        notes = logbook.notes(logbook.session("last"))
    assert [body["words"] for _, body in notes] == ["nose stays down [/ [b"]
    again.send("q")
    assert again.wait_for_end() == 0


def _half_type(terminal: Terminal) -> None:
    """Stand in the front left gas pressure with a value half typed."""
    terminal.wait_for("PIT BOARD")
    terminal.wait_for("Averholme")
    terminal.send("r")
    terminal.wait_for("RUN SHEET")
    terminal.wait_for("since")
    for _ in range(12):
        if "FL Gas ·" in terminal.text():
            break
        terminal.send("down")
        time.sleep(0.2)
    terminal.wait_for("FL Gas ·")
    terminal.send(*"13,7")
    terminal.wait_for("13.70 bar")


def test_sigterm_keeps_what_is_half_typed_and_restores_the_terminal(terminals, season) -> None:
    terminal = terminals()
    _half_type(terminal)
    terminal.process.send_signal(signal.SIGTERM)
    assert terminal.wait_for_end() == 143
    time.sleep(0.3)
    assert b"\x1b[?1049l" in terminal.raw  # the alternate screen is left
    assert newest(season).FL.gas_pressure.typed == "13,7"


def test_a_closed_terminal_keeps_what_is_half_typed(terminals, season) -> None:
    terminal = terminals()
    _half_type(terminal)
    terminal.hang_up()
    terminal.wait_for_end(15)
    assert newest(season).FL.gas_pressure.typed == "13,7"


def test_kill_loses_nothing_that_was_left(terminals, season) -> None:
    terminal = terminals()
    _half_type(terminal)
    terminal.send("enter")
    terminal.wait_for("FL Gas at")
    time.sleep(0.5)
    assert "•" not in terminal.text()  # kept
    terminal.process.send_signal(signal.SIGKILL)
    terminal.wait_for_end()
    assert newest(season).FL.gas_pressure.typed == "13,7"
