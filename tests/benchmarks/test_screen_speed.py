"""How fast the screens are, in a real terminal: start to first paint, key to paint, key to curve.

Ratios to an empty Textual app in the same run; medians. Run with `pytest -m benchmark -s`.
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.terminal.terminal import KEYS, Terminal
from trackside.logbook import Logbook, put

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


def _starts(season: Path, home: Path) -> float:
    """How many times as long as an empty app it takes to the first paint with sessions."""
    ours = [sys.executable, "-m", "trackside", "--log", str(season)]
    empty = [sys.executable, "-c", EMPTY_APP]
    times: dict[str, list[float]] = {"ours": [], "empty": []}
    for turn in range(STARTS + 1):
        a = _first_paint(ours, b"Averholme", home)
        b = _first_paint(empty, b"EMPTY APP", home)
        if turn:  # the first turn warms the disk and the byte code
            times["ours"].append(a)
            times["empty"].append(b)
    mine, base = (statistics.median(times[name]) for name in ("ours", "empty"))
    print(f"\nfirst paint with sessions: {mine * 1e3:.0f} ms; empty app {base * 1e3:.0f} ms; "
          f"{mine / base:.2f} times")  # fmt: skip
    return mine / base


def test_start_to_first_paint(season: Path, tmp_path: Path) -> None:
    assert _starts(season, tmp_path) < 1.5


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


def _keys(terminal: Terminal) -> dict[str, list[float]]:
    """Milliseconds from a key to its cell, for moves and clicks, and to the curve."""
    terminal.send("r")
    terminal.wait_for("since")
    terminal.send("n")
    terminal.wait_for("in an event that was over")  # of today, where nothing asks for a reason
    terminal.send("down", "down", "down")
    time.sleep(1)
    terminal.drawing = False  # the program must not wait for a slow emulator
    found: dict[str, list[float]] = {"move": [], "click": [], "curve": []}
    for turn in range(40):
        found["move"].append(1e3 * _press(terminal, "down" if turn % 2 else "up")[0])
    for turn in range(40):
        first, last = _press(terminal, "h" if turn % 2 else "s")
        found["click"].append(1e3 * first)
        found["curve"].append(1e3 * last)
    for name, times in found.items():
        print(f"key to {name}: {_told(times)}")
    return found


def _told(times: list[float]) -> str:
    return f"median {statistics.median(times):.1f} ms, 95 % within {_most(times):.1f} ms"


def _most(times: list[float]) -> float:
    """The 95th centile."""
    return statistics.quantiles(times, n=20)[-1]


def test_key_to_paint(season: Path, tmp_path: Path) -> None:
    """A cell paints within a frame and the curve follows within 80 ms at 120×40."""
    with _running(season, tmp_path) as terminal:
        found = _keys(terminal)
        assert statistics.median(found["move"] + found["click"]) < 16
        assert _most(found["move"] + found["click"]) < 33
        assert statistics.median(found["curve"]) < 80


@pytest.fixture(scope="module")
def ten_seasons(samples_log: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample season in front of 20,000 older sessions of the same car, ten an event on
    a set of tyres."""
    path = Path(shutil.copy(samples_log, tmp_path_factory.mktemp("ten") / "season.trackside"))
    with Logbook.open(path, author="Olle", device="d") as logbook:
        body = dict(logbook.state(logbook.session("last")) or {})
        for hundred in range(200):
            writes = []
            for number in range(10 * hundred, 10 * hundred + 10):
                day = f"{2000 + number // 100}-{number // 10 % 10 + 1:02d}-{number % 10 + 10}"
                event = put("event", {"venue": f"Venue {number % 97}", "date": day})
                own = {"event": event.entity, "tyre_set": f"S{number}"}
                sessions = [
                    put(
                        "session",
                        body | own | {"number": str(k + 1), "start": f"{day} {k + 8:02d}:00"},
                    )
                    for k in range(10)
                ]
                writes += [event, *sessions]
            logbook.write(*writes)
    return path


def test_ten_seasons(ten_seasons: Path, tmp_path: Path) -> None:
    """With 20,000 sessions the lists paint within 60 ms, and keys as with the samples."""
    with Logbook.open(ten_seasons, author="Olle", device="d", read_only=True) as logbook:
        count = len(logbook.session_lines())
    assert _starts(ten_seasons, tmp_path) < 1.5
    with _running(ten_seasons, tmp_path) as terminal:
        time.sleep(2)
        terminal.drawing = False
        lists = {}
        for name, key, words in (
            ("trend", "t", b"FL rebound at"),
            ("pit board", "p", f"{count} runs".encode()),
            ("shelf", "k", b"Averholme, dry race"),
        ):
            times = []
            for _ in range(5):
                times.append(1e3 * _to_words(terminal, key, words))
                if name == "shelf":  # its search line has the keys
                    _press(terminal, "escape")
                _press(terminal, "b")
            lists[name] = statistics.median(times)
            print(f"{name}: {lists[name]:.0f} ms to its words")
        _press(terminal, "p")
        steps = [1e3 * _press(terminal, key)[0] for key in ("pagedown", "end", "up", "home") * 5]
        print(f"a step in the pit board: {_told(steps)}")
        terminal.drawing = True
        found = _keys(terminal)
        used = _memory(terminal.process.pid)
        print(f"memory in use: {used:.0f} MB")
        assert all(spent < 60 for spent in lists.values())
        assert _most(steps) < 60
        assert statistics.median(found["move"] + found["click"]) < 16
        assert _most(found["move"] + found["click"]) < 33
        assert used < 120


@contextmanager
def _running(season: Path, home: Path) -> Iterator[Terminal]:
    # pandas, which only the tests bring, would be taken in by sqlite-utils where it is found
    program = (
        "import sys; sys.modules['pandas'] = None; from trackside.__main__ import main; "
        f"sys.argv = ['trackside', '--log', {str(season)!r}]; sys.exit(main())"
    )
    terminal = Terminal([sys.executable, "-c", program], (120, 40), home)
    try:
        terminal.wait_for("Averholme")
        yield terminal
    finally:
        terminal.close()


def _to_words(terminal: Terminal, key: str, words: bytes) -> float:
    """Seconds from a key to these words on the screen."""
    _quiet(terminal)
    terminal.raw.clear()
    start = time.perf_counter()
    os.write(terminal.master, KEYS.get(key, key).encode())
    return _until(terminal, words, start)


def _memory(process: int) -> float:
    """What a process holds in memory (MB)."""
    status = Path(f"/proc/{process}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024
