"""Treads and laps beside the tyre cells."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text
from tests.tui.walking import drawn
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.tui.run_picture import flying, laps, laps_told, treads


def _session(**body: object) -> Session:
    return Session.checked({"kind": "practice", "status": "done", **body})


@pytest.mark.parametrize(("width", "columns"), [(34, 33), (46, 33), (47, 47), (90, 47)])
def test_treads_fit_beside_the_cells_and_mark_the_hottest(width: int, columns: int) -> None:
    reading = {"typed": "", "unit": "°C", "si": 0.0}
    corner = {
        f"tread_{place}": reading | {"typed": str(hot), "si": float(hot)}
        for place, hot in (("inner", 91), ("middle", 88), ("outer", 80))
    }
    drawing = treads(_session(FL=corner), Preferences(), width)
    lines = drawing.plain().split("\n")
    assert {len(line) for line in lines} == {columns}
    left, right = lines[3].split("│")
    assert left.split() == ["FL", "80", "88", "91▲"]
    assert right.split() == ["–", "–", "–", "FR"]
    fahrenheit = treads(_session(FL=corner), Preferences(preset="imperial"), width)
    assert "196▲" in fahrenheit.plain()  # 91 °C = 195.8 °F, by the definition of the scale


def test_slow_laps_and_laps_in_words_are_gaps_and_said() -> None:
    session = _session(lap_times=[120.0, 95.0, "pit", 94.5, 95.5])
    assert flying(session) == [None, 95.0, None, 94.5, 95.5]
    assert laps_told(session).plain == "lap times 3, best 1:34.500, 1 slow not drawn"
    marked = _session(lap_times=["1:50 out", 95.0, "1:20 in"])
    assert flying(marked) == [None, 95.0, None]
    assert laps_told(marked).plain == "lap times 1, best 1:35.000, 2 in or out"
    drawing = laps(session, 34, 12, Preferences())
    assert drawing is not None
    head, *chart = drawing.plain().split("\n")
    assert head.rstrip() == "low is quick   ◆ best"
    assert "\n".join(chart).count("◆") == 1
    assert "1:35" in drawing.plain()


def test_each_lap_is_marked_above_its_number_while_there_is_room() -> None:
    times = [96.0, 94.0, "pit", 94.5, 94.8, 95.2, 95.5, 96.5]
    drawing = laps(_session(lap_times=times), 44, 14, Preferences())
    assert drawing is not None
    lines = drawing.plain().split("\n")
    columns = {n for line in lines[1:] for n, glyph in enumerate(line) if glyph in "◇◆"}
    assert len(columns) == 7, "the lap in words has none"
    ticks = [n for n, glyph in enumerate(lines[-2]) if glyph == "┬"]
    numbered = dict(zip(lines[-1].split(), ticks, strict=False))
    assert {numbered["2"], numbered["4"], numbered["6"], numbered["8"]} <= columns
    many = laps(_session(lap_times=[94.0 + n % 7 for n in range(40)]), 44, 14, Preferences())
    assert many is not None
    assert "◇" not in many.plain()


def test_without_laps_there_is_no_chart() -> None:
    for session in (_session(), _session(lap_times=["out", "in"])):
        assert laps(session, 34, 12, Preferences()) is None
        assert "no lap times yet" in laps_told(session).plain
    assert laps(_session(lap_times=[95.0]), 34, 6, Preferences()) is None


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_tyre_cells_have_them_beside(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await run_sheet_at(pilot, "FL.hot_pressure")
        await drawn(pilot)
        await pilot.pause(0.1)
        text = screen_text(pilot.app)
        assert "front" in text
        assert "▲" in text
        assert "low is quick" in text
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        sheet.grid.go("FL.rebound_bleed")
        await drawn(pilot)
        await pilot.pause(0.1)
        assert "since" in screen_text(pilot.app)
