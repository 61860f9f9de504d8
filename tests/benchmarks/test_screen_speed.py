"""How fast the screens are, in a real terminal: start to first paint, key to paint, key to curve.

Ratios to an empty Textual app in the same run; medians. Run with `pytest -m benchmark -s`.
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import time
from pathlib import Path

import pytest

from tests.terminal.terminal import KEYS, Terminal

pytestmark = pytest.mark.benchmark

EMPTY_APP = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("EMPTY APP")
Empty().run()
"""
STARTS = 9


@pytest.fixture
def season(samples_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own."""
    return Path(shutil.copy(samples_log, tmp_path / "season.trackside"))


def _until(terminal: Terminal, words: bytes, start: float) -> float:
    while words not in terminal.raw:
        if time.perf_counter() - start > 30:
            raise AssertionError(f"{words!r} never appeared")
        time.sleep(0.0005)
    return time.perf_counter() - start


def _first_paint(command: list[str], words: bytes, home: Path) -> float:
    start = time.perf_counter()
    terminal = Terminal(command, (120, 40), home)
    try:
        return _until(terminal, words, start)
    finally:
        terminal.close()


def test_start_to_first_paint(season: Path, tmp_path: Path) -> None:
    ours = [sys.executable, "-m", "trackside", "--log", str(season)]
    empty = [sys.executable, "-c", EMPTY_APP]
    times: dict[str, list[float]] = {"ours": [], "empty": []}
    for turn in range(STARTS + 1):
        a = _first_paint(ours, b"Averholme", tmp_path)
        b = _first_paint(empty, b"EMPTY APP", tmp_path)
        if turn:  # the first turn warms the disk and the byte code
            times["ours"].append(a)
            times["empty"].append(b)
    mine, base = (statistics.median(times[name]) for name in ("ours", "empty"))
    print(f"\nfirst paint with sessions: {mine * 1e3:.0f} ms; empty app {base * 1e3:.0f} ms; "
          f"{mine / base:.2f} times")  # fmt: skip
    assert mine / base < 1.6


def _quiet(terminal: Terminal, seconds: float = 0.35) -> None:
    """Wait until nothing has been drawn for a while."""
    while time.perf_counter() - terminal.last_output < seconds:
        time.sleep(0.01)


def _press(terminal: Terminal, key: str) -> tuple[float, float]:
    """Seconds from a key to the first output, and to the last before it falls quiet."""
    _quiet(terminal)
    seen = len(terminal.raw)
    start = time.perf_counter()
    os.write(terminal.master, KEYS.get(key, key).encode())
    while len(terminal.raw) == seen:
        time.sleep(0.0003)
        assert time.perf_counter() - start < 10
    first = terminal.last_output - start
    _quiet(terminal, 0.25)
    return first, terminal.last_output - start


def test_key_to_paint(season: Path, tmp_path: Path) -> None:
    """A cell paints in under 30 ms and the curve follows within 80 ms at 120×40."""
    terminal = Terminal(
        [sys.executable, "-m", "trackside", "--log", str(season)], (120, 40), tmp_path
    )
    try:
        terminal.wait_for("Averholme")
        terminal.send("r")
        terminal.wait_for("since")
        terminal.send("down", "down", "down")
        time.sleep(1)
        terminal.drawing = False  # the program must not wait for a slow emulator
        moves, clicks, curves = [], [], []
        for turn in range(20):
            moves.append(_press(terminal, "down" if turn % 2 else "up")[0])
        for turn in range(20):
            first, last = _press(terminal, "h" if turn % 2 else "s")
            clicks.append(first)
            curves.append(last)
        move, click, curve = (1e3 * statistics.median(t) for t in (moves, clicks, curves))
        print(f"\nkey to cell: move {move:.1f} ms, click {click:.1f} ms; curve {curve:.1f} ms")
        assert move < 30
        assert click < 30
        assert curve < 80
    finally:
        terminal.close()
