"""A wanted curve, asked for in the shed: searched, read, planned with Enter."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.cli.test_cli_target import BOX, BUILD
from tests.tui.conftest import Drive, screen_text, settled, until
from trackside.crew.disc_box import DiscBox, read_parts
from trackside.crew.strip_downs import StripDowns
from trackside.errors import NoEstimate
from trackside.logbook import Logbook, put
from trackside.tui.app import Trackside
from trackside.tui.screens.target import TargetAnswers
from trackside.tui.widgets.ask import Ask

SERIAL = "AA-1"


def _text(pilot: Pilot[None]) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


@pytest.fixture
def shop(season_file: Path) -> Path:
    with Logbook.open(season_file, author="Otto", device="other") as logbook:
        logbook.write(put("damper", {"serial": SERIAL}), put("build", {**BUILD, "damper": SERIAL}))
        logbook.write(*DiscBox(logbook).moved(read_parts(BOX)))
    return season_file


async def _ask(pilot: Pilot[None], wanted: str) -> None:
    await pilot.press("b")
    await until(pilot, lambda: SERIAL in _text(pilot))
    await pilot.press("home", "w")
    await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
    await settled(pilot)
    assert f"Wanted curve of {SERIAL}" in _text(pilot)
    pilot.app.screen.query_one("#wanted").value = wanted  # type: ignore[attr-defined]
    await pilot.press("ctrl+s")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_a_curve_is_wanted_and_its_build_is_planned(
    shop: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(shop, size) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await _ask(pilot, "rebound 25 same, 100 +3 %, 300 +10 %")
        await until(pilot, lambda: isinstance(app.screen, TargetAnswers))
        box = app.screen
        assert isinstance(box, TargetAnswers)
        await until(pilot, lambda: box.found is not None, 4000)
        await settled(pilot)
        assert "WANTED CURVE" in _text(pilot)
        first = box.under_cursor
        assert first is not None
        await pilot.press("down")
        assert box.under_cursor is not first
        await pilot.press("f")
        assert "crack = preload" in _text(pilot)
        await pilot.press("home", "enter")
        await until(pilot, lambda: StripDowns(app.desk.logbook).in_hand(SERIAL))
        job = StripDowns(app.desk.logbook).in_hand(SERIAL)
        assert job is not None
        assert job.stage == "planned"
        assert job.record.why == "rebound 25 same, 100 +3 %, 300 +10 %"
        await until(pilot, lambda: "DAMPER SHED" in _text(pilot))


async def test_what_cannot_be_is_said_in_the_form_and_stays_there(shop: Path, drive: Drive) -> None:
    async with drive(shop, (120, 40)) as pilot:
        await _ask(pilot, "rebound 100 900 N, 200 500 N")
        await until(pilot, lambda: "falls with speed" in _text(pilot))
        assert pilot.app.screen.query_one("#wanted").value == "rebound 100 900 N, 200 500 N"  # type: ignore[attr-defined]
        pilot.app.screen.query_one("#wanted").value = "[/ same"  # type: ignore[attr-defined]
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "“[/ same” is no speed and force" in _text(pilot))


async def test_why_there_is_no_search_is_said_to_its_end(
    shop: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line was one row high and cut: what the parts lack stood behind its end."""
    lack = NoEstimate(
        "the rebound parts of AA-1 build A lack the clamp disc's diameter",
        "measure it at the next strip-down and enter it with the build",
    )

    def search(*_: object, **__: object) -> None:
        raise lack

    monkeypatch.setattr("trackside.analysis.valve_search.search", search)
    async with drive(shop, (60, 20)) as pilot:
        await _ask(pilot, "rebound 25 same")
        await until(pilot, lambda: " ".join(str(lack).split()) in _text(pilot))
