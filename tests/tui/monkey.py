"""A monkey at the keys: it types, opens, turns and leaves whatever comes up, at changing sizes.

What it must never bring about: a traceback, a value that was called kept and is not in the file, a
revision that went, a logbook that does not verify. `python -m tests.tui.monkey 20000` plays long.
"""

from __future__ import annotations

import asyncio
import random
import shutil
import sqlite3
import sys
import tempfile
from concurrent.futures import Future
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.tui.app import Trackside, build

SIZES = [(60, 20), (80, 24), (120, 40), (200, 60)]
BETWEEN_RESIZES = 100

MOVES = ["up", "down", "left", "right", "tab", "shift+tab", "home", "end", "pageup", "pagedown"]
COMMANDS = [*"nevEV/hsHSwayKixo[],.uUpcctdkb?BlJ", "enter", "enter", "escape", "escape"]
TYPED = [*"0123456789", *"0123456789", ",", ".", "-", "+", "[", "/", "b", "]", "é", "漢", "🏁",
         "backspace", "delete", "space"]  # fmt: skip
WHOLE = ["ctrl+s", "ctrl+p", "ctrl+t", "ctrl+z", "f2", "ctrl+x", "ctrl+u"]


@dataclass
class Romp:
    """What a romp did: keys pressed, revisions that were called kept, pages that came up."""

    kept: set[str] = field(default_factory=set)
    pages: set[str] = field(default_factory=set)
    pressed: list[str] = field(default_factory=list)


def turn(chance: random.Random) -> list[str]:
    """What is pressed next: mostly one key; now and then a number typed and left, or the way back
    to the run sheet, where a hand is most of the time."""
    kind = chance.random()
    if kind < 0.06:
        return ["escape", "escape", "r"]
    if kind < 0.2:
        return [*str(chance.randrange(400)), chance.choice(["enter", "down", "tab"])]
    [bunch] = chance.choices((MOVES, COMMANDS, TYPED, WHOLE), (30, 35, 30, 5))
    return [chance.choice(bunch)]


async def romp(path: Path, keys: int, seed: int) -> Romp:
    """Press so many keys; the app's own failures are raised, and what is wrong asserted."""
    chance, told = random.Random(seed), Romp()
    app = build(path, Preferences(author="monkey"))
    before = revisions(path)
    async with app.run_test(size=chance.choice(SIZES)) as pilot:
        _listen(app, told)
        while len(told.pressed) < keys:
            if chance.random() < 1 / BETWEEN_RESIZES:
                await pilot.resize_terminal(*chance.choice(SIZES))
            pressed = turn(chance)
            told.pressed += pressed
            await pilot.press(*pressed)
            told.pages.add(type(app.screen).__name__)
        await pilot.pause()
        app.desk.flush()
    after = revisions(path)
    assert before <= after, "revisions went"
    assert told.kept <= after, "what was called kept is not in the file"
    with Logbook.open(path, author="oracle", device="o") as logbook:
        check = logbook.verify()
        assert not check.problems, check
    return told


def _listen(app: Trackside, told: Romp) -> None:
    """Note every revision that the logbook acknowledges from now on."""
    logbook = app.desk.logbook
    submit, write = logbook.submit, logbook.write

    def heard(done: Future[Any]) -> None:
        if done.exception() is None:
            told.kept |= {revision.rev for revision in done.result()}

    def submitting(*arguments: Any, **named: Any) -> Future[Any]:
        future = submit(*arguments, **named)
        future.add_done_callback(heard)
        return future

    def writing(*arguments: Any, **named: Any) -> Any:
        found = write(*arguments, **named)
        told.kept |= {revision.rev for revision in found}
        return found

    logbook.submit, logbook.write = submitting, writing  # type: ignore[method-assign]


def revisions(path: Path) -> set[str]:
    """The names of all revisions in the file, read by nothing of ours."""
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as reader:
        return {name for (name,) in reader.execute("SELECT rev FROM revision")}


def main(keys: int, each: int = 2000) -> None:
    """The long romp, in runs of `each` keys, every one on a fresh copy of the sample season."""
    from trackside.logbook.samples import load_samples, samples_folder

    with tempfile.TemporaryDirectory() as folder:
        whole = Path(folder) / "samples.trackside"
        with Logbook.open(whole, author="monkey", device="m") as logbook:
            load_samples(logbook, samples_folder())
        for seed in range(keys // each):
            path = Path(shutil.copy(whole, Path(folder) / f"{seed}.trackside"))
            told = asyncio.run(romp(path, each, seed))
            print(f"run {seed}: {len(told.pressed)} keys, {len(told.kept)} revisions kept, "
                  f"pages {', '.join(sorted(told.pages))}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
