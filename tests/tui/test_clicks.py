"""The click map: numbers move with the knob, bands and noise are said, nothing is guessed."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from textual.widgets import Static

from tests.tui.conftest import Drive, screen_text, until
from trackside.analysis.axle import axles
from trackside.analysis.estimate import estimate
from trackside.analysis.warm_oil import Warm
from trackside.analysis.worth import click_worth
from trackside.errors import NoEstimate
from trackside.preferences import Preferences
from trackside.tui import clickmap
from trackside.tui.screens.clicks import Clicks

SIZES = [(80, 24), (120, 40)]


async def _at(pilot) -> Clicks:  # type: ignore[no-untyped-def]
    await pilot.press("c")
    await until(pilot, lambda: isinstance(pilot.app.screen, Clicks) and pilot.app.screen.found)
    page = pilot.app.screen
    await _settled(pilot, page)
    return page


async def _settled(pilot, page: Clicks) -> None:  # type: ignore[no-untyped-def]
    await pilot.pause()
    await until(pilot, lambda: not page.calculating)
    await pilot.pause()


@pytest.mark.parametrize("size", SIZES)
async def test_position_forceband_and_basis_are_on_the_screen(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        text, found, desk = screen_text(pilot.app), page.found, page.desk
        assert found is not None
        assert "FL rebound 6 of 20 from full hard" in text
        assert "between measured positions · sheet FP-0611-A" in text
        speeds = desk.preferences.reference_speeds
        told = estimate(desk.session, "FL", "rebound", desk.shed, speeds)
        for i, rod in enumerate(speeds):
            half = (told.high[i] - told.low[i]) / 2
            row = f"{rod * 1000:.0f} {told.force[i]:.0f} {half:.0f}"
            assert any(" ".join(line.split()).find(row) >= 0 for line in text.split("\n")), row


async def test_a_click_harder_moves_the_position_and_the_numbers(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        first = page.found.estimate.force
        await pilot.press("h")
        await _settled(pilot, page)
        assert page.desk.session.si("FL.rebound_bleed") == 5
        assert "FL rebound 5 of 20 from full hard" in screen_text(pilot.app)
        assert (page.found.estimate.force > first).all()  # harder is never less force
        await pilot.press("u", "u")
        await _settled(pilot, page)
        assert page.desk.session.si("FL.rebound_bleed") == 6


async def test_both_sides_each_by_its_own_counting(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        await pilot.press("H")
        await _settled(pilot, page)
        session = page.desk.session
        # FL counts from full hard, FR from full soft: harder is down here, up there
        assert (session.si("FL.rebound_bleed"), session.si("FR.rebound_bleed")) == (5, 13)


async def test_at_the_stop_it_says_so(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        await pilot.press(*"hhhhhhh")
        await _settled(pilot, page)
        text = screen_text(pilot.app)
        assert page.desk.session.si("FL.rebound_bleed") == 0
        assert "is at its stop" in text
        assert "stop" in text.split("mm/s")[-1]


async def test_corner_direction_and_knob(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        await pilot.press("]", "]", "x")
        await _settled(pilot, page)
        assert (page.found.at.corner, page.found.at.direction) == ("RL", "bump")
        await pilot.press("o")
        await _settled(pilot, page)
        assert page.found.in_hand.acts_on == "bump_preload"
        before = page.desk.session.si("RL.bump_preload")
        await pilot.press("h")
        await _settled(pilot, page)
        assert page.desk.session.si("RL.bump_preload") == before + 1  # counted from full soft
        await pilot.press("[")
        await _settled(pilot, page)
        assert page.found.at.corner == "FR"


async def test_a_change_within_the_noise_is_marked(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        await pilot.press("]", "]", "x", "o")  # RL bump preload: nothing below the crack force
        await _settled(pilot, page)
        desk = page.desk
        worths = click_worth(desk.session, "RL", desk.shed, desk.preferences.reference_speeds)
        preload = next(w for w in worths if w.adjuster.acts_on == "bump_preload")
        steps = [step for step in (preload.harder, preload.softer) if step is not None]
        marks = sum(int(step.in_noise.sum()) for step in steps)
        assert marks
        body = screen_text(pilot.app).rpartition("bands and")[0] or screen_text(pilot.app)
        assert body.replace("≈ within", "").count("≈") == marks


@pytest.mark.parametrize("size", SIZES)
async def test_what_is_not_known_is_said(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        page.desk.keep_text("FL.damper", "")
        page.redraw()
        await _settled(pilot, page)
        assert "no damper is entered at FL" in screen_text(pilot.app)
        await pilot.press("h")
        await pilot.pause()
        assert "no knob on record" in screen_text(pilot.app)


async def test_a_session_before_without_an_estimate_leaves_the_map_standing(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        page = await _at(pilot)
        await pilot.press("h")
        await _settled(pilot, page)
        before = page.found.before
        assert before is not None
        assert "before" in screen_text(pilot.app)
        told = page.curves.at

        def at(setting, subject):  # type: ignore[no-untyped-def]
            if setting == before:
                raise NoEstimate("nothing is known of that build", "enter its sheet")
            return told(setting, subject)

        monkeypatch.setattr(page.curves, "at", at)
        page.show()
        await _settled(pilot, page)
        assert page.found is not None
        assert "FL rebound 5 of 20" in screen_text(pilot.app)


async def test_a_step_without_an_estimate_is_not_called_a_stop(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        found = (await _at(pilot)).found
        knob, worth = found.knobs[0]
        why = "the sheet holds one position: measure another."
        lame = replace(worth, harder=None, no_harder=why)
        told = [line.plain for line in clickmap.tables(replace(found, knobs=((knob, lame),)), True)]
        assert f"1 harder: {why}" in told
        assert not any("stop" in line for line in told)
        at_stop = replace(worth, softer=None)
        told = [
            line.plain for line in clickmap.tables(replace(found, knobs=((knob, at_stop),)), True)
        ]
        assert sum("stop" in line for line in told) == len(found.estimate.speed)


@pytest.mark.parametrize("size", [(60, 20), *SIZES], ids=str)
async def test_every_line_of_the_chart_has_a_sign_and_a_name(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        await pilot.press("h")
        await _settled(pilot, page)
        curve = page.query_one("#curve", Static)
        for height in (9, 12, 20, 34):
            drawing = clickmap.chart(page.found, page.curves, min(curve.size.width, 78), height)
            lines = [line.rstrip() for line in drawing.plain().split("\n")]
            named = {end.group(1) for line in lines if (end := re.search(NAMED, line))}
            assert {"●", "◇", "a"} < named
            assert len(named) == 2 + sum(glyph in clickmap.LETTERS for glyph in named)
            canvas = "".join(re.sub(NAMED, "", line) for line in lines[1:])
            assert named <= set(canvas), "each name's sign stands on its line"
            assert set(canvas) & set(clickmap.LETTERS) <= named, "no line without a name"
            assert lines[0].startswith("N   ● as in the table")


NAMED = re.compile(r" ([●◇◆a-h]) (\d+( full hard| full soft)?|before \d+|FL \d+|oil at .*)$")


@pytest.mark.parametrize("warmer", [0.0, 0.2, 30.0])
async def test_warm_oil_is_drawn_where_it_can_be_told(
    season_file: Path, drive: Drive, warmer: float
) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        page = await _at(pilot)
        found = page.found
        by = 1 - warmer / 100
        cold = page.curves.at(found.at, found.subject)
        first = found.estimate
        both = (np.concatenate([getattr(one, name) for one in (first, cold)])
                for name in ("speed", "force", "low", "high"))  # fmt: skip
        speed, force, low, high = both
        warm = replace(first, speed=speed, force=force * by, low=low * by, high=high * by)
        told = replace(found, warm=Warm(warm, 32.0, 61.0, "nothing"))
        text = clickmap.chart(told, page.curves, 70, 20).plain()
        assert ("◆ oil at 61 °C" in text) == (text.count("◆") > 0) == (warmer > 1)
        assert clickmap.warm_oil(told)[0].startswith("warm oil, 61 °C for the sheet's 32 °C (N): ")


def test_the_warm_curve_is_labelled_in_the_crews_degrees() -> None:
    """212 °F is 100 °C by definition of the scales."""
    crew = Preferences(units={"temperature": "°F"})
    assert clickmap._degrees(100.0, crew) == "212 °F"


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_logbook(tmp_path: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(tmp_path / "empty.trackside", size) as pilot:
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("h", "x", "]", "o", "S")
        await pilot.pause()
        assert "no session yet" in screen_text(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_one_key_shows_the_whole_car(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _at(pilot)
        await pilot.press("a")
        await _settled(pilot, page)
        desk, text = page.desk, screen_text(pilot.app)
        found = axles(desk.session, desk.shed, desk.preferences.reference_speeds)
        for n, v in enumerate(found.speed):
            row = " ".join([f"{1000 * v:.0f}", *(f"{r[n]:.2f}" for r in found.ratios.values())])
            assert any(row in " ".join(line.split()) for line in text.split("\n")), row
        assert "no bars, no tyres" in text
        await pilot.press("h")
        await _settled(pilot, page)
        after = axles(page.desk.session, desk.shed, desk.preferences.reference_speeds)
        assert after.front.ratio[1] > found.front.ratio[1]
        assert f"{after.front.ratio[1]:.2f}" in screen_text(pilot.app)
        await pilot.press("a")
        await _settled(pilot, page)
        assert "FL rebound 5 of 20 from full hard" in screen_text(pilot.app)
