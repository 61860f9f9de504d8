"""A setting is carried on, a reading is not: what the pages claim of a session just opened, of a
damper just swapped, and after a strip-down."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.analysis.estimate import estimate
from trackside.analysis.last_read import LastReadings
from trackside.logbook import Logbook, patch, put
from trackside.logbook.dampers import builds_of, strip_down
from trackside.records import Session
from trackside.records.fields import CORNER_FIELDS, CORNERS, OF_THE_DAMPER, SESSION_FIELDS, field_of
from trackside.reports.limits import limit_lines
from trackside.tui.screens.sheet import Sheet
from trackside.tui.screens.which_build import WhichBuild
from trackside.tui.widgets.cells import UNKNOWN

SIZES = [(80, 24), (120, 40)]
READ = [name for name, field in SESSION_FIELDS.items() if field.is_read] + [
    f"{corner}.{name}"
    for corner in CORNERS
    for name, field in CORNER_FIELDS.items()
    if field.is_read
]


def _line(sheet: Sheet, path: str) -> str:
    """The cell of that path as it is drawn, its label left out."""
    grid = sheet.grid
    strip = grid.render_line(grid.places.line_of[path] - grid._top)
    text = "".join(segment.text for segment in strip)
    column = grid.places.column_of(grid.cell(path))
    width = grid._block_width() + grid.gap
    return text[column * width + grid.label_width : (column + 1) * width].strip()


@pytest.mark.parametrize("size", SIZES)
async def test_a_new_session_claims_no_reading(
    season_file: Path, drive: Drive, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with drive(season_file, size) as pilot:
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        desk = pilot.app.desk
        assert [path for path in READ if desk.session.value(path) is not None] == []
        assert desk.session.lap_times == ()
        for path in READ:
            sheet = await run_sheet_at(pilot, path)
            shown = _line(sheet, path)
            assert shown.startswith(UNKNOWN)
            told = shown.removeprefix(UNKNOWN).strip()
            summed = path == "tyre_age" and told.endswith("(from the runs)")
            assert summed or not told or told.split()[0].rstrip(":") == "last"
        sheet = await run_sheet_at(pilot, "lap_times")
        assert _line(sheet, "lap_times") == UNKNOWN


@pytest.mark.parametrize("size", SIZES)
async def test_the_last_reading_is_dated_and_of_that_damper(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("n")
        desk = pilot.app.desk
        desk.keep_text("start", "2026-10-19 10:00")
        await run_sheet_at(pilot, "FL.gas_pressure")
        shown = " ".join(screen_text(pilot.app).split())
        assert "last: 15.20 bar at 11 °C, 18 Oct" in shown
        assert "nitrogen" in shown, "the caution is still there"
        # FR's damper of May is in the workshop: its last reading is May's, and in another year
        desk.keep_text("FR.damper", "FP-0612")
        desk.keep_text("start", "2027-04-01 10:00")
        page = pilot.app.screen
        assert page.cells.last_read("FR.gas_pressure")[0] == "last: 16.00 bar at 22 °C, 10 May 2026"
        desk.keep_text("FR.damper", "SA-3112")
        assert desk.last_read("FR.gas_pressure") is None, "nobody ever read this one"
        assert page.cells.last_read("FL.hot_pressure")[0].endswith("18 Oct 2026")


async def test_a_setting_that_was_emptied_looks_unknown(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        await pilot.press("n")
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("delete")
        await pilot.pause()
        assert sheet.desk.session.value("FL.rebound_bleed") is None
        assert _line(sheet, "FL.rebound_bleed") == UNKNOWN
        await pilot.press("7")
        await pilot.press("enter")
        await pilot.pause()
        assert "was 6" in _line(sheet, "FL.rebound_bleed")


async def test_the_unknown_sign_is_in_the_help(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("question_mark")
        await pilot.pause()
        assert "unknown" in screen_text(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_a_swap_clears_what_was_the_other_dampers(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("n")
        desk = pilot.app.desk
        desk.keep_text("FL.gas_pressure", "15.0")
        desk.keep_text("FL.gas_temperature", "12")
        desk.keep_text("FL.spring_rate", "160")
        sheet = await run_sheet_at(pilot, "FL.damper")
        before = desk.session
        sheet.grid.edit("FP-0619")
        await pilot.press("enter")
        await pilot.pause()
        now = desk.session.FL
        assert (now.damper, now.build) == ("FP-0619", "C")
        # FP-0619 counts 16 from soft, FP-0611 20 from hard: its counts say nothing here
        assert (now.bump_bleed, now.rebound_bleed) == (None, None)
        assert all(now.value(name) is None for name in OF_THE_DAMPER)
        assert now.si("spring_rate") == before.FL.si("spring_rate"), "the spring stays on the car"
        told = " ".join(screen_text(pilot.app).split())
        assert "FL cleared: bump 10, rebound 6" in told
        assert "16 from full soft now" in told
        assert "Ctrl-U restores them" in told, "the cursor went on to a cell where u is text"
        desk.flush()
        desk.logbook.undo()
        desk.again()
        assert desk.session == before, "one step of undo"


async def test_counts_stay_on_a_damper_that_counts_alike(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("n")
        desk = pilot.app.desk
        desk.keep_text("FL.damper", "FP-0612")  # 20 from full hard, as FP-0611
        assert desk.session.FL.si("rebound_bleed") == 6
        desk.keep_text("FL.damper", "NOT-IN-THE-SHED")
        assert desk.session.FL.rebound_bleed is None, "from which end, nobody knows"
        desk.keep_text("FL.rebound_bleed", "5")
        desk.keep_text("FL.damper", "FP-0611")
        assert desk.session.FL.si("rebound_bleed") == 5, "a name put right keeps what was typed"


async def test_a_serial_put_right_after_the_run_keeps_what_was_read(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        await run_sheet_at(pilot, "FL.damper")
        assert desk.session.ran
        gas = desk.session.FL.gas_pressure
        desk.keep_text("FL.damper", "FP-0612")
        assert gas is not None
        assert desk.session.FL.gas_pressure == gas


def _stripped(season: Path, *serials: str) -> None:
    with Logbook.open(season, device="shop") as logbook:
        for serial in serials:
            logbook.write(strip_down(logbook, serial, "softer rebound stack"))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("key", "build"), [("enter", "B"), ("1", "B"), ("b", "B"), ("2", "A"),
                                            ("a", "A")])  # fmt: skip
async def test_after_a_strip_down_one_key_says_which_build(
    season_file: Path, drive: Drive, size: tuple[int, int], key: str, build: str
) -> None:
    _stripped(season_file, "FP-0611")
    async with drive(season_file, size) as pilot:
        desk = pilot.app.desk
        was = desk.entity
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhichBuild))
        shown = " ".join(screen_text(pilot.app).replace("┃", " ").split())
        assert "FL FP-0611: build A ran, build B is newer" in shown
        assert "softer rebound stack" in shown
        await pilot.press(key)
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert desk.entity != was
        assert (desk.session.FL.damper, desk.session.FL.build) == ("FP-0611", build)
        assert desk.session.FL.si("rebound_bleed") == 6
        assert desk.session.FR.build == "C"


async def test_leaving_the_question_opens_no_session(season_file: Path, drive: Drive) -> None:
    _stripped(season_file, "FP-0611", "FP-0619")
    async with drive(season_file) as pilot:
        was = pilot.app.desk.entity
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhichBuild))
        shown = screen_text(pilot.app)
        assert "FL FP-0611: build A ran" in shown
        assert "FR FP-0619: build C ran" in shown
        await pilot.press("x", "escape")
        await pilot.pause()
        assert not isinstance(pilot.app.screen, WhichBuild)
        assert pilot.app.desk.entity == was


async def test_a_knob_changed_at_the_strip_down_loses_its_count(
    season_file: Path, drive: Drive
) -> None:
    _stripped(season_file, "FP-0611")
    with Logbook.open(season_file, device="shop") as logbook:
        entity, body = builds_of(logbook, "FP-0611")[-1]
        assert body["version"] == "B"
        knobs = [dict(k) for k in body["adjusters"]]
        next(k for k in knobs if k["acts_on"] == "rebound_bleed")["clicks"] = 24
        logbook.write(patch("build", entity, {"adjusters": knobs}))
    async with drive(season_file) as pilot:
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhichBuild))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        sheet = pilot.app.desk.session.FL
        assert (sheet.rebound_bleed, sheet.si("bump_bleed")) == (None, 10)
        assert "FL cleared: rebound 6 (24 from full hard now)" in screen_text(pilot.app)


async def test_no_strip_down_no_question(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))


async def test_nothing_is_calculated_from_yesterdays_charge(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        speeds = desk.preferences.reference_speeds

        def limits() -> str:
            found = estimate(desk.session, "FL", "bump", desk.shed, speeds)
            return "\n".join(limit_lines(found, desk.session, desk.shed, desk.preferences))

        await run_sheet_at(pilot, "FL.bump_bleed")
        assert "holds" in limits()
        await pilot.press("n")
        assert "holds" not in limits()
        assert "cavitation not known: the charge at FL was not read in this session" in limits()


async def test_gas_lost_since_it_was_last_read_is_told_over_sessions_without_a_reading(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("n")
        desk = pilot.app.desk
        desk.keep_text("status", "done")
        await pilot.press("n")
        sheet = await run_sheet_at(pilot, "FL.gas_pressure")
        desk.keep_text("FL.gas_temperature", "11")
        desk.keep_text("FL.gas_pressure", "13.9")
        assert "less than the" in sheet.cells.problem("FL.gas_pressure")
        desk.keep_text("FL.gas_pressure", "15.0")
        assert sheet.cells.problem("FL.gas_pressure") == ""


async def test_a_bring_back_brings_settings_and_no_reading(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        was = pilot.app.desk.entity
        await pilot.press("k")
        await until(pilot, lambda: getattr(pilot.app.screen, "rows", None))
        await pilot.press("escape", "down", "enter")  # the first one is the current session
        await until(pilot, lambda: getattr(pilot.app.screen, "plan", None) is not None)
        found = pilot.app.screen.plan
        assert [p for p in found.values if field_of(p).is_read] == []
        assert any(
            {"gas_pressure", "cold_pressure"} <= set(one) for one in found.read_then.values()
        )
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        session = pilot.app.desk.session
        assert pilot.app.desk.entity != was
        assert [path for path in READ if session.value(path) is not None] == []
        assert session.FL.hot_target is not None, "a target is a setting"


def test_the_last_reading_is_found_in_a_long_season(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "long.trackside", device="t") as logbook:
        car = put("car", {"name": "C"})
        gas = {"typed": "15", "unit": "bar", "si": 15e5}
        old = {"car": car.entity, "start": "2026-01-01 10:00"}
        old |= {"FL": {"damper": "D", "gas_pressure": gas}}
        logbook.write(car, put("session", old))
        for n in range(60):
            body = {"car": car.entity, "start": f"2026-02-{1 + n // 24:02}  {n % 24:02}:00"}
            logbook.write(put("session", body | {"FL": {"damper": "D"}}))
        newest = logbook.session_lines(limit=1)[0].entity
        session = Session.checked(logbook.state(newest) or {})
        found = LastReadings(logbook).at(newest, session, "FL.gas_pressure")
        assert found is not None
        assert (found.day, found.si) == ("2026-01-01", 15e5)


async def test_after_a_damper_its_first_adjuster_is_typed(season_file: Path, drive: Drive) -> None:
    """The build comes with the damper: a number typed next is no name of a build."""
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.damper")
        other = next(d.serial for d in sheet.desk.shed.dampers if d.serial != "FP-0611")
        await pilot.press("enter", *other, "enter", "7", "enter")
        await until(pilot, lambda: sheet.desk.session.FL.bump_bleed is not None)
        assert sheet.desk.session.FL.damper == other
        assert sheet.desk.session.FL.bump_bleed.typed == "7"
        assert sheet.desk.session.FL.build in {"A", "B", "C"}


@pytest.mark.parametrize("size", SIZES)
async def test_what_the_lap_times_give_is_shown_and_not_written(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("n")
        desk = pilot.app.desk
        sheet = await run_sheet_at(pilot, "lap_times")
        desk.keep_text("lap_times", "1:50 out 1:35.2 1:34.9 1:20 in")
        sheet.redraw()
        for path, words in (("best_lap", "1:34.900"), ("laps", "2 timed laps")):
            sheet = await run_sheet_at(pilot, path)
            assert _line(sheet, path).split(maxsplit=1)[1].startswith(words)
            assert f"{words} (from the lap times)" in " ".join(screen_text(pilot.app).split())
            assert desk.session.value(path) is None
        sheet.grid.go("lap_times")
        desk.keep_text("best_lap", "1:35.2")
        sheet.redraw()
        sheet = await run_sheet_at(pilot, "best_lap")
        assert _line(sheet, "best_lap").split() == ["1:35.2", "!"]
        said = "1:35.2 is not the best of the lap times, 1:34.900"
        assert said in " ".join(screen_text(pilot.app).split())
