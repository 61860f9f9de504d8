"""Random bursts of keys, clicks, pastes and resizes at the real program, in a real terminal.

What it must never bring about: a traceback on the screen, an end, a screen that no longer answers,
a terminal left in another state than it was found in, a logbook that does not verify. What fails
in the program and is survived is counted from its log. `python -m tests.terminal.fuzz 100000 20`
plays long, from seed 20, and prints what it saw.
"""

from __future__ import annotations

import fcntl
import os
import random
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from tests.terminal.terminal import KEYS, Terminal
from trackside.crew.error_log import NAME
from trackside.logbook import Logbook

PAGES = "prrrrctdkb?"
"""The keys of the pages; the run sheet is where a hand is most of the time."""
MOVES = [KEYS[name] for name in KEYS if not name.startswith("ctrl")]
COMMANDS = [
    *"nevEV/hsHSwayKixo[],.uUBlJCLgmz",
    "\x10",
    "\x13",
    "\x15",
    "\x1b",
    "\x1b",
    "\r",
    "\x1bOQ",
]
TYPED = [*"0123456789,.-+ b[]/é漢", "\x7f"]
FREEZE = 1.0
"""Seconds that one answer took, and took of the processor, above which the screen was frozen. The
processor alone may count what threads did on another core; the clock alone, other work."""
ANSWERS_IN = 30.0
"""Seconds after which a screen that paints nothing is taken for dead: far above any limit of the
program's own, since other work may have the machine."""


@dataclass
class Seen:
    """What a run did and saw; times in seconds."""

    keys: int = 0
    clicks: int = 0
    sizes: int = 0
    slowest: float = 0.0
    slow: int = 0
    """Answers that took more than a second."""
    busiest: float = 0.0
    """Most seconds of the processor that the program used for an answer: what is left of a slow one
    is the wait for other work on the machine."""
    frozen: int = 0
    """Answers that took more than `FREEZE` seconds, by the clock and of the processor."""
    faults: list[str] = field(default_factory=list)
    """Last line of each fault that was survived, and where it was raised."""

    @property
    def survived(self) -> int:
        """How many faults were survived."""
        return len(self.faults)

    def __str__(self) -> str:
        return (
            f"{self.keys} keys, {self.clicks} clicks, {self.sizes} sizes; slowest answer "
            f"{self.slowest:.2f} s, {self.slow} over 1 s, {self.busiest:.2f} s of the processor at "
            f"most; {self.frozen} freezes, {self.survived} faults survived"
        )

    def add(self, more: Seen) -> None:
        """What another run did and saw."""
        for name in ("keys", "clicks", "sizes", "slow", "frozen", "faults"):
            setattr(self, name, getattr(self, name) + getattr(more, name))
        self.slowest = max(self.slowest, more.slowest)
        self.busiest = max(self.busiest, more.busiest)


def resize(terminal: Terminal, width: int, height: int) -> None:
    """Give the terminal another size, as a window that is drawn larger or smaller."""
    size = struct.pack("HHHH", height, width, 0, 0)
    fcntl.ioctl(terminal.master, termios.TIOCSWINSZ, size)
    os.kill(terminal.process.pid, signal.SIGWINCH)


def burst(chance: random.Random, seen: Seen) -> bytes:
    """What comes in at one go: mostly keys, now and then a click anywhere, or a paste."""
    kind = chance.random()
    if kind < 0.15:
        seen.clicks += 1
        x, y = chance.randint(1, 300), chance.randint(1, 100)
        button = chance.choice((0, 0, 0, 2, 64, 65, 35))
        ends = "Mm" if button < 3 else "M"
        return "".join(f"\x1b[<{button};{x};{y}{end}" for end in ends).encode()
    if kind < 0.18:
        return b"\x1b[200~12,5 \xe6\xbc\xa2[/b] x\n\x1b[201~"
    if kind < 0.23:
        seen.keys += 3
        return str(chance.randrange(100, 999)).encode()  # left half typed
    if kind < 0.35:
        return chance.choice(("\x1b", "\x1b\x1b", "")).encode() + chance.choice(PAGES).encode()
    keys = [
        chance.choice(chance.choices((MOVES, COMMANDS, TYPED), (35, 30, 35))[0])
        for _ in range(chance.choice((1, 1, 2, 3, 5, 12)))
    ]
    seen.keys += len(keys)
    return "".join(keys).encode()


def used(terminal: Terminal) -> float:
    """Seconds of the processor that the program has used, all its threads together (Linux; from
    memory: the 14th and 15th field of /proc/PID/stat)."""
    stat = Path(f"/proc/{terminal.process.pid}/stat")
    text = stat.read_text() if stat.exists() else ")" + " 0" * 20
    user, system = text.rpartition(")")[2].split()[11:13]
    return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")


