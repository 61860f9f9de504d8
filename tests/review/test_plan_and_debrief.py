"""Bringing a set-up back: the same curve on other hardware; and what the driver is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.review.garage import PREFERENCES, SHED, SPEEDS, corner, session
from trackside.records import Adjuster, Change, DynoRow, Note, Reading
from trackside.review.debrief import CAUTION, debrief
from trackside.review.estimate import estimate
from trackside.review.plan import plan


def planned(kept: object, today: object, shed: object = SHED) -> object:
    return plan(kept, today, shed, PREFERENCES)  # type: ignore[arg-type]


def test_the_same_hardware_takes_the_same_clicks() -> None:
    found = planned(session(corner(bump=5, rebound=6)), session(corner()))
    assert found.translations == ()
    assert found.differs == ()
    assert found.values["FL.bump_bleed"].si == 5
    assert found.values["RR.rebound_bleed"].si == 6
    assert set(found.overwrites) == set(found.values)


def test_nothing_is_planned_where_nothing_differs() -> None:
    found = planned(session(), session())
    assert (found.values, found.overwrites) == ({}, ())


@pytest.mark.parametrize("position", [0, 4, 8, 13, 20])
def test_a_twin_that_counts_the_other_way_gets_the_mirrored_clicks(position: float) -> None:
    """The same unit, 20 clicks, counted from full soft: p from hard is 20 − p from soft."""
    found = planned(session(corner(bump=position)), session(FL=corner("TWIN", 12, 12)))
    told = {(t.corner, t.adjuster): t for t in found.translations}
    assert told["FL", "bump_bleed"].now == 20 - position
    assert told["FL", "bump_bleed"].miss < 2
    assert {corner for corner, _ in told} == {"FL"}
    assert any("another damper, TWIN instead of HARD" in text for text in found.differs)
    assert any("full soft instead of" in text for text in found.differs)


def test_other_hardware_gets_the_nearest_curve_of_all_its_clicks() -> None:
    kept, today = session(), session(FR=corner("SOFT", 3, 3))
    found = planned(kept, today)
    target = estimate(kept, "FR", "rebound", SHED, SPEEDS).force

    def distance(position: float) -> float:
        there = estimate(session(corner("SOFT", 3, position)), "FR", "rebound", SHED, SPEEDS).force
        return float(np.mean(np.log(there / target) ** 2))

    told = next(t for t in found.translations if t.adjuster == "rebound_bleed")
    assert distance(told.now) == min(distance(p) for p in range(17))
    assert found.values["FR.rebound_bleed"].si == told.now or told.now == 3
    assert "FR.damper" not in found.values, "today's damper stays on the car"


def test_without_ground_the_position_is_left_and_said() -> None:
    found = planned(session(), session(FL=corner("BARE", 3, 3)))
    assert not any(path.startswith("FL.") and "bleed" in path for path in found.values)
    assert any(text.startswith("FL bump: not translated") for text in found.differs)


def test_a_corner_without_a_damper_takes_the_kept_one() -> None:
    found = planned(session(), session(FL=corner(None, None, None)))
    assert found.values["FL.damper"] == "HARD"
    assert found.values["FL.bump_bleed"].si == 8
    assert not any(path.startswith("FL.") for path in found.overwrites)


def test_a_colder_day_is_said() -> None:
    def at(text: str) -> object:
        return session(air_temperature=Reading.of_text(text, "temperature"))

    assert any("air 9 °C today, 24 °C then" in text for text in planned(at("24"), at("9")).differs)
    assert planned(at("24"), at("22")).differs == ()


def test_nothing_measured_is_brought() -> None:
    ran = session(corner(hot_pressure=Reading.of_text("1.9", "pressure"), bump=5))
    found = planned(ran, session())
    assert not any("hot_pressure" in path for path in found.values)
    assert found.patch()["FL.bump_bleed"]["si"] == 5


def test_a_preload_ring_is_held_where_it_stands_today() -> None:
    """A damper whose sheet varied the ring is translated at today's ring position."""
    ring = Adjuster(acts_on="bump_preload", clicks=6, counted_from="soft")
    sheet = SHED.sheets[2]
    bump = [
        DynoRow(r.position, r.direction, r.speed, r.force * (1 + 0.05 * ring_at), None, ring_at)
        for ring_at in (1.0, 4.0)
        for r in sheet.of_direction("bump")
    ]
    rows = (*bump, *sheet.of_direction("rebound"))
    shed = replace(
        SHED,
        builds=tuple(
            b.model_copy(update={"adjusters": (*b.adjusters, ring)}) if b.damper == "SOFT" else b
            for b in SHED.builds
        ),
        sheets=(*SHED.sheets[:2], sheet.model_copy(update={"rows": rows})),
    )
    told = {}
    for at in (1, 4):
        today = session(FL=corner("SOFT", 3, 3, bump_preload=Reading.of_si(at, "clicks")))
        found = planned(session(), today, shed)
        told[at] = next(t for t in found.translations if t.adjuster == "bump_bleed")
    assert told[1].now >= told[4].now, "a harder ring asks for a softer bleed"


def said(after: object, before: object | None = None) -> object:
    note = Note(session="1", driver="D", words="It skips.")
    reason = Change(session="2", what="rebound", reason="grip")
    return debrief(before or session(), after, (note,), (reason,), SHED, PREFERENCES)  # type: ignore[arg-type]


def test_the_driver_hears_what_changed_what_to_feel_and_what_was_said() -> None:
    found = said(session(FL=corner(rebound=3), FR=corner(rebound=3)))
    assert found.lines == ("front rebound: 5 clicks harder (8 to 3 from full hard)",)
    assert len(found.feel) == 1
    assert found.feel[0].startswith("front rebound harder: ")
    assert found.said[0].words == "It skips."
    assert found.reasons[0].reason == "grip"


def test_a_large_step_gets_the_cautious_out_lap_and_a_small_one_does_not() -> None:
    assert said(session(corner(rebound=0, bump=0))).caution == CAUTION
    assert said(session(corner(rebound=7.5))).caution == ""


def test_what_is_in_the_noise_is_not_to_be_felt() -> None:
    found = said(session(corner("TWIN", 12, 12)))
    assert found.feel == ()


def test_no_change_gives_nothing_to_feel() -> None:
    found = said(session())
    assert (found.lines, found.feel, found.caution) == ((), (), "")
