"""An app behind a browser that comes back after a lost line: at once, and it forgets no place."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import until
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.tui.app import Trackside, build
from trackside.tui.touch import PLACE


@pytest.mark.parametrize("page", ["sheet", "clicks", "trend", "debrief", "shelf", "shed"])
async def test_it_comes_back_before_the_dyno_sheets_are_read(
    page: str, season_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a slow machine the sheets take long: a tap on the pit board meanwhile would go astray,
    and a second lost line would find that the place was the pit board."""
    with Logbook.open(season_file, read_only=True) as logbook:
        session = logbook.session("last-1")
    place = f"{page} {session} RR rebound" + " RR.gas_pressure" * (page == "sheet")
    monkeypatch.setenv(PLACE, place)
    monkeypatch.setattr(Trackside, "_read_shed", lambda *_: None)
    app = build(season_file, Preferences(author="tester"))
    told: list[dict[str, object]] = []
    app.browser.tell = told.append
    app.browser.tell_place()
    assert told == []
    async with app.run_test(size=(80, 24)) as pilot:
        await until(
            pilot, lambda: app.page_name == page and getattr(app.screen, "PAGE", "") == page
        )
        assert (app.desk.entity, app.view.corner, app.desk.shed) == (session, "RR", None)
        await pilot.pause(0.1)
        app.browser.tell_place()
    assert not [said for said in told if str(said["place"]).startswith("board")]
    assert told[-1]["place"] == place
