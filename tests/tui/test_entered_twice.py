"""A build that two laptops entered, and nobody decided on: its force is not shown as if sure."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook import Logbook, put
from trackside.logbook.dampers import builds_of
from trackside.tui.app import Trackside


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_run_sheet_and_click_map_say_it_beside_the_force(
    size: tuple[int, int], drive: Drive, season_file: Path
) -> None:
    with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
        session = other.state(other.session("last")) or {}
        serial, version = session["FL"]["damper"], session["FL"]["build"]
        body = next(b for _, b in builds_of(other, serial) if b["version"] == version)
        other.write(put("build", body))
    async with drive(season_file, size) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await until(pilot, lambda: "entered twice" in _flat(app))
        await pilot.press("c")
        await until(pilot, lambda: "entered twice" in _flat(app))


def _flat(app: Trackside) -> str:
    return " ".join(screen_text(app).split())
