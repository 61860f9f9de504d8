"""The disc box over the shed: put in, counted with a key, its form opened, struck off."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.conftest import Drive, screen_text, settled, until
from trackside.crew.disc_box import DiscBox, read_parts
from trackside.logbook import Logbook
from trackside.tui.app import Trackside
from trackside.tui.screens.disc_box import DiscBoxList
from trackside.tui.screens.record import RecordPage


@pytest.fixture
def season_file(runs_alone_log: Path, tmp_path: Path) -> Path:
    """The sample season with an empty box: it is filled here."""
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


def _text(pilot: Pilot[None]) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


async def _box(pilot: Pilot[None]) -> DiscBoxList:
    await pilot.press("b")
    await until(pilot, lambda: "DAMPER SHED" in _text(pilot))
    await pilot.press("x")
    await until(pilot, lambda: isinstance(pilot.app.screen, DiscBoxList))
    await settled(pilot)
    box = pilot.app.screen
    assert isinstance(box, DiscBoxList)
    return box


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_parts_go_in_and_come_out(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        box = await _box(pilot)
        assert "The box is empty" in _text(pilot)
        await pilot.press("n", *"27x0.15 x6, spacer 0.30", "ctrl+s")
        await until(pilot, lambda: "put in: 27×0.15 ×6, spacer 0.30 ×1" in _text(pilot))
        await pilot.press("plus")
        await until(pilot, lambda: box.rows[0].record.count == 7 and not box.coming)
        await pilot.press("down", "minus")
        await until(pilot, lambda: box.rows[1].record.count == 0 and not box.coming)
        await pilot.press("minus")
        await until(pilot, lambda: "the box has none of it" in _text(pilot))
        await pilot.press("t", *"27x0.15 x9", "ctrl+s")
        await until(pilot, lambda: "only 7 of it" in _text(pilot))
        await pilot.press("escape")
        await until(pilot, lambda: app.screen is box)
        await pilot.press("x")
        await until(pilot, lambda: len(box.rows) == 1 and not box.coming)
        await pilot.press("home", "enter")
        await until(pilot, lambda: isinstance(app.screen, RecordPage))
        await settled(pilot)
        assert "How many" in _text(pilot)


async def test_a_count_is_pasted_from_a_spreadsheet(season_file: Path, drive: Drive) -> None:
    with Logbook.open(season_file, author="Otto", device="other") as logbook:
        logbook.write(*DiscBox(logbook).moved(read_parts("27×0.15 ×2")))
    async with drive(season_file, (120, 40)) as pilot:
        box = await _box(pilot)
        await pilot.press("i", "tab")
        form = pilot.app.screen
        form.query_one("#rows").text = "diameter\tt\tqty\n27\t0.15\t9\n21\t0.10\t4"  # type: ignore[attr-defined]
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "1 new, 1 changed, 0 as they were" in _text(pilot))
        assert [part.record.count for part in box.rows] == [9, 4]
