"""A disk that is full at any page: what was acknowledged stays, and the error is a sentence."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from trackside.errors import LogbookFull
from trackside.logbook import Logbook, put


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
                    refused += "nothing of this save was kept" in str(error)
            logbook._rows("PRAGMA max_page_count = 1000000")
            logbook.write(put("note", {"words": "room again"}))
            assert logbook.verify().problems == ()
            lost += len(acknowledged - logbook.names())
        path.unlink()
    return Disks(disks, refused, lost)
