"""A start makes one proved backup behind the first page; the samples and tests make none."""

from __future__ import annotations

import asyncio
import shutil
from pathlib import Path

from trackside.logbook import Logbook
from trackside.logbook.rotation import backups, backups_of
from trackside.tui.app import Trackside


async def test_a_start_makes_one_backup(samples_log: Path, tmp_path: Path) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    app = Trackside(log, backups=True)
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(200):
            if backups(backups_of(log)):
                break
            await asyncio.sleep(0.05)
        await pilot.pause()
        app._make_ready()  # the shed is read again whenever it changes: no second backup
        await pilot.pause(0.3)
    [made] = backups(backups_of(log))
    with Logbook.open(made.path, read_only=True) as copy, Logbook.open(log, read_only=True) as live:
        assert copy.lines() == live.lines()


async def test_no_backup_unless_asked(samples_log: Path, tmp_path: Path) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    async with Trackside(log).run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.5)
    assert backups(backups_of(log)) == []
