"""Every backup that is made can be gone back to, and holds what the logbook held then."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from trackside.logbook import Logbook, put
from trackside.logbook.backups_beside import backups, backups_of
from trackside.logbook.restore import restore
from trackside.logbook.rotation import keep_backups


class Restores(NamedTuple):
    """Backups made, kept after thinning, gone back to, and those that were not as they should."""

    made: int
    kept: int
    restored: int
    wrong: int


def restore_all(folder: Path, starts: int, seed: int = 3) -> Restores:
    """Work through `starts` starts of the program, then go back to every backup there is."""
    path, chance = folder / "team.trackside", random.Random(seed)
    moment, held = datetime(2026, 3, 1, tzinfo=UTC), {}
    event = put("event", {"venue": "Harrow Fen"})
    with Logbook.open(path, device="d") as logbook:
        logbook.write(event)
        for number in range(starts):
            if number % 7 == 0:
                event = put("event", {"venue": f"venue {number}"})
                logbook.write(event)
            body = {"event": event.entity, "start": f"2026-05-{number // 60 + 1:02d} {number:04d}"}
            logbook.write(put("session", body))
            moment += timedelta(hours=chance.choice((1, 9, 30)))
            made = keep_backups(logbook, moment=moment)
            assert made is not None
            held[made] = logbook.lines()
    there = backups(backups_of(path))
    wrong = 0
    for backup in chance.sample(there, len(there)):
        before = path.read_bytes()
        kept = restore(backup.path, path)
        with Logbook.open(path, device="d") as logbook:
            same = logbook.lines() == held[backup.path] and not logbook.verify().problems
        wrong += not same or kept is None or kept.read_bytes() != before
    return Restores(len(held), len(there), len(there), wrong)
