"""The debrief: since this driver's last outing, most force first, and what was said."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.tui.conftest import Drive, screen_text, until
from trackside.analysis.changes import changes
from trackside.analysis.recall import outing_before
from trackside.logbook import Logbook, patch
from trackside.tui.screens.debrief import DebriefPage
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]


async def _at(pilot) -> DebriefPage:  # type: ignore[no-untyped-def]
    await pilot.press("d")
    await until(
        pilot, lambda: isinstance(pilot.app.screen, DebriefPage) and pilot.app.screen.sections
    )
    page = pilot.app.screen
    await _settled(pilot, page)
    return page


async def _settled(pilot, page: DebriefPage) -> None:  # type: ignore[no-untyped-def]
    await pilot.pause()
    await until(pilot, lambda: not page.calculating)
    await pilot.pause()


def _texts(page: DebriefPage, title: str) -> list[str]:
    section = next(s for s in page.sections if s.title.startswith(title))
    return [said.text for said in section.said]


@pytest.mark.parametrize("size", SIZES)
async def test_since_the_last_outing_of_the_same_driver(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        desk = page.desk
        before = desk.logbook.session_line(outing_before(desk.logbook, desk.entity))
        assert before.driver == desk.session.driver
        assert before.start in page.sections[0].title
        text = screen_text(pilot.app)
        assert "FL rebound: 2 clicks harder (8 to 6 from full hard)" in text
        assert "cautious out-lap" in text
        assert "Front rebound as in the warm-up" in text, "the reason is on the first screen"
        band = _texts(page, "Force change at the damper")
        # the band is that of the force at the damper: it is said before the wheel is
        assert any(re.search(r"band .* N, .*; [+−]\d+ N at the wheel$", words) for words in band)


async def test_clearest_force_first_and_three_at_most(season_file: Path, drive: Drive) -> None:
    with Logbook.open(season_file, author="tester") as logbook:
        entity = logbook.session_lines(limit=1)[0].entity
        turned = {
            f"{c}.bump_bleed": {"typed": "4", "unit": "", "si": 4.0} for c in ("FL", "RL", "RR")
        }
        logbook.write(patch("session", entity, turned))
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        desk = page.desk
        earlier = desk.logbook.record(outing_before(desk.logbook, desk.entity))
        found = changes(earlier, desk.session, desk.shed, desk.preferences.reference_speeds)
        first = found.forces[0]
        changed, worth = _texts(page, "Changed"), _texts(page, "Force change at the damper")
        told = [text for text in (*changed, *worth) if " %) at " in text]
        assert len(told) == 3
        assert f"{abs(first.step.change[first.clearest]):.0f} N" in told[0]
        assert any(text.startswith("and ") for text in worth)
        assert changed[0].startswith(("rear bump: ", f"{first.corner} {first.direction}: "))


async def test_what_was_said_last_time_and_the_weather(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        assert any("Nose lifts" in text for text in _texts(page, "You said last time"))
        assert "Track: 15 °C → 16 °C" in _texts(page, "Then and now")[0]
        assert any("common practice" in s.title for s in page.sections)
        await pilot.press("end")
        await _settled(pilot, page)
        assert any("That is it." in text for text in _texts(page, "You said about this outing"))
        assert "BESIDE THIS RUN" in screen_text(pilot.app)


async def test_a_note_is_taken_down_here(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        await pilot.press("a")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        await pilot.press(*"quick")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: pilot.app.screen is page)
        await _settled(pilot, page)
        assert any("quick" in text for text in _texts(page, "You said about this outing"))
        notes = page.desk.logbook.notes(page.desk.entity)
        assert any(body["words"] == "quick" for _, body in notes)


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_logbook(tmp_path: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(tmp_path / "empty.trackside", size) as pilot:
        await pilot.press("d")
        await pilot.pause()
        await pilot.press("a", "y", "K", "down", "pagedown")
        await pilot.pause()
        assert isinstance(pilot.app.screen, DebriefPage)
        assert "no session yet" in screen_text(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_the_reason_is_on_the_first_screen_whatever_was_changed(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    def read(typed: str, unit: str, si: float) -> dict[str, object]:
        return {"typed": typed, "unit": unit, "si": si}

    with Logbook.open(season_file, author="tester") as logbook:
        entity = logbook.session_lines(limit=1)[0].entity
        serials = {c: logbook.record(entity).corner(c).damper for c in ("FL", "FR", "RL", "RR")}
        swapped = {"FL": serials["RR"], "FR": serials["RL"], "RL": serials["FR"]}
        values: dict[str, object] = {f"{c}.damper": serial for c, serial in swapped.items()}
        for n, corner in enumerate(serials):
            values |= {
                f"{corner}.spring_rate": read(f"{90 + n}", "N/mm", 90e3 + 1e3 * n),
                f"{corner}.camber": read(f"-{2 + n / 10}", "°", -0.035 - n / 500),
                f"{corner}.bump_bleed": read(f"{n + 1}", "", n + 1.0),
            }
        values |= {"items.Rear wing": "7°", "items.Front bar": "off"}
        logbook.write(patch("session", entity, values))
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        assert "Front rebound as in the warm-up" in screen_text(pilot.app)
        assert len(_texts(page, "Also changed")) > 4
