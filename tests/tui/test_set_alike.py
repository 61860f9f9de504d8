"""The other side of the axle set like the corner under the cursor, with one key."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook import Logbook, patch, put
from trackside.tui.screens.mirror import SetAlike
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]
SPRING = {"typed": "60", "unit": "N/mm", "si": 6e4}
TOE = {"typed": "-1", "unit": "mm", "si": -0.001}
HOT = {"typed": "1.9", "unit": "bar", "si": 1.9e5}


def begun(file: Path, date: str = "2999-05-09") -> str:
    """A session with a left front corner alone; its entity."""
    with Logbook.open(file, author="ann", device="here") as logbook:
        event = put("event", {"venue": "Fen", "date": date})
        corner = {"spring_rate": SPRING, "toe": TOE, "hot_pressure": HOT, "bump_stop": "red"}
        run = put("session", {"event": event.entity, "kind": "test", "FL": corner})
        logbook.write(event, run)
    return run.entity


def flat(pilot) -> str:  # type: ignore[no-untyped-def]
    return " ".join(screen_text(pilot.app).split())


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_side_is_set_at_once_and_a_typed_one_asks(
    tmp_path: Path, drive: Drive, size: tuple[int, int]
) -> None:
    file = tmp_path / "log.trackside"
    run = begun(file)
    async with drive(file, size) as pilot:
        desk = pilot.app.desk
        await run_sheet_at(pilot, "FL.spring_rate")
        await pilot.press("equals_sign")
        await until(pilot, lambda: "FR set like FL: spring – → 60" in flat(pilot))
        assert "u takes them back" in flat(pilot)
        desk.flush()
        state = desk.logbook.state(run)
        assert state["FR"] == {"spring_rate": SPRING, "toe": TOE, "bump_stop": "red"}
        await pilot.press("equals_sign")
        await until(pilot, lambda: "FR is like FL already" in flat(pilot))

        await pilot.press("right", *"70", "enter", "left", "up", "equals_sign")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetAlike))
        assert "Set FR like FL? 1 value differs there." in flat(pilot)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert desk.session.si("FR.spring_rate") == 7e4
        await pilot.press("equals_sign")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetAlike))
        await pilot.press("x", "enter")
        await until(pilot, lambda: desk.session.si("FR.spring_rate") == 6e4)
        await pilot.press("u", "u")
        await until(pilot, lambda: desk.session.si("FR.spring_rate") == 7e4)


async def test_after_the_event_a_correction_asks_for_its_reason(
    tmp_path: Path, drive: Drive
) -> None:
    file = tmp_path / "log.trackside"
    run = begun(file, "2020-05-09")
    async with drive(file) as pilot:
        desk = pilot.app.desk
        await run_sheet_at(pilot, "FL.spring_rate")
        desk.keep_text("FR.spring_rate", "70")
        await pilot.press("equals_sign")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetAlike))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        await pilot.press(*"misread", "enter")
        await until(pilot, lambda: desk.session.si("FR.spring_rate") == 6e4)
        desk.flush()
        assert desk.logbook.history(run)[0].reason == "misread"


async def test_what_another_window_wrote_meanwhile_is_kept_as_a_conflict(
    tmp_path: Path, drive: Drive
) -> None:
    file = tmp_path / "log.trackside"
    run = begun(file)
    async with drive(file) as pilot:
        desk = pilot.app.desk
        await run_sheet_at(pilot, "FL.spring_rate")
        await pilot.press("right", *"70", "enter", "left", "up", "equals_sign")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetAlike))
        desk.flush()
        other = {"typed": "80", "unit": "N/mm", "si": 8e4}
        with Logbook.open(file, author="bob", device="there") as logbook:
            logbook.write(patch("session", run, {"FR.spring_rate": other}))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        desk.flush()
        [conflict] = desk.logbook.open_conflicts()
        assert (conflict.path, {v.value["typed"] for v in conflict.versions}) == (
            "FR.spring_rate",
            {"60", "80"},
        )
