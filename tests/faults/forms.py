"""kill -9 half a second after the last key, on every form of the real program: no word is lost."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import sys
import time
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Final, NamedTuple

from tests.terminal.terminal import Terminal
from trackside.logbook import Logbook
from trackside.logbook.samples import load_samples

HELD_AFTER: Final = 0.5
"""Seconds after the last key within which its words may be lost."""

WAYS: Final[tuple[tuple[Sequence[str], str], ...]] = (
    ("ra", "nose pushes at the hairpin"),
    ("ry", "softer at the front"),
    ("rK", "won in the wet"),
    ("e", "Quarry Lane"),
    ("v", "second car"),
    ("bn", "ZZ-900"),
    ("bB", "new seals"),
    (("b", "enter"), "ZZ-901"),
    (("b", "enter", "right"), "C2"),
)
"""The keys that open each form from the pit board (note, reason, shelf, event, car, new damper,
strip-down, damper, build), and words for it."""

_AWAITED = {"r": "since", "b": "FP-0611", "e": "RECORD", "v": "RECORD", "enter": "RECORD"}
"""What is on the page that each key opens; the forms name their keys."""


class KilledForms(NamedTuple):
    """How many programs were killed with words in a form, and how often the words were lost."""

    kills: int
    lost: int


def kill_forms(folder: Path, kills: int, seed: int = 9) -> KilledForms:
    """Type a few random words in each form in turn, kill, and look."""
    folder.mkdir(parents=True, exist_ok=True)
    season = folder / "season.trackside"
    with Logbook.open(season, author="samples", device="samples") as logbook:
        load_samples(logbook)
    chance, lost = random.Random(seed), 0
    for number in range(kills):
        place = folder / str(number)
        place.mkdir()
        keys, words = WAYS[number % len(WAYS)]
        typed = f"{words} {chance.randrange(10 ** chance.randint(1, 6))}"
        lost += not words_outlive_a_kill(Path(shutil.copy(season, place)), place, keys, typed)
        shutil.rmtree(place)
    return KilledForms(kills, lost)


def words_outlive_a_kill(log: Path, folder: Path, keys: Sequence[str], words: str) -> bool:
    """Open the form behind these keys in the real program, type, kill it: are the words held?"""
    terminal = Terminal([sys.executable, "-m", "trackside", "--log", str(log)], (80, 24), folder)
    try:
        terminal.wait_for("24 runs")
        for key in keys:
            terminal.send(key)
            terminal.wait_for(_AWAITED.get(key, "Esc "))
        os.write(terminal.master, words.encode())
        terminal.wait_for(words)
        time.sleep(HELD_AFTER)
        terminal.process.send_signal(signal.SIGKILL)
        terminal.wait_for_end()
    finally:
        terminal.close()
    with closing(sqlite3.connect(log)) as reader:  # it heals what the kill left half done
        return words in {text for (text,) in reader.execute("SELECT text FROM draft")}
