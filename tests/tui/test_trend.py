"""The trend: every session of the car, oldest left, gaps with their reason, changes marked."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.tui.conftest import Drive, screen_text, until
from trackside.analysis.recall import ordered_sessions
from trackside.analysis.trend import trend
from trackside.preferences import Preferences
from trackside.tui.app import build
from trackside.tui.screens.sheet import Sheet
from trackside.tui.screens.trend import TrendPage
from trackside.tui.trendline import chart, force_words, in_chart, window

SIZES = [(80, 24), (120, 40)]


async def _at(pilot) -> TrendPage:  # type: ignore[no-untyped-def]
    await pilot.press("t")
    await until(pilot, lambda: isinstance(pilot.app.screen, TrendPage) and pilot.app.screen.rows)
    page = pilot.app.screen
    await _settled(pilot, page)
    return page


async def _settled(pilot, page: TrendPage) -> None:  # type: ignore[no-untyped-def]
    await pilot.pause()
    await until(pilot, lambda: not page.calculating)
    await pilot.pause()


@pytest.mark.parametrize("size", SIZES)
async def test_sessions_of_this_car_in_order(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        starts = [row.start for row in page.rows]
        assert starts == sorted(starts)
        lines = page.desk.logbook.session_lines(car=page.desk.session.car)
        assert len(page.rows) == len(lines)
        assert page.cursor == len(page.rows) - 1
        text = screen_text(pilot.app)
        assert "FL rebound at 50 mm/s" in text
        assert "6/20 hard" in text
        assert "2 harder" in text
        assert "bars: best lap, ▁ 1:33.402 to █ 1:37.904" in text


async def test_points_are_those_of_the_review(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        desk = page.desk
        sessions = ordered_sessions(desk.logbook, desk.session.car)
        told = trend(sessions, "FL", "rebound", desk.shed, desk.preferences.reference_speeds)
        assert [row.point.moved for row in page.rows] == [point.moved for point in told]
        gaps = [row for row in page.rows if row.point.estimate is None]
        assert len(gaps) == 1
        assert "FP-0625" in gaps[0].point.why  # the spare that was never on a dyno


async def test_the_cursor_says_why_there_is_a_gap(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        page = await _at(pilot)
        for _ in range(20):
            if page.rows[page.cursor].point.estimate is None:
                break
            await pilot.press("left")
            await pilot.pause()
        await _settled(pilot, page)
        text = screen_text(pilot.app)
        assert "no dyno sheet and no shop rule" in text
        assert "05-09 P2" in text


async def test_speed_direction_corner_and_open(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        await pilot.press(",", ",", "x", "]")
        await _settled(pilot, page)
        assert "FR bump at 25 mm/s" in screen_text(pilot.app)
        await pilot.press(".")
        await pilot.press("left", "left", "right")
        await _settled(pilot, page)
        wanted = page.rows[-2].point.session
        assert page.rows[page.cursor].point.session == wanted
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert pilot.app.desk.entity == wanted


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_logbook(tmp_path: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(tmp_path / "empty.trackside", size) as pilot:
        await pilot.press("t")
        await pilot.pause()
        await pilot.press("left", "right", ",", ".", "x", "]", "enter", "down")
        await pilot.pause()
        assert "no session yet" in screen_text(pilot.app)


def test_the_window_holds_the_cursor_and_fits() -> None:
    for count in (1, 2, 9, 200):
        for cursor in range(count):
            for room in (2, 7, 17, 300):
                shown = window(count, cursor, room)
                assert cursor in shown
                assert len(shown) == min(count, room)
                assert 0 <= shown.start <= shown.stop <= count


@pytest.mark.parametrize("size", [(60, 20), *SIZES], ids=str)
async def test_no_force_of_the_list_is_cut_in_pounds(
    season_file: Path, size: tuple[int, int]
) -> None:
    app = build(season_file, Preferences(author="tester", preset="imperial"))
    async with app.run_test(size=size) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        page = await _at(pilot)
        shown = screen_text(app)
        for row in list(page.rows)[-4:]:
            told = force_words(row, page.at_speed, app.desk.preferences, with_unit=size[0] > 100)
            assert len(told) >= len("162.1 ±4.4")
            assert f" {told} " in shown


@pytest.mark.parametrize("size", [(60, 20), *SIZES], ids=str)
async def test_the_chart_says_what_the_list_says(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        rows, desk = list(page.rows), page.desk
        room = page.query_one("#trend-chart").size
        drawing = chart(rows, 9, page.at_speed, "FL", desk.preferences, room.width, room.height)
        head, *lines = drawing.plain().split("\n")
        told = force_words(rows[9], page.at_speed, desk.preferences, with_unit=False)
        assert head.rstrip().endswith(f"{rows[9].name}: {told}")
        axis = {n: float(line.split("┤")[0]) for n, line in enumerate(lines) if "┤" in line}
        (first, top), (last, bottom) = min(axis.items()), max(axis.items())
        cell = (top - bottom) / (last - first)
        marked = sorted(
            (c, n) for n, line in enumerate(lines) for c, g in enumerate(line) if g in "●◆"
        )
        shown = [rows[n] for n in in_chart(len(rows), 9, room.width)]
        known = [row for row in shown if row.point.estimate is not None]
        assert len(marked) == len(known)
        for (_, n), row in zip(marked, known, strict=True):
            force = float(row.point.estimate.force[page.at_speed])
            assert abs(bottom + (last - n) * cell - force) <= cell / 2 * 1.001
        bars = [match.start() + 1 for match in re.finditer("[▁▂▃▄▅▆▇█]{3}", lines[-1])]
        assert len(bars) == sum(row.best_lap is not None for row in shown)
        assert {column for column, _ in marked} <= set(bars), "each lap below its session"
