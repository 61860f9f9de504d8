"""A disk that is full at any page: what was acknowledged stays, and the error is a sentence; and a
disk that fills up with backups: they stop before it is full."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

from trackside.errors import LogbookFull
from trackside.logbook import Logbook, put, rotation
from trackside.logbook.backups_beside import backups, backups_of
from trackside.logbook.rotation import keep_backups


class Disks(NamedTuple):
    """Disks that were filled, saves refused, and what was lost of the acknowledged ones."""

    disks: int
    refused: int
    lost: int


def fill_disks(folder: Path, disks: int) -> Disks:
    """Fill one disk after another, each with one page more room, then make room and go on."""
    refused = lost = 0
    for room in range(disks):
        path = folder / f"{room}.trackside"
        acknowledged: set[str] = set()
        with Logbook.open(path, device="d") as logbook:
            [(pages,)] = logbook._rows("PRAGMA page_count")
            logbook._rows(f"PRAGMA max_page_count = {pages + room}")
            for number in range(room + 2):
                try:
                    saved = logbook.write(put("note", {"words": f"{number} " * 1500}))
                    acknowledged.update(revision.rev for revision in saved)
                except LogbookFull as error:
                    refused += "nothing of it was saved" in str(error)
            logbook._rows("PRAGMA max_page_count = 1000000")
            logbook.write(put("note", {"words": "room again"}))
            assert logbook.verify().problems == ()
            lost += len(acknowledged - logbook.names())
        path.unlink()
    return Disks(disks, refused, lost)


class Fillings(NamedTuple):
    """Starts of the program on a disk that fills up, backups made and refused with a sentence,
    times that a save had too little room beside them, and that they took more than their share."""

    starts: int
    made: int
    refused: int
    no_room: int
    too_much: int


def fill_with_backups(folder: Path, starts: int) -> Fillings:
    """Start again and again, with a new event each time, on a small disk (pretended: what is free
    is what the files there leave of it) that other files fill up in the end."""
    folder.mkdir(parents=True)
    path, keep = folder / "team.trackside", backups_of(folder / "team.trackside")
    made = refused = no_room = too_much = others = 0

    def used() -> int:
        return others + sum(one.stat().st_size for one in folder.rglob("*") if one.is_file())

    with Logbook.open(path, device="d") as logbook:
        logbook.write(*(put("note", {"words": f"{number} " * 1500}) for number in range(20)))
        size = path.stat().st_size
        disk, spare = 40 * size, 2 * size
        with (
            patch.object(rotation.shutil, "disk_usage", lambda _: _Usage(max(0, disk - used()))),
            patch.object(rotation, "SPARE", spare),
        ):
            for start in range(starts):
                event = put("event", {"venue": f"venue {start}"})
                logbook.write(event, put("session", {"event": event.entity, "start": f"{start}"}))
                others = disk * start // starts
                moment = datetime(2026, 3, 1, tzinfo=UTC) + timedelta(days=start)
                try:
                    made += keep_backups(logbook, moment=moment) is not None
                    no_room += disk - used() < spare
                    taken = [one.path.stat().st_size for one in backups(keep)]
                    share = (disk - used() + sum(taken)) / rotation.SHARE
                    too_much += len(taken) > rotation.ALWAYS and sum(taken) > share
                except LogbookFull as error:
                    refused += "saves go on" in str(error)
            assert logbook.verify().problems == ()
    return Fillings(starts, made, refused, no_room, too_much)


class _Usage(NamedTuple):
    free: int
