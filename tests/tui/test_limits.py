"""Limits of a corner in words, the present build against the one before, and the parts' own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from textual.widgets import Static

from tests.analysis.garage import SHED, SPEEDS, corner
from tests.analysis.test_parts import BUILD, changed
from tests.tui.conftest import Drive, screen_text, until
from trackside.analysis.estimate import estimate
from trackside.analysis.shed import Shed
from trackside.preferences import Preferences
from trackside.records import Car, CarCorner, Damper, Reading, Session
from trackside.reports.bench_words import build_lines
from trackside.reports.limits import CAVITATES, limit_lines
from trackside.reports.revalving import present_lines
from trackside.reports.sister_words import next_run_lines
from trackside.tui.screens.clicks import Clicks
from trackside.tui.screens.shed import ShedPage

PREFERENCES = Preferences()
CAR = Car(name="Car", stops="red = 50/1/20", FL=CarCorner(motion_ratio=0.8, stop_gap=0.02))
KNOWN = Shed(builds=(BUILD,), cars={"car": CAR})


def _lines(direction: str = "bump", shed: Shed = KNOWN, **more: object) -> list[str]:
    session = Session(car="car", FL=corner("NEW", 8, 8, **more))
    found = estimate(session, "FL", direction, shed, SPEEDS)
    return limit_lines(found, session, shed, PREFERENCES)


def test_only_what_is_known_is_said() -> None:
    gas, discs = _lines()
    assert gas == "cavitation not known: the charge at FL was not read in this session"
    assert discs.startswith("discs: above ")
    assert "our own limit, no source" in discs
    assert len(_lines("rebound", gas_pressure=Reading.of_si(15e5, "pressure"))) == 1


def test_gas_and_stop_in_bump() -> None:
    no_packers = Reading.of_si(0.0, "length")
    weak, rich = (
        _lines(gas_pressure=Reading.of_si(p, "pressure"), bump_stop="red", packers=no_packers)
        for p in (0.5e5, 40e5)
    )
    assert "0.50 bar holds" in weak[0]
    assert CAVITATES in weak[0]
    assert CAVITATES not in rich[0]
    # gap 20 mm at MR 0.8 is 25 mm at the wheel; derived
    assert "bump stop red: works from 25.0 mm of wheel travel" in rich[1]
    packed = _lines(bump_stop="red", packers=Reading.of_si(0.024, "length"))
    assert "already at static" in packed[1]
    # neither a stop that the car does not know, nor packers that nobody entered
    for unknown in ("green", "red"):
        assert not any("works from" in line for line in _lines(bump_stop=unknown))


def test_a_build_after_another_and_its_parts() -> None:
    after = changed(version="B", bump_stack="30×0.20 ×4, 24×0.20, 18×0.20")
    shed = Shed(builds=(BUILD, after))
    lines = present_lines("NEW", shed, (corner("NEW", 5, 8),), PREFERENCES)
    text = "\n".join(line for _, line in lines)
    assert "bump after build A at 5:" in text
    assert "rebound after build A at 8:" in text
    assert "by the parts; this build was never measured" in text
    assert "bump calculated from the parts, never on a bench, knob half open" in text
    assert all(len(line) <= 78 for style, line in lines if style == "underline")
    half = "\n".join(line for _, line in present_lines("NEW", shed, (), PREFERENCES))
    assert "bump after build A at 10:" in half


def test_incomplete_parts_say_what_they_lack() -> None:
    parts = BUILD.bump_parts.model_copy(update={"spacer": None})  # type: ignore[union-attr]
    shed = Shed(builds=(changed(bump_parts=parts),))
    assert any("the spacer" in line for _, line in present_lines("NEW", shed, (), PREFERENCES))


def test_measured_builds_and_bare_ones_add_no_clutter() -> None:
    """Of a measured build the bench run that is worth most, and no more."""
    next_run = list(next_run_lines(SHED.build("HARD"), SHED, (), PREFERENCES))
    assert present_lines("HARD", SHED, (), PREFERENCES) == next_run
    assert present_lines("nobody", SHED, (), PREFERENCES) == []
    two = replace(SHED, builds=(*SHED.builds, changed(SHED.build("BARE"), version="B")))
    assert present_lines("BARE", two, (), PREFERENCES) == []


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_shed_shows_before_and_after(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("b")
        await until(pilot, lambda: isinstance(pilot.app.screen, ShedPage))
        page = pilot.app.screen
        assert isinstance(page, ShedPage)
        await until(pilot, lambda: page.places)
        page.wanted = "TW-2241"
        page.redraw()
        words = page.query_one("#words", Static)
        await until(pilot, lambda: "bump after build A at" in str(words.content))
        text = str(words.content)
        assert text.index("Build B") < text.index("bump after build A") < text.index("Build A  ")


async def test_the_click_map_tells_the_gas(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        await pilot.press("c", "x")
        await until(pilot, lambda: isinstance(pilot.app.screen, Clicks) and pilot.app.screen.found)
        page = pilot.app.screen
        await until(pilot, lambda: page.found.at.direction == "bump" and not page.calculating)
        await pilot.pause()
        read = page.desk.session.FL
        assert (read.gas_pressure.si, read.gas_temperature.si) == (15.2e5, 11)
        # nitrogen at constant density, 16.213 bar absolute at 11 °C → 18.115 bar at 43 °C: computed
        # with CoolProp 8.0.0, less one atmosphere of 1.01325 bar
        assert "gas 17.10 bar at 43 °C holds" in screen_text(pilot.app)


def test_rod_travel_to_the_force_of_the_present_build() -> None:
    lines = "\n".join(line for _, line in present_lines("NEW", KNOWN, (), PREFERENCES))
    assert "no rod travel to the force: stroke of NEW build A not recorded" in lines
    sized = BUILD.model_copy(update={"stroke": 0.1, "gas_pressure": 15e5})
    shed = replace(KNOWN, builds=(sized,))
    lines = "\n".join(line for _, line in present_lines("NEW", shed, (), PREFERENCES))
    assert "Rod travel to 80 % of the force, 1000 mm/s" in lines
    assert "a whole damper travels further" in lines


def test_what_is_known_of_the_oil_is_told() -> None:
    def told(**oil: object) -> str:
        build = BUILD.model_copy(update=oil)
        damper = Damper(serial=build.damper)
        lines = build_lines(damper, replace(KNOWN, builds=(build,)), None, PREFERENCES)
        return "\n".join(line for _, line in lines)

    assert "density only" in told(oil="2.5 W")
    assert "piston ⌀ 46.02 mm" in told(piston_diameter=0.04602)
    assert "grade 15.00 cSt, viscosity index 150" in told(oil_grade=15e-6, oil_index=150.0)
    both = told(oil_viscosity_40=15e-6, oil_viscosity_100=4e-6)
    assert "15.00 cSt at 40 °C, 4.00 cSt at 100 °C" in both


def test_discs_of_a_damper_from_the_bench_are_watched_too() -> None:
    """HARD's sheet stands; with the parts of thin discs the force at the peak speed is too much."""
    hard = SHED.builds[0]
    sizes = {"piston_diameter": 0.046, "rod_diameter": 0.014, "bump_parts": BUILD.bump_parts}
    told = []
    for stack in ("30×0.10 ×2", "30×0.60 ×9"):
        build = hard.model_copy(update=sizes | {"bump_stack": stack})
        shed = replace(SHED, builds=(build, *SHED.builds[1:]))
        session = Session(FL=corner("HARD", 0, 0))
        found = estimate(session, "FL", "bump", shed, SPEEDS)
        told.append([x for x in limit_lines(found, session, shed, PREFERENCES) if "discs" in x])
    assert "at risk of a set" in told[0][0]
    assert told[1] == []


def test_what_cannot_be_right_of_a_build_is_marked_in_the_shed() -> None:
    odd = BUILD.model_copy(update={"gas_pressure": 16000e5, "piston_diameter": 0.8e-3})
    damper = Damper(serial=odd.damper)
    lines = build_lines(damper, replace(KNOWN, builds=(odd,)), None, PREFERENCES)
    told = "\n".join(line for _, line in lines)
    assert "! gas: 16000.00 bar is outside 2.00 to 40.00 bar" in told
    assert "! piston ⌀: 0.8 mm is outside 15.0 to 80.0 mm" in told
    sound = build_lines(damper, KNOWN, None, PREFERENCES)
    assert not any("!" in line for _, line in sound)
