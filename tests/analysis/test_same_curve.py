"""The same curve on other hardware: what is tried, what is left over, what nobody can tell."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from tests.analysis.garage import (
    PREFERENCES,
    RULES,
    SHED,
    SPEEDS,
    corner,
    session,
    with_ring,
)
from trackside.analysis.bring_back import bring_back
from trackside.analysis.estimate import Estimate, estimate
from trackside.analysis.same_curve import MOST_BEYOND, NotTranslated, Rest, Translation, translate
from trackside.analysis.shed import Shed
from trackside.records import Adjuster, CornerSheet, Reading, Session, ShopRule
from trackside.reports.bring_words import translation_words


def steps(kept: Session, today: Session, shed: Shed = SHED, at: str = "FL") -> dict:
    """What is to be set at a corner, by knob."""
    now = shed.build_at(today, at)
    assert now is not None
    found = translate(kept, today, at, now, shed, SPEEDS)
    return {one.adjuster: one for one in found if isinstance(one, Translation)}


def ringed(damper: str, bump: float, ring: float) -> CornerSheet:
    """A corner whose bump has a ring, too."""
    return corner(damper, bump, 3, bump_preload=Reading.of_si(ring, "clicks"))


def test_bleed_and_ring_are_tried_together_wherever_the_ring_stands_today() -> None:
    shed, kept = with_ring("SOFT", (1.0, 4.0)), session(corner(bump=4))
    answers = [steps(kept, session(FL=ringed("SOFT", 3, ring)), shed) for ring in (1, 4)]
    assert answers[0] == answers[1]
    best = answers[0]
    target = estimate(kept, "FL", "bump", shed, np.geomspace(0.01, 0.4, 25)).force

    def distance(bump: float, ring: float) -> float:
        there = estimate(
            session(FL=ringed("SOFT", bump, ring)), "FL", "bump", shed, np.geomspace(0.01, 0.4, 25)
        ).force
        return float(np.sqrt(np.mean(np.log(there / target) ** 2)))

    every = {(b, r): distance(b, r) for b in range(17) for r in range(7)}
    here = every[best["bump_bleed"].now, best["bump_preload"].now]
    assert here <= 1.25 * min(every.values()), "weights over speed differ, the valley does not"
    assert here < 0.6 * np.median(list(every.values()))


@pytest.mark.parametrize(("bump", "ring"), [(0, 0), (3, 5), (11, 2), (20, 6), (16, 0)])
def test_an_equal_damper_takes_the_same_positions_counted_from_either_end(
    bump: float, ring: float
) -> None:
    """TWIN is HARD with its bleed counted from full soft; both have the same ring."""
    hard, twin = with_ring("HARD", (1.0, 4.0)), with_ring("TWIN", (1.0, 4.0))
    shed = replace(
        hard,
        builds=tuple(
            t if t.damper == "TWIN" else h for h, t in zip(hard.builds, twin.builds, strict=True)
        ),
        sheets=tuple(
            t if t.damper == "TWIN" else h for h, t in zip(hard.sheets, twin.sheets, strict=True)
        ),
    )
    told = steps(session(ringed("HARD", bump, ring)), session(FL=ringed("TWIN", 9, 3)), shed)
    assert told["bump_bleed"].now == 20 - bump
    assert told["bump_preload"].now == ring
    assert told["bump_bleed"].now in told["bump_bleed"].equals
    assert told["bump_bleed"].beyond == 0.0
    assert told["bump_bleed"].miss < 0.5


def test_corners_may_be_permuted() -> None:
    """A corner's answer is its own: dampers that change places take their answers along."""
    serials = ("SOFT", "TWIN", "RULE")
    for order in permutations(serials):
        today = session(
            **{at: corner(s, 3, 3) for at, s in zip(("FR", "RL", "RR"), order, strict=True)}
        )
        found = bring_back(session(), today, SHED, SPEEDS)
        by_serial = {
            order[("FR", "RL", "RR").index(t.corner)] + t.adjuster: t.now
            for t in found.translations
        }
        assert len(by_serial) == 6
        assert by_serial == {
            serial + step.adjuster: step.now
            for serial in serials
            for step in steps(session(), session(FL=corner(serial, 3, 3))).values()
        }


def test_positions_within_both_bands_are_equals() -> None:
    kept = session(corner(bump=9))
    told = steps(kept, session(FL=corner("TWIN", 9, 9)))["bump_bleed"]

    def curve(damper: str, bump: float) -> Estimate:
        return estimate(session(corner(damper, bump)), "FL", "bump", SHED, SPEEDS)

    then, best = curve("HARD", 9), curve("TWIN", told.now)
    half = np.hypot(best.high - best.low, then.high - then.low) / 2
    alike = [p for p in range(21) if np.all(np.abs(curve("TWIN", p).force - then.force) <= half)]
    assert list(told.equals) == pytest.approx(alike, abs=1)
    assert told.now in told.equals
    assert told.equals == tuple(sorted(told.equals))
    assert f"{told.equals[0]:g}" in translation_words(told, PREFERENCES)
    assert "nobody can tell" in translation_words(told, PREFERENCES)


def scaled(serial: str, by: float) -> Shed:
    """The shed with that damper's forces times `by`."""
    return replace(
        SHED,
        sheets=tuple(
            s.model_copy(update={"rows": tuple(r._replace(force=by * r.force) for r in s.rows)})
            if s.damper == serial
            else s
            for s in SHED.sheets
        ),
    )


