"""Bringing a set-up back: the same curve on other hardware."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import (
    PREFERENCES,
    SHED,
    SPEEDS,
    at_one_position,
    corner,
    knobs,
    session,
)
from trackside.analysis.bring_back import bring_back
from trackside.analysis.estimate import estimate
from trackside.analysis.same_curve import Translation
from trackside.analysis.shed import Shed
from trackside.records import Build, Reading, Session
from trackside.reports.bring_words import differs_words, translation_words


def said(differs: object) -> list[str]:
    return [differs_words(one, PREFERENCES) for one in differs]  # type: ignore[attr-defined]


def planned(kept: object, today: object, shed: object = SHED) -> object:
    return bring_back(kept, today, shed, SPEEDS)  # type: ignore[arg-type]


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
    assert any("another damper, TWIN instead of HARD" in text for text in said(found.differs))
    assert any("full soft instead of" in text for text in said(found.differs))


def test_other_hardware_gets_the_nearest_curve_of_all_its_clicks() -> None:
    kept, today = session(), session(FR=corner("SOFT", 3, 3))
    found = planned(kept, today)
    target = estimate(kept, "FR", "rebound", SHED, SPEEDS).force

    def distance(position: float) -> float:
        there = estimate(session(corner("SOFT", 3, position)), "FR", "rebound", SHED, SPEEDS).force
        return float(np.mean(np.log(there / target) ** 2))

    told = next(t for t in found.translations if t.adjuster == "rebound_bleed")
    assert distance(told.now) == min(distance(p) for p in range(17))
    assert told.now != 3, "or nothing would have to be set"
    assert found.values["FR.rebound_bleed"].si == told.now
    assert "FR.damper" not in found.values, "today's damper stays on the car"


def test_without_ground_the_position_is_left_and_said() -> None:
    found = planned(session(), session(FL=corner("BARE", 3, 3)))
    assert not any(path.startswith("FL.") and "bleed" in path for path in found.values)
    assert any(text.startswith("FL bump: not translated") for text in said(found.differs))


def test_a_corner_without_a_damper_takes_the_kept_one() -> None:
    found = planned(session(), session(FL=corner(None, None, None)))
    assert found.values["FL.damper"] == "HARD"
    assert found.values["FL.bump_bleed"].si == 8
    assert not any(path.startswith("FL.") for path in found.overwrites)


def test_a_colder_day_is_said() -> None:
    def at(text: str) -> object:
        return session(air_temperature=Reading.of_text(text, "temperature"))

    assert any(
        "air 9 °C today, 24 °C then" in text for text in said(planned(at("24"), at("9")).differs)
    )
    assert planned(at("24"), at("22")).differs == ()


def test_nothing_measured_is_brought() -> None:
    ran = session(corner(hot_pressure=Reading.of_text("1.9", "pressure"), bump=5))
    found = planned(ran, session())
    assert not any("hot_pressure" in path for path in found.values)
    assert found.patch()["FL.bump_bleed"]["si"] == 5


@pytest.mark.parametrize(
    ("kept_start", "today_start", "kept_build", "today_build", "told"),
    [
        ("2026-05-01", "", None, None, "today's build of D1 is not known"),
        ("2026-05-01", "2026-02-01", None, None, "today's build of D1 is not known"),
        ("", "2026-05-01", None, None, "the kept build of D1 is not known"),
        ("2026-05-01", "2026-05-02", None, "Q", "today's build of D1 is not known"),
        ("2026-05-01", "2026-09-01", None, None, "rebuilt, build B instead of A"),
        ("2026-05-01", "2026-05-02", "A", "B", "rebuilt, build B instead of A"),
        ("2026-05-01", "2026-05-02", None, None, ""),
        ("", "", "z", "Z", ""),
    ],
)
def test_clicks_are_brought_to_the_same_hardware_only_and_it_must_be_known(
    kept_start: str,
    today_start: str,
    kept_build: str | None,
    today_build: str | None,
    told: str,
) -> None:
    """Clicks on other hardware are another force."""
    shed = Shed(
        builds=tuple(
            Build(damper="D1", version=v, date=day, adjusters=knobs(20, "hard"))
            for v, day in (("A", "2026-03-01"), ("B", "2026-06-01"))
        )
    )
    kept, today = (
        Session(start=start, FL=corner("D1", clicks, clicks).model_copy(update={"build": build}))
        for start, clicks, build in (
            (kept_start, 3, kept_build), (today_start, 9, today_build),
        )
    )  # fmt: skip
    found = planned(kept, today, shed)
    assert ("FL.bump_bleed" in found.values) is (told == "")
    assert any(told in sentence for sentence in said(found.differs)) or told == ""
    if told.startswith("today"):
        assert any("clicks are left as they are" in sentence for sentence in said(found.differs))


def test_a_damper_rebuilt_since_comes_as_it_is_today() -> None:
    """An empty corner takes the kept damper, in the build that it has by now."""
    rebuilt = next(b for b in SHED.builds if b.damper == "HARD")
    builds = [b for b in SHED.builds if b.damper != "HARD"]
    builds += [rebuilt.model_copy(update={"date": "2026-03-01"})]
    builds += [rebuilt.model_copy(update={"date": "2026-06-01", "version": "B"})]
    shed = replace(SHED, builds=tuple(builds))
    found = planned(
        session(start="2026-05-01"), session(start="2026-09-01", FL=corner(None, None, None)), shed
    )
    assert (found.values["FL.damper"], found.values["FL.build"]) == ("HARD", "B")
    assert "FL.bump_bleed" not in found.values
    assert any("rebuilt, build B instead of A" in text for text in said(found.differs))


def test_a_position_without_estimate_does_not_end_the_search() -> None:
    """SOFT's sheet at one position, 8 from full soft: no other position has an estimate."""
    found = planned(session(), session(FL=corner("SOFT", 3, 3)), at_one_position("SOFT", 8))
    told = {t.adjuster: t for t in found.translations}
    assert told["bump_bleed"].now == told["rebound_bleed"].now == 8


def test_a_kept_position_that_was_not_entered_is_said() -> None:
    found = planned(session(corner(bump=None)), session(FL=corner("SOFT", 3, 3)))
    assert {t.adjuster for t in found.translations} == {"rebound_bleed"}
    assert any(text.startswith("FL bump: not translated") for text in said(found.differs))


def test_a_translation_stands_no_firmer_than_the_curve_it_is_made_from() -> None:
    """HARD at 5 is measured; it is told from RULE's shop rule, which is weaker."""
    found = planned(session(corner("RULE", 8, 8)), session(FL=corner("HARD", 3, 3)))
    assert {t.basis for t in found.translations} == {"shop rule"}


def test_a_translation_that_misses_by_far_says_so() -> None:
    near, far = (
        translation_words(
            Translation("FL", "bump_bleed", None, None, 5, miss, "measured"), PREFERENCES
        )
        for miss in (3, 40)
    )
    assert "not the same curve" not in near
    assert "within 40 %" in far
    assert "not the same curve" in far


def test_a_charge_that_cannot_be_compared_is_said() -> None:
    def charged(at: str) -> object:
        return session(corner(
            gas_pressure=Reading.of_text("16", "pressure"),
            gas_temperature=Reading(typed=at, unit="°C", si=float(at)),
        ))  # fmt: skip

    assert any(
        "gas: not compared" in t for t in said(planned(charged("20"), charged("-300")).differs)
    )
