"""Leaving in mid-commit: ctrl+c, an exit that forgets to close, an error, a cancelled task. What
was handed over is finished; no save is half."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Final, NamedTuple

from trackside.logbook import Logbook

WRITER: Final = """
import asyncio, signal, sys, threading
from trackside.logbook import Logbook, put

signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job ignores it

def pair(number):
    words = f"{sys.argv[2]} {number}"
    return put("note", {"words": words}), put("note", {"words": words + " again" * 200})

def told(number):
    print(number, flush=True)

def on_and_on(logbook):
    for number in range(20_000):
        future = logbook.submit(*pair(number))
        told(number)
        if number % 3 == 0:
            future.result()

async def cancelled(logbook):
    for number in range(20):
        task = asyncio.ensure_future(asyncio.wrap_future(logbook.submit(*pair(number))))
        told(number)
        await asyncio.sleep(number % 5 / 1000)
        task.cancel()

way = sys.argv[3]
logbook = Logbook.open(sys.argv[1], device="writer")
logbook.warm().result()
if way == "ctrl+c":
    try:
        with logbook:
            on_and_on(logbook)
    except KeyboardInterrupt:
        pass
elif way == "cancel":
    asyncio.run(cancelled(logbook))
else:
    for number in range(20):
        logbook.submit(*pair(number))
        told(number)
    if way == "error":
        raise ValueError("a mistake of the program")
    sys.exit(0)
"""
WAYS: Final = ("ctrl+c", "cancel", "error", "exit")


class Quits(NamedTuple):
    """How often the writer was left, the saves it had handed over, and what was lost of them."""

    quits: int
    handed_over: int
    lost: int


def quit_writers(path: Path, quits: int, seed: int = 8) -> Quits:
    """Leave one writer after another, each in one of the ways, and look at what it handed over."""
    chance, handed_over, lost = random.Random(seed), 0, 0
    for number in range(quits):
        said = _left_writer(path, str(number), WAYS[number % len(WAYS)], chance.random() * 0.05)
        with Logbook.open(path, device="looker") as logbook:
            assert logbook.verify().problems == ()
            words = [body["words"].split() for _, body in logbook.all("note")]
        there = [word[1] for word in words if word[0] == str(number)]
        assert all(there.count(one) == 2 for one in there), "half a save"
        handed_over += len(said)
        lost += len(set(said) - set(there))
    return Quits(quits, handed_over, lost)


def _left_writer(path: Path, mark: str, way: str, seconds: float) -> list[str]:
    """The numbers of the saves that the writer had handed over before it was left."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), mark, way],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert writer.stdout
    first = writer.stdout.readline()
    if way == "ctrl+c":
        time.sleep(seconds)
        writer.send_signal(signal.SIGINT)
    rest = writer.stdout.read()
    writer.wait()
    return (first + rest).split()
