"""Cautions on the pages: whole, beside the cell where the hand acts, at every size."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from tests.tui.walking import drawn
from trackside.logbook import Logbook, patch, put
from trackside.preferences import data_folder
from trackside.records.fields import CORNER_FIELDS
from trackside.reports import cautions
from trackside.reports.cautions import CHARGE, INVENTED, SPRING, STANDS, whole
from trackside.tui.screens.bring import Bring
from trackside.tui.screens.record import RecordPage

SIZES = [(80, 24), (60, 20), (120, 40)]


def read_column(pilot: Pilot[None]) -> str:
    """All that the panel and the lines of detail show, each read by itself."""
    screen = pilot.app.screen
    lines = screen_text(pilot.app).split("\n")  # type: ignore[arg-type]
    told = []
    for name in ("#worth", "#detail"):
        for widget in screen.query(name):
            area = widget.region
            rows = lines[area.y : area.bottom]
            told += [row[area.x : area.right].strip() for row in rows]
    return " ".join(" ".join(told).split())


@pytest.mark.parametrize("size", SIZES)
async def test_every_cell_of_a_corner_shows_its_caution_to_its_end(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await run_sheet_at(pilot, "FL.gas_pressure")
        sheet = pilot.app.screen
        seen = 0
        for name in CORNER_FIELDS:
            path, told = f"FL.{name}", cautions.on_run_sheet(f"FL.{name}")
            sheet.stand_on(path)  # type: ignore[attr-defined]
            if sheet.grid.path != path:  # type: ignore[attr-defined]
                continue  # a knob that this damper has not
            words = cautions.page(told) or " · ".join(one.short for one in told)
            await until(pilot, lambda words=words: words in read_column(pilot))
            cell = sheet.grid.places.line_of[path] - sheet.grid._top  # type: ignore[attr-defined]
            assert 0 <= cell < sheet.grid.region.height, path  # type: ignore[attr-defined]
            seen += bool(words)
        assert seen >= 18


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("typed", ["15.1", "1500 bar", "151 C", "-3"])
async def test_the_gas_cell_cautions_whatever_is_typed(
    season_file: Path, drive: Drive, size: tuple[int, int], typed: str
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FR.gas_pressure")
        await until(pilot, lambda: CHARGE.text in read_column(pilot))
        await pilot.press(*typed[:2])
        await until(pilot, lambda: CHARGE.text in read_column(pilot))
        await pilot.press(*(key if key != " " else "space" for key in typed[2:]), "enter")
        sheet.grid.go("FR.gas_pressure")
        await until(pilot, lambda: CHARGE.text in read_column(pilot))


async def test_a_longer_caution_after_a_shorter_one_is_read_to_its_end(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.bump")
        page = pilot.app.screen
        for rows in (2, 3, 5):
            words = " ".join(["stand clear of the rod"] * (rows * 80 // 23))
            page.say(words, "caution")  # type: ignore[attr-defined]
            await pilot.pause()
            assert words in read_column(pilot)


async def test_the_gas_cell_cautions_without_an_estimate(drive: Drive, tmp_path: Path) -> None:
    log = tmp_path / "bare.trackside"
    with Logbook.open(log, author="tester", device="d") as logbook:
        event = put("event", {"venue": "Averholme", "date": "2026-05-09"})
        logbook.write(event, put("session", {"event": event.entity, "kind": "practice"}))
    async with drive(log) as pilot:
        await run_sheet_at(pilot, "FL.gas_pressure")
        await until(pilot, lambda: CHARGE.text in read_column(pilot))


@pytest.mark.parametrize("size", SIZES)
async def test_the_damper_record_cautions_where_it_is_opened_and_charged(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("b")
        await drawn(pilot)
        await pilot.press("enter")
        await until(
            pilot, lambda: isinstance(pilot.app.screen, RecordPage) and pilot.app.screen.grid.paths
        )
        await drawn(pilot)
        page = pilot.app.screen
        for key in ("build.gas_pressure", "build.work", "build.needle", "damper.serial"):
            words = whole(cautions.on_record(*key.split(".")))

            def told(key: str = key, words: str = words) -> bool:
                page.grid.go(key)  # type: ignore[attr-defined]
                return words in read_column(pilot)

            await until(pilot, told)


async def test_a_strip_down_is_cautioned_before_it_is_written(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("b")
        await drawn(pilot)
        await pilot.press("B")
        await until(pilot, lambda: "Strip-down of" in screen_text(pilot.app))
        area = pilot.app.screen.query_one("#ask").region
        rows = screen_text(pilot.app).split("\n")[area.y : area.bottom]
        told = " ".join(" ".join(row[area.x + 1 : area.right - 1] for row in rows).split())
        assert whole(cautions.on_record("build", "version")) in told


async def test_the_demo_says_that_its_numbers_are_invented(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    async with drive(season_file) as pilot:
        assert INVENTED in screen_text(pilot.app)
        await pilot.press("Y", "d")
        await drawn(pilot)
        await pilot.press("Y", "P")
        for name in ("board", "debrief"):
            assert INVENTED in (data_folder() / "copied" / f"{name}.txt").read_text("utf-8")
        paper = data_folder() / "paper"
        await until(pilot, lambda: paper.is_dir() and list(paper.glob("*.html")))
        await until(pilot, lambda: "print:" in screen_text(pilot.app))
    assert all(INVENTED in page.read_text("utf-8") for page in paper.glob("*.html"))
    async with drive(tmp_path / "own.trackside") as pilot:
        assert INVENTED not in screen_text(pilot.app)


async def test_bringing_back_cautions_of_what_would_be_done(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("k")
        await pilot.press(*"winner", "enter", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Bring) and pilot.app.screen.plan)
        await pilot.pause()
        bring = pilot.app.screen
        told = " ".join(str(bring.query_one("#plan", Static).content).split())
        assert STANDS.text in told
        assert not any(path.endswith(("spring_rate", "perch")) for path in bring.plan.values)
        assert SPRING.text not in told  # no spring is touched
        assert ("out-lap" in told) == ("Against today's sheet" in told)


async def test_an_out_lap_is_asked_for_at_a_swap_or_an_unknown_and_nowhere_else(
    season_file: Path, drive: Drive
) -> None:
    with Logbook.open(season_file, author="tester") as logbook:
        last = logbook.session("last")
        changed = {"FL.damper": "ZZ-0001", "FL.build": None}
        logbook.write(patch("session", last, changed))
    async with drive(season_file) as pilot:
        for corner, asked in (("FL", True), ("RR", False)):
            sheet = await run_sheet_at(pilot, f"{corner}.rebound_bleed")
            sheet.stand_on(f"{corner}.rebound_bleed")
            await until(pilot, lambda c=corner: f"{c} rebound" in read_column(pilot))
            await pilot.pause(0.1)
            assert ("cautious out-lap" in read_column(pilot)) is asked, corner
