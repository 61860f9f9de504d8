"""Power loss, and a stick that is pulled out, at every call: what was acknowledged is there, and
every file is the old one or the new one.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

from tests.faults.replay import SHARES, replayed
from tests.faults.works import LOG, STICK, an_older_file, sound, with_a_stick, with_backups
from trackside.errors import TracksideError
from trackside.logbook import Logbook, put
from trackside.logbook.backups_beside import backups, backups_of
from trackside.logbook.bundle import read_bundle
from trackside.logbook.canonical import digest

SAVES = """
import sys
from trackside.logbook import Logbook, patch, put
with Logbook.open(sys.argv[1], device="writer") as logbook:
    session = put("session", {"driver": "Ines"})
    logbook.write(session)
    for number in range(int(sys.argv[2])):
        saved = logbook.write(
            patch("session", session.entity, {"FL.camber": {"typed": str(number), "unit": "deg"}}),
            put("note", {"session": session.entity, "words": "word " * (number % 7 * 150)}),
        )
        print(*(revision.rev for revision in saved), flush=True)
"""
OPENING = """
import sys
from trackside.logbook import Logbook, put
with Logbook.open(sys.argv[1], device="d") as logbook:
    print("opened", flush=True)
    print(logbook.write(put("note", {"words": "now"}))[0].rev, flush=True)
"""
RESTORING = """
import sys
from pathlib import Path
from trackside.logbook.restore import restore
restore(Path(sys.argv[2]), Path(sys.argv[1]))
print("done", flush=True)
"""
GIVING = """
import sys
from pathlib import Path
from trackside.logbook import Logbook
from trackside.logbook.sharing import give
with Logbook.open(sys.argv[1], read_only=True) as logbook:
    give(logbook, Path(sys.argv[2]))
print("done", flush=True)
"""
BACKING_UP = """
import sys
from trackside.logbook import Logbook
from trackside.logbook.rotation import keep_backups
with Logbook.open(sys.argv[1], device="d") as logbook:
    keep_backups(logbook)
print("done", flush=True)
"""

Judge = Callable[[Path, list[str]], None]
"""Looks at what a power cut left, and knows what the program had said; AssertionError is a loss."""


class Losses(NamedTuple):
    """States of the disk that were opened, what was acknowledged in all, and what was lost."""

    states: int
    acknowledged: int
    lost: int


def lose_power(folder: Path, saves: int, states: int, seed: int = 1) -> Losses:
    """A run of `saves`, and so many `states` of the disk for each of its system calls."""
    logs = _made(folder / "logs")
    return _played(logs, SAVES, [str(logs / LOG), str(saves)], _saves_stand, states, seed)


def _saves_stand(place: Path, said: list[str]) -> None:
    there = _revisions(place / LOG)
    assert set(said) <= there
    assert len(there) % 2 == 1 or not there, "half a save"


def lose_power_on_opening(folder: Path, version: int, states: int, seed: int = 2) -> Losses:
    """A file of an earlier version is brought to this one."""
    logs = _made(folder / "logs")
    an_older_file(version)(logs)
    older = _revisions(logs / LOG)
    chance = random.Random(seed)

    def judge(place: Path, said: list[str]) -> None:
        assert older | set(said[1:]) <= _revisions(place / LOG)
        if chance.random() < 0.1:
            assert older | set(said[1:]) <= sound(place / LOG)

    return _played(logs, OPENING, [str(logs / LOG)], judge, states, seed)


def lose_power_on_restore(folder: Path, states: int, seed: int = 3) -> Losses:
    """A backup is put in the place of the logbook, and the present file is kept."""
    logs = _made(folder / "logs")
    with_backups(logs)
    [backup] = backups(backups_of(logs / LOG))
    new, old = _revisions(backup.path), _revisions(logs / LOG)

    def judge(place: Path, said: list[str]) -> None:
        there = _revisions(place / LOG)
        assert there == new or (there == old and not said)
        aside = [_revisions(file) for file in place.glob(f"{LOG}.2*")]
        assert old == there.union(*aside), "the file as it was is gone"

    return _played(logs, RESTORING, [str(logs / LOG), str(backup.path)], judge, states, seed)


def lose_power_on_backup(folder: Path, states: int, seed: int = 4) -> Losses:
    """A second backup is made beside the first."""
    logs = _made(folder / "logs")
    with_backups(logs)
    place = backups_of(logs / LOG)

    def judge(left: Path, said: list[str]) -> None:
        kept = [_revisions(backup.path) for backup in backups(left)]
        assert len(kept) == 2 if said else len(kept) >= 1
        assert all(kept)

    return _played(place, BACKING_UP, [str(logs / LOG)], judge, states, seed)


def pull_the_stick(folder: Path, states: int, seed: int = 5) -> Losses:
    """A bundle is written over an older one on a stick, which is pulled out meanwhile."""
    logs = _made(folder / "logs")
    with_a_stick(logs)
    chance = random.Random(seed)
    with Logbook.open(logs / LOG) as logbook:
        old = logbook.names() - {logbook.extent()[1]}
        logbook.write(*(put("note", {"words": chance.randbytes(40_000).hex()}) for _ in range(9)))
        new = logbook.names()
    target = logs / STICK

    def judge(place: Path, said: list[str]) -> None:
        found = read_bundle(place / target.name)
        assert not found.problems, found.problems
        names = {line.rev for line in found.lines}
        assert names == new or (names == old and not said), "half a bundle"

    given = [str(logs / LOG), str(target)]
    return _played(target.parent, GIVING, given, judge, states, seed, is_stick=True)


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True)
    return folder


def _played(
    traced: Path,
    script: str,
    arguments: list[str],
    judge: Judge,
    states: int,
    seed: int,
    *,
    is_stick: bool = False,
) -> Losses:
    """Run the script, and have so many states of the traced folder judged after each call."""
    chance, count, lost, said = random.Random(seed), 0, 0, []
    place = traced.with_name(f"{traced.name}.left")
    for disk, said in replayed(traced, script, *arguments, is_stick=is_stick):
        for number in range(states):
            left = disk.state(chance, SHARES[number % len(SHARES)])
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir()
            for name, content in left.items():
                (place / name).write_bytes(content)
            try:
                judge(place, said)
            except (AssertionError, TracksideError, sqlite3.Error) as error:
                print(f"call {count // states}, after {said[-1:]}: {error!r}")
                lost += 1
            count += 1
    assert said, "the program said nothing"
    return Losses(count, len(said), lost)


def _revisions(file: Path) -> set[str]:
    """Open what is left, as the program would, and prove it; its revisions."""
    with closing(sqlite3.connect(file)) as sql:
        [(found,)] = sql.execute("PRAGMA integrity_check(1)")
        assert found == "ok", found
        if not sql.execute("SELECT 1 FROM sqlite_schema WHERE name = 'revision'").fetchone():
            return set()
        rows = sql.execute("SELECT rev, envelope FROM revision").fetchall()
        assert all(digest(envelope) == rev for rev, envelope in rows)
        return {rev for rev, _ in rows}