@pytest.mark.parametrize(
    ("by", "bump", "end", "now"), [(0.8, 0, "hard", 20), (1.25, 20, "soft", 0)]
)
def test_a_curve_past_the_end_of_the_travel_is_said_with_how_far_and_what_is_missing(
    by: float, bump: float, end: str, now: float
) -> None:
    """TWIN, counted from full soft, a fifth softer or a quarter harder, with HARD at its end."""
    told = steps(session(corner(bump=bump)), session(FL=corner("TWIN", 9, 9)), scaled("TWIN", by))[
        "bump_bleed"
    ]
    assert (told.now, told.end) == (now, end)
    assert 0.0 < told.beyond <= MOST_BEYOND
    rest = told.rest
    assert rest is not None
    assert rest.newtons * (by - 1) > 0, "today's force less the kept one"
    assert rest.percent == pytest.approx(100 * (by - 1), abs=6)
    words = translation_words(told, PREFERENCES)
    assert f"beyond full {end}" in words
    assert "bump differs by" in words


def test_a_position_at_the_end_that_suits_is_not_called_short() -> None:
    told = steps(session(corner(bump=0)), session(FL=corner("TWIN", 9, 9)))["bump_bleed"]
    assert (told.now, told.beyond) == (20, 0.0)
    assert "beyond" not in translation_words(told, PREFERENCES)


@pytest.mark.parametrize(("kept", "today"), [("HARD", "RULE"), ("RULE", "HARD")])
def test_a_curve_known_by_rule_only_is_named_with_its_band_and_never_set(
    kept: str, today: str
) -> None:
    found = bring_back(session(corner(kept)), session(FL=corner(today, 3, 3)), SHED, SPEEDS)
    bump = next(t for t in found.translations if t.adjuster == "bump_bleed")
    assert not bump.is_set
    assert "FL.bump_bleed" not in found.values
    words = translation_words(bump, PREFERENCES)
    assert words.startswith("FL bump: not set, because the force is known by shop rule only; ")
    assert f"{bump.now:g} would be nearest to 8 of 20 from full hard then" in words
    assert " ± " in words


def test_one_knob_for_both_directions_is_set_for_both_at_once() -> None:
    """Bump asks for 5 and rebound for 15, so the shared knob comes between."""
    shared = (Adjuster(acts_on="both_bleed", clicks=20, counted_from="hard"),)
    shed = replace(
        SHED,
        builds=tuple(
            b.model_copy(update={"adjusters": shared}) if b.damper == "TWIN" else b
            for b in SHED.builds
        ),
        sheets=tuple(
            s.model_copy(
                update={"rows": tuple(r._replace(position=20 - r.position) for r in s.rows)}
            )
            if s.damper == "TWIN"
            else s
            for s in SHED.sheets
        ),
    )
    one = CornerSheet(damper="TWIN", both_bleed=Reading.of_si(1, "clicks"))
    apart = steps(session(corner(bump=5, rebound=15)), session(FL=one), shed)
    assert list(apart) == ["both_bleed"]
    assert 5 < apart["both_bleed"].now < 15
    assert apart["both_bleed"].miss > 5
    alike = steps(session(corner(bump=7, rebound=7)), session(FL=one), shed)
    assert alike["both_bleed"].now == 7


def test_a_ring_that_no_bench_varied_is_left_to_the_hand() -> None:
    shed = with_ring("SOFT")
    today = session(FL=ringed("SOFT", 3, 2))
    now = shed.build_at(today, "FL")
    assert now is not None
    found = list(translate(session(), today, "FL", now, shed, SPEEDS))
    left = [one for one in found if isinstance(one, NotTranslated)]
    assert [(one.adjuster, one.reason) for one in left] == [("bump_preload", None)]


def test_words_of_positions_that_nobody_can_tell() -> None:
    knob = Adjuster(acts_on="bump_bleed", clicks=20, counted_from="hard")
    rest = Rest("bump", 0.05, -140.0, -9.0, 25.0)

    def words(*equals: float, beyond: float = 0.0, miss: float = 3.0) -> str:
        step = Translation(
            "FL", "bump_bleed", 8.0, knob, 10.0, miss, "measured", rest, equals, beyond, "hard"
        )
        return translation_words(step, PREFERENCES)

    start = "FL bump: set 10 here for 8 of 20 from full hard then; the curve comes within "
    assert words(10.0) == f"{start}3 % (measured)"
    assert words(10.0, 11.0) == f"{start}3 % (measured); 10 or 11, nobody can tell"
    assert words(9.0, 10.0, 11.0).endswith("; any of 9 to 11, nobody can tell")
    assert words(9.0, 10.0, 12.0).endswith("; 9, 10 or 12, nobody can tell")
    assert words(beyond=0.4) == f"{start}3 % (measured)"
    assert words(beyond=1.2).endswith("; the kept curve is about one click beyond full hard")
    assert words(beyond=2.2).endswith("; the kept curve is about 2 clicks beyond full hard")
    assert words(beyond=MOST_BEYOND).endswith("is more than five clicks beyond full hard")
    assert words(miss=12.0) == (
        f"{start}12 % (measured); not the same curve, the nearest there is: bump differs by "
        "−140 ± 25 N at 50 mm/s"
    )


def test_without_a_curve_of_today_the_reason_is_the_curve_s() -> None:
    rule = ShopRule(direction="bump", full_hard_force=500.0, reference_speed=0.1)
    shed = replace(
        SHED,
        builds=tuple(
            b.model_copy(update={"shop_rules": (rule, RULES[1])}) if b.damper == "RULE" else b
            for b in SHED.builds
        ),
    )
    now = shed.build_at(session(corner("RULE")), "FL")
    assert now is not None
    found = list(translate(session(), session(corner("RULE")), "FL", now, shed, SPEEDS))
    bump = next(one for one in found if one.adjuster == "bump_bleed")
    assert isinstance(bump, NotTranslated)
    assert bump.then_known
    assert "no share per click" in str(bump.reason)
