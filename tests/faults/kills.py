"""kill -9 at any moment: whatever was acknowledged is there, and a save is whole or not at all."""

from __future__ import annotations

import os
import random
import select
import signal
import time
from pathlib import Path
from typing import Final, NamedTuple

from trackside.logbook import Logbook, put

A_FILE: Final = 40
"""Kills on one file: each look at it proves all of it."""


class Kills(NamedTuple):
    """How often the writer was killed, what it had acknowledged, and what was lost of that."""

    kills: int
    acknowledged: int
    lost: int


def kill_writers(path: Path, kills: int, seed: int = 20260509) -> Kills:
    """Start a writer on one file, kill it at a random moment, look, and begin anew.

    One in four dies while it opens the file, the others some time after their first save: a busy
    machine would otherwise kill most before they have saved anything.
    """
    import sqlite_utils  # noqa: F401  (a writer that imports it has no time to save)

    chance = random.Random(seed)
    acknowledged: set[str] = set()
    count = lost = 0
    for number in range(kills):
        if number % A_FILE == 0:
            path.unlink(missing_ok=True)
            count += len(acknowledged)
            acknowledged.clear()
        said = _killed_writer(path, chance.random() * 0.04, once_saved=number % 4 > 0)
        acknowledged.update(said.split())
        with Logbook.open(path, device="looker") as logbook:
            there = {line.rev for line in logbook.lines()}
            found = logbook.verify()
        lost += len(acknowledged - there)
        assert found.problems == (), found
        assert len(there) % 2 == 0  # each save is of two
    return Kills(kills, count + len(acknowledged), lost)


def _killed_writer(path: Path, seconds: float, *, once_saved: bool) -> str:
    """What a writer said before it was killed, so many seconds after its start or first save."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(out)
        _write_on(path, into)
    os.close(into)
    if once_saved:
        select.select([out], [], [], 60)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with open(out, "rb") as pipe:
        said = pipe.read().decode()
    return said[: said.rfind("\n") + 1]


def _write_on(path: Path, into: int) -> None:
    try:
        with Logbook.open(path, device="writer") as logbook:
            for number in range(100_000):
                saved = logbook.write(
                    put("note", {"words": str(number)}), put("note", {"words": "x" * 900})
                )
                os.write(into, "".join(f"{revision.rev}\n" for revision in saved).encode())
    finally:
        os._exit(1)
