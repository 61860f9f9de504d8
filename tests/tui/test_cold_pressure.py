"""On a cold pressure stands what to set for the hot one of the session before."""

from pathlib import Path

from textual.widgets import Static

from tests.tui.conftest import Drive, until


async def test_the_cold_cell_says_what_to_set_today(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("enter", "n")
        sheet = pilot.app.screen
        sheet.desk.keep_text("air_temperature", "1C")
        sheet.part = "tyre"
        sheet.redraw()
        sheet.grid.go("FL.cold_pressure")

        def detail() -> str:
            return str(sheet.query_one("#detail", Static).render())

        # 1.55 bar at 11 °C became 1.91 hot; at 1 °C, for 1.90 hot (p/T constant, derived):
        # (1.55 + 1.01325) × 274.15 / 284.15 × (1.90 + 1.01325) / (1.91 + 1.01325) − 1.01325 = 1.451
        told = "about 1.45 bar for the target, 1.90 hot (air 1 °C)"
        await until(pilot, lambda: told in " ".join(detail().split()))
