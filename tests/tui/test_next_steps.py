"""What the run sheet says of the step a hand is on."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.tui.conftest import Drive, screen_text


async def test_the_walk_round_says_how_far_it_is(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (80, 24)) as pilot:
        await pilot.press("r", "n", "w")
        await pilot.pause()
        assert "walk-round" in screen_text(pilot.app)
        await pilot.press("6", "2", "enter")
        await pilot.pause()
        assert "walk-round 2 of 16" in screen_text(pilot.app)
        assert "front left, middle tread · 2 of 16 · 1 read" in screen_text(pilot.app)
        for _ in range(15):
            await pilot.press("enter")
        await pilot.pause()
        told = " ".join(screen_text(pilot.app).split())
        assert "walk-round over: 1 of 16 values read, still empty: FL middle, outer, hot; " in told


async def test_a_session_added_to_an_event_long_over_says_so(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trackside.crew.moments.today", lambda: date(2027, 3, 1))
    async with drive(season_file, (80, 24)) as pilot:
        await pilot.press("r", "n")
        await pilot.pause()
        assert "in an event that was over" in " ".join(screen_text(pilot.app).split())
