"""Two windows, one value: nothing is overwritten unseen; a person decides, with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.crew.deciding import for_version
from trackside.logbook import Logbook, Write, patch, put
from trackside.records import Reading
from trackside.tui.screens.conflicts import Conflicts

SIZES = [(80, 24), (120, 40)]


def camber(typed: str) -> dict:
    reading = Reading.of_text(typed, "angle")
    assert reading is not None
    return {"FL.camber": reading.body()}


async def _in_conflict(pilot: Pilot[None], season_file: Path) -> Conflicts:
    """Another window sets −3,1 while −2,9 is being typed here; then the page of conflicts."""
    sheet = await run_sheet_at(pilot, "FL.camber")
    desk = sheet.desk
    await pilot.press("-", "2", ",")
    with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
        other.write(patch("session", desk.entity, camber("-3,1")), reason="second gauge")
    await pilot.pause(1.0)  # the change is not drawn under the hand that types
    assert sheet.grid.buffer == "-2,"
    await pilot.press("9", "enter")
    await until(pilot, lambda: desk.disputes.places)
    await until(pilot, lambda: "1 value differs" in screen_text(pilot.app))
    assert sheet.cells.shown("FL.camber").mark == "≠"
    await pilot.press("p")
    await until(pilot, lambda: "! shows every version" in screen_text(pilot.app))
    await pilot.press("!")
    await until(pilot, lambda: isinstance(pilot.app.screen, Conflicts))
    page = pilot.app.screen
    assert isinstance(page, Conflicts)
    await until(pilot, lambda: page.rows)
    return page


@pytest.mark.parametrize("size", SIZES)
async def test_both_sides_stand_on_one_screen_and_one_is_taken(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _in_conflict(pilot, season_file)
        text = screen_text(pilot.app)
        for words in ("FL camber", "before:", "1  ", "2  ", "-3,1", "-2,9", "Otto", "tester",
                      "second gauge", "this laptop", "laptop …ptop-b", "1 to decide"):  # fmt: skip
            assert words in text, words
        entity = page.desk.entity
        taken = page.rows[0].versions[1].value
        await pilot.press("2")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*"asked", "enter")
        await until(pilot, lambda: "No conflicts" in screen_text(pilot.app))
        logbook = page.desk.logbook
        assert (logbook.state(entity) or {})["FL"]["camber"] == taken
        assert logbook.history(entity)[0].reason == "asked"
        assert page.desk.disputes.places == {}
        assert logbook.verify().problems == ()


async def test_a_third_value_can_be_typed(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _in_conflict(pilot, season_file)
        entity = page.desk.entity
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*"-3,0", "enter", *"mean", "enter")
        await until(pilot, lambda: "No conflicts" in screen_text(pilot.app))
        kept = (page.desk.logbook.state(entity) or {})["FL"]["camber"]
        assert kept["typed"] == "-3,0"
        assert kept["si"] == pytest.approx(page.desk.session.si("FL.camber"))


async def test_escape_decides_nothing(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _in_conflict(pilot, season_file)
        await pilot.press("1", "escape", "3")
        await pilot.pause()
        assert "there is no version 3" in screen_text(pilot.app)
        assert len(page.desk.logbook.open_conflicts()) == 1


async def test_words_of_both_can_go_together(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        logbook = pilot.app.desk.logbook  # type: ignore[attr-defined]
        note, _ = logbook.all("note")[0]
        with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
            other.take_up(note)
            logbook.write(patch("note", note, {"words": "pushes"}))
            other.write(patch("note", note, {"words": "late turn"}))
        await pilot.press("!")
        await until(pilot, lambda: getattr(pilot.app.screen, "rows", ()))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press("enter", "enter")
        await until(pilot, lambda: "No conflicts" in screen_text(pilot.app))
        words = (logbook.state(note) or {})["words"]
        assert set(words.split("; ")) == {"pushes", "late turn"}


async def test_another_windows_value_appears_within_about_a_second(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.toe")
        with Logbook.open(season_file, author="Otto") as other:
            other.write(patch("session", sheet.desk.entity, camber("-3,1")))
        await pilot.pause(1.2)
        assert "-3,1" in screen_text(pilot.app)
        assert sheet.desk.disputes.places == {}
        await pilot.press("2", "enter")  # another field: both stand
        sheet.desk.flush()
        assert sheet.desk.logbook.open_conflicts() == []
        state = sheet.desk.logbook.state(sheet.desk.entity) or {}
        assert (state["FL"]["camber"]["typed"], state["FL"]["toe"]["typed"]) == ("-3,1", "2")


async def test_a_decision_about_a_car_reaches_the_shed(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk  # type: ignore[attr-defined]
        car = desk.session.car
        with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
            other.take_up(car)
            desk.logbook.take_up(car)
            desk.logbook.write(patch("car", car, {"name": "Ben"}))
            other.write(patch("car", car, {"name": "Cleo"}))
        await until(pilot, lambda: desk.disputes.places)
        await until(pilot, lambda: desk.shed.cars[car].name in ("Ben", "Cleo"))
        await pilot.pause(0.2)
        stands = desk.shed.cars[car].name
        [dispute] = desk.logbook.open_conflicts()
        [other] = [n for n, version in enumerate(dispute.versions) if version.value != stands]
        desk.settle(for_version(dispute, other), "asked")
        await until(pilot, lambda: desk.shed.cars[car].name == dispute.versions[other].value)


def _damper(counted_from: str) -> tuple[Write, ...]:
    knob = {"acts_on": "rebound_bleed", "clicks": 20, "counted_from": counted_from, "step": 1}
    build = {"damper": "NEW-1", "version": "A", "adjusters": [knob]}
    return put("damper", {"serial": "NEW-1"}), put("build", build)


async def test_a_damper_of_two_laptops_waits_for_a_decision(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    with (
        Logbook.open(season_file, author="Mara", device="laptop-a") as logbook,
        Logbook.open(tmp_path / "theirs", author="Otto", device="laptop-b") as other,
    ):
        logbook.write(*_damper("hard"))
        other.write(*_damper("soft"))
        logbook.take(other.lines(), via="bundle")
    async with drive(season_file) as pilot:
        await until(pilot, lambda: "2 values differ" in screen_text(pilot.app))
        await pilot.press("!")
        await until(pilot, lambda: getattr(pilot.app.screen, "rows", ()))
        page = pilot.app.screen
        assert isinstance(page, Conflicts)
        await pilot.press("down")
        await until(pilot, lambda: "counted soft" in screen_text(pilot.app))
        text = screen_text(pilot.app)
        for words in ("entered twice", "build NEW-1", "counted hard", "Mara", "Otto",
                      "1 counts on every laptop", "they are two things"):  # fmt: skip
            assert words in text, words
        await pilot.press("2")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*"asked", "enter")
        await until(pilot, lambda: "1 to decide" in screen_text(pilot.app))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*"NEW-2", "enter", "enter")
        await until(pilot, lambda: "No conflicts" in screen_text(pilot.app))
        [build] = [b for _, b in page.desk.logbook.all("build") if b["damper"] == "NEW-1"]
        assert build["adjusters"][0]["counted_from"] == "soft"
        serials = [body["serial"] for _, body in page.desk.logbook.all("damper")]
        assert {"NEW-1", "NEW-2"} <= set(serials)
