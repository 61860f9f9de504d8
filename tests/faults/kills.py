"""kill -9 at any moment: whatever was acknowledged is there, and a save is whole or not at all."""

from __future__ import annotations

import os
import random
import signal
import time
from pathlib import Path
from typing import NamedTuple

from trackside.logbook import Logbook, put


class Kills(NamedTuple):
    """How often the writer was killed, what it had acknowledged, and what was lost of that."""

    kills: int
    acknowledged: int
    lost: int


def kill_writers(path: Path, kills: int, seed: int = 20260509) -> Kills:
    """Start a writer on one file, kill it at a random moment, look, and begin anew."""
    chance = random.Random(seed)
    acknowledged: set[str] = set()
    lost = 0
    for _ in range(kills):
        said = _killed_writer(path, 0.012 + chance.random() * 0.06)
        acknowledged.update(said.split())
        with Logbook.open(path, device="looker") as logbook:
            there = {line.rev for line in logbook.lines()}
            found = logbook.verify()
        lost += len(acknowledged - there)
        assert found.problems == (), found
        assert len(there) % 2 == 0  # each save is of two
    return Kills(kills, len(acknowledged), lost)


def _killed_writer(path: Path, seconds: float) -> str:
    """What a writer said before it was killed."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(out)
        _write_on(path, into)
    os.close(into)
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
