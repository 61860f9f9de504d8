"""The box of dampers that need a look: the most urgent first, one told whole, Enter goes to it."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.conftest import Drive, screen_text, settled, until
from trackside.logbook import Logbook, patch
from trackside.tui.screens.look import LookList
from trackside.tui.screens.shed import ShedPage


def _text(pilot: Pilot[None]) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_most_urgent_is_at_the_top_and_enter_goes_to_it(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    with Logbook.open(season_file, author="Otto", device="other") as logbook:
        [own] = [e for e, body in logbook.all("damper") if body["serial"] == "SA-3108"]
        least = {"typed": "12", "unit": "bar", "si": 1.2e6}
        logbook.write(patch("damper", own, {"least_charge": least}))
    async with drive(season_file, size) as pilot:
        await pilot.press("b")
        page = pilot.app.screen
        assert isinstance(page, ShedPage)
        await until(pilot, lambda: page.damper)
        await pilot.press("N")
        await until(pilot, lambda: isinstance(pilot.app.screen, LookList))
        box = pilot.app.screen
        assert isinstance(box, LookList)
        await until(pilot, lambda: box.found is not None, 2000)
        await settled(pilot)
        assert "1 of 11 dampers" in _text(pilot)
        assert "! SA-3108 A 2.1 h 11.80 bar charge below its least" in _text(pilot)
        assert "! charge: 11.80 bar at 20 °C on 2026-10-17, below the least" in _text(pilot)
        await pilot.press("f")
        assert "Span, Lemmon, Jacobsen" in _text(pilot)
        await pilot.press("down")
        assert "Nothing on record says that it needs a look." in _text(pilot)
        await pilot.press("home", "enter")
        await until(pilot, lambda: pilot.app.screen is page)
        await until(pilot, lambda: page.damper and page.damper.serial == "SA-3108")
