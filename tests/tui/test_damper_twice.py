"""A damper that is picked at a corner while another corner, or another car in the session, has it:
said where the hand picks it. The program's own rule, no source."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.crew.workspace import Workspace

SIZES = [(80, 24), (120, 40)]


def two_cars(desk: Workspace) -> None:
    """Practice 1 of two cars; the first has D1, the second is in hand."""
    event = desk.add("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
    for serial in ("D1", "D2"):
        desk.add("damper", {"serial": serial})
        desk.add("build", {"damper": serial, "version": "A"})
    for number, serial in (("7", "D1"), ("8", None)):
        car = desk.add("car", {"name": "Coupé", "number": number})
        body = {"event": event, "car": car, "kind": "practice", "start": "2026-05-09 09:00"}
        desk.take(desk.add("session", body | ({"FL": {"damper": serial}} if serial else {})))


def squeezed(pilot: object) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[attr-defined]


@pytest.mark.parametrize("size", SIZES)
async def test_another_car_has_it(tmp_path: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(tmp_path / "log.trackside", size) as pilot:
        two_cars(pilot.app.desk)  # type: ignore[attr-defined]
        pilot.app.desk.flush()  # type: ignore[attr-defined]
        sheet = await run_sheet_at(pilot, "RR.damper")
        await until(pilot, lambda: sheet.desk.shed and sheet.desk.shed.damper("D1"))
        told = "D1 is on Coupé 7 too, in practice: which car has it?"
        await pilot.press("enter", "d", "1")
        assert told in squeezed(pilot), "while it is lit in the list"
        await pilot.press("enter")
        assert told in squeezed(pilot), "once it is picked"
        assert sheet.cells.shown("RR.damper").mark == "!"
        sheet.grid.go("RR.damper")
        await pilot.press("enter", "d", "2")
        assert "too" not in squeezed(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_another_corner_has_it(tmp_path: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(tmp_path / "log.trackside", size) as pilot:
        two_cars(pilot.app.desk)  # type: ignore[attr-defined]
        sheet = await run_sheet_at(pilot, "FL.damper")
        await until(pilot, lambda: sheet.desk.shed and sheet.desk.shed.damper("D1"))
        sheet.desk.keep_text("FL.damper", "D2")
        sheet.grid.go("FR.damper")
        await pilot.press("enter", "d", "2")
        told = "D2 is entered at FL too: which corner has it?"
        assert told in squeezed(pilot)
        await pilot.press("enter")
        assert told in squeezed(pilot)
