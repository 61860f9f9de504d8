"""Backups by themselves: one at each start that finds something new, and the older ones thinned.

The name of a backup says its number, when it was made, and the end of the code of the newest
session's event: 000042-2026-05-09-102000-3fa2b1.trackside. The number gives the order, because
clocks step back.
"""

from __future__ import annotations

import re
import shutil
import sqlite3
import time
from contextlib import closing, suppress
from datetime import datetime
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING, Final

from trackside.errors import LogbookFull
from trackside.logbook.atomic_file import PART
from trackside.logbook.backups_beside import Backup, backups, backups_of
from trackside.logbook.clock import now
from trackside.logbook.merge import extent

if TYPE_CHECKING:
    from trackside.logbook.store import Logbook

LAST: Final = 10
DAYS: Final = 14
"""Kept are the last 10, the last of each of 14 days, and the last of each event."""

SHARE: Final = 4
"""All of them together take at most a quarter of what is free on the disk without them. Where that
is too little, the oldest events go first, then days, then of the last ten: our own, no source."""
ALWAYS: Final = 3
"""The newest stay, however little room there is."""
SPARE: Final = 100_000_000
"""Bytes that a backup leaves free on the disk, and as many as the logbook takes: saves come first.
Our own, no source."""

AT_ONCE: Final = 8_000_000
"""Bytes of an old backup that are given back to the disk in one go."""

_EVENT: Final = r"[0-9a-f]{6}"
_STALE_S: Final = 24 * 3600


def keep_backups(
    logbook: Logbook, folder: Path | None = None, *, moment: datetime | None = None
) -> Path | None:
    """Make a proved backup, then thin out; None when the newest one holds everything already.

    May take seconds: call it from a thread. Saves go on meanwhile. When no sound backup can be
    made (LogbookDamaged, LogbookFull), none of the older ones goes. LogbookFull too where saves
    would have too little room beside it.
    """
    folder = folder or backups_of(Path(logbook.path))
    there = backups(folder)
    if there and _extent_of(there[0].path) == logbook.extent():
        return None
    newest = logbook.session_lines(limit=1)
    event = newest[0].event[-6:] if newest else ""
    when = (moment or now()).strftime("%Y-%m-%d-%H%M%S")
    number = there[0].number + 1 if there else 1
    mark = f"-{event}" if re.fullmatch(_EVENT, event) else ""
    made = folder / f"{number:06d}-{when}{mark}.trackside"
    _leave_room(folder, Path(logbook.path))
    logbook.back_up(made)
    there = backups(folder)
    for backup in superfluous(there, _room(folder, there)):
        with suppress(OSError):
            _let_go(backup.path)
    _sweep(folder)
    return made


def superfluous(newest_first: list[Backup], room: float = inf) -> list[Backup]:
    """Those that can go, of backups given newest first, where those that stay may take `room`
    bytes."""
    last_of_day = {backup.day: backup for backup in reversed(newest_first)}
    last_of_event = {backup.event: backup for backup in reversed(newest_first) if backup.event}
    days = sorted(last_of_day.values(), key=lambda backup: backup.number, reverse=True)[:DAYS]
    events = sorted(last_of_event.values(), key=lambda backup: backup.number, reverse=True)
    kept: set[Backup] = set()
    for place, backup in enumerate(dict.fromkeys((*newest_first[:LAST], *days, *events))):
        room -= _size(backup.path)
        if place >= ALWAYS and room < 0:
            break
        kept.add(backup)
    return [backup for backup in newest_first if backup not in kept]


def _room(folder: Path, there: list[Backup]) -> float:
    """The bytes that the backups there may take together."""
    free = _free(folder)
    return inf if free is None else (free + sum(_size(one.path) for one in there)) / SHARE


def _leave_room(folder: Path, log: Path) -> None:
    """LogbookFull where a backup would leave too little room on its disk for saves."""
    size, free = _size(log), _free(folder)
    if free is not None and free < 2 * size + SPARE:
        raise LogbookFull(
            f"A backup takes {_mb(size)}, and would leave less than {_mb(size + SPARE)} free on "
            f"the disk of {folder}",
            "make room there: saves go on, and go first",
        )


def _free(folder: Path) -> int | None:
    """The bytes that are free on the disk of that folder; None where nobody can say."""
    there = next((one for one in (folder, *folder.parents) if one.is_dir()), None)
    with suppress(OSError):
        return shutil.disk_usage(there).free if there else None
    return None


def _size(path: Path) -> int:
    """The bytes of a file; 0 of one that is gone."""
    with suppress(OSError):
        return path.stat().st_size
    return 0


def _mb(count: int) -> str:
    return f"{max(1, round(count / 1e6))} MB"


def _extent_of(path: Path) -> tuple[int, str] | None:
    """How far that backup reaches; None when it cannot be read."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as sql:
            return extent(sql)
    except (sqlite3.Error, MemoryError):
        return None


def _let_go(path: Path) -> None:
    """Remove a large file bit by bit: the disk takes no save while it frees all of it at once
    (a quarter of a second for ten seasons). It loses its name as a backup first. What has another
    name too, in a mirror, stays whole there."""
    going = path.with_name(f".{path.name}{PART}")
    path.replace(going)
    found = going.stat()
    size = found.st_size if found.st_nlink == 1 else 0
    with going.open("r+b") as file:
        while size > AT_ONCE:
            size -= AT_ONCE
            file.truncate(size)
            time.sleep(0.01)
    going.unlink()


def _sweep(folder: Path) -> None:
    """Remove what a backup left that was cut short, a day later."""
    for path in folder.glob(f".*{PART}"):
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > _STALE_S:
                path.unlink()