def answers(terminal: Terminal, chance: random.Random, seen: Seen, at: list[int]) -> None:
    """Another size is painted: the time that takes is how long the screen was deaf."""
    width, height = at
    if chance.random() < 0.5:
        width, height = chance.choice(
            ((1, 1), (chance.randint(1, 30), chance.randint(1, 12)), (80, 24), (300, 100),
             (chance.randint(1, 300), chance.randint(1, 100)))
        )  # fmt: skip
    at[:] = width, height + 1 if at[1] == height else height
    seen.sizes += 1
    began, used_before = time.perf_counter(), used(terminal)
    resize(terminal, *at)
    while terminal.last_output < began:
        if terminal.process.poll() is not None:
            return  # a click on Quit leaves it; `play` looks how it ended
        assert time.perf_counter() - began < ANSWERS_IN, f"no answer at {at}"
        time.sleep(0.002)
    took = terminal.last_output - began
    seen.slowest = max(seen.slowest, took)
    seen.slow += took > 1
    busy = used(terminal) - used_before
    seen.busiest = max(seen.busiest, busy)
    seen.frozen += min(took, busy) > FREEZE


def _last_words(terminal: Terminal) -> str:
    """How the program ended, and what it printed last, without colours and frames."""
    said = bytes(terminal.raw)[-200_000:].decode("utf-8", "replace")
    bare = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]|[│╭╮╰╯─ ]+", " ", said)
    lines = [line.strip() for line in bare.splitlines() if line.strip()]
    return "\n".join([f"the program ended with {terminal.process.returncode}", *lines[-60:]])


def play(path: Path, home: Path, keys: int, seed: int) -> Seen:
    """One run on that logbook; AssertionError for what must never be."""
    chance, seen, at = random.Random(seed), Seen(), [80, 24]
    terminal = Terminal([sys.executable, "-m", "trackside", "--log", str(path)], (80, 24), home)
    try:
        terminal.wait_for("24 runs")
        terminal.drawing = False
        while seen.keys < keys and terminal.process.poll() is None:
            for _ in range(chance.randint(1, 6)):
                with suppress(OSError):  # it was left by the burst before
                    os.write(terminal.master, burst(chance, seen))
            answers(terminal, chance, seen, at)
            del terminal.raw[: -(1 << 20)]
        if terminal.process.poll() is None:
            terminal.drawing = True
            resize(terminal, 80, 24)
            for _ in range(4):
                terminal.send("escape")
                time.sleep(0.2)
            assert _leaves(terminal), f"it could not be left:\n{terminal.text()}"
        assert terminal.wait_for_end() == 0, _last_words(terminal)
        raw = bytes(terminal.raw)
        assert b"Traceback" not in raw
        for on, off in ((b"\x1b[?1049h", b"\x1b[?1049l"), (b"\x1b[?1000h", b"\x1b[?1000l"),
                        (b"\x1b[?25l", b"\x1b[?25h")):  # fmt: skip
            assert raw.rfind(off) > raw.rfind(on), f"{off!r} is missing"
        modes = termios.tcgetattr(terminal.master)[3]
        assert modes & termios.ECHO, "what is typed is not seen"
        assert modes & termios.ICANON, "lines are not edited"
    finally:
        terminal.close()
    log = home / "data" / NAME
    seen.faults = _faults(log.read_text("utf-8")) if log.exists() else []
    with Logbook.open(path, author="oracle", device="o") as logbook:
        check = logbook.verify()
        assert not check.problems, check
    return seen


def _leaves(terminal: Terminal) -> bool:
    """Whether Ctrl+Q ends it, a second time where something was refused."""
    for _ in range(3):
        terminal.send("ctrl+q")
        with suppress(subprocess.TimeoutExpired):  # still there: asked once more
            terminal.wait_for_end(20)
            return True
    return False


def _faults(log: str) -> list[str]:
    """Each fault's error, and the file and line that raised it."""
    found = []
    for one in log.split("Traceback (most recent call last):")[1:]:
        lines = [line.strip() for line in one.splitlines() if line.strip()]
        raised = [line for line in lines if line.startswith("File ")]
        error = next((x for x in reversed(lines) if x[:1].isalpha() and ":" in x[:60]), "")
        found.append(f"{error} · {raised[-1] if raised else ''}")
    return found


def press_keys(folder: Path, keys: int, each: int = 5000, first: int = 0) -> Seen:
    """So many keys in pieces of `each`, with the seeds from `first`, every piece on a fresh copy of
    the sample season; a line is printed for a piece that survived faults or froze."""
    from trackside.logbook.samples import load_samples

    folder.mkdir(exist_ok=True)
    whole, all_seen = folder / "samples.trackside", Seen()
    with Logbook.open(whole, author="fuzz", device="f") as logbook:
        load_samples(logbook)
    for seed in range(first, first + max(1, keys // each)):
        home = folder / f"home{seed}"
        home.mkdir()
        path = Path(shutil.copy(whole, home / "season.trackside"))
        try:
            seen = play(path, home, min(keys, each), seed)
        except BaseException as error:
            error.add_note(f"seed {seed}, {each} keys")
            raise
        all_seen.add(seen)
        if seen.faults or seen.frozen:
            print(f"seed {seed}: {seen}", *sorted(set(seen.faults)), sep="\n  ", flush=True)
    return all_seen


def main(keys: int, first: int = 0) -> None:
    """The long run by itself."""
    with tempfile.TemporaryDirectory() as folder:
        print(press_keys(Path(folder), keys, first=first), flush=True)


if __name__ == "__main__":
    main(*(map(int, sys.argv[1:]) if len(sys.argv) > 1 else (100_000,)))
