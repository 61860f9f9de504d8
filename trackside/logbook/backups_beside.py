"""The backups that lie beside a logbook: which there are, and what to say of a logbook that is gone
while they are there."""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path
from typing import Final, NamedTuple

from trackside.errors import LogbookError

_NAME: Final = re.compile(r"(\d{6,})-(\d{4}-\d\d-\d\d)-\d{6}(?:-([0-9a-f]{6}))?\.trackside")


class Backup(NamedTuple):
    """One backup; `event` is the end of the event's code, "" without one."""

    path: Path
    number: int
    day: str
    event: str


def backups_of(log: Path) -> Path:
    """The folder of the backups of that logbook: beside it, named after it."""
    return log.with_name(f"{log.name}-backups")


def backups(folder: Path) -> list[Backup]:
    """The backups in a folder, newest first."""
    names = ((path, _NAME.fullmatch(path.name)) for path in folder.glob("*.trackside"))
    found = [Backup(path, int(name[1]), name[2], name[3] or "") for path, name in names if name]
    return sorted(found, key=lambda backup: (backup.number, backup.path.name), reverse=True)


def lost(log: Path) -> LogbookError | None:
    """What to say of a logbook that is gone, or of which nothing is left, while its backups are
    there; None when it is there, or was never made."""
    try:
        if log.stat().st_size:
            return None
        what = "is empty: nothing of the logbook is left in it"
    except FileNotFoundError:
        what = "is gone"
    except OSError:
        return None
    there = backups(backups_of(log))
    if not there:
        return None
    many = "a backup is" if len(there) == 1 else f"{len(there)} backups are"
    return LogbookError(
        f"{log} {what}, but {many} beside it",
        f"trackside --log {log} restore {there[0].path} brings the newest back; to begin a new "
        f"logbook, first move {backups_of(log)} away",
    )


def made_at(folder: Path) -> float | None:
    """When the newest backup there was made (seconds since 1970); None without one."""
    with suppress(OSError):
        return max((backup.path.stat().st_mtime for backup in backups(folder)), default=None)
    return None
