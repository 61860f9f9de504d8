"""Curves from the build sheet, in the order of what a force may stand on, and revalves."""

from dataclasses import replace
from math import radians

import numpy as np
import pytest

from tests.analysis.garage import RULES, SHED, SPEEDS, corner, knobs, session
from trackside.analysis.estimate import estimate, ground, setting
from trackside.analysis.parts import parts_curve
from trackside.analysis.revalve import revalve
from trackside.analysis.worth import click_worth
from trackside.damper.basis import Basis
from trackside.errors import NoEstimate
from trackside.records import Adjuster, Build, Parts, Reading
from trackside.reports.origin_words import origin_words

PARTS = Parts(
    clamp=0.014,
    seat=0.028,
    recess=0.020,
    hub_to_seat=0.5e-3,
    spacer=0.4e-3,
    port_count=3,
    port_diameter=0.008,
    slot_count=4,
    slot_width=0.002,
    slot_depth=0.15e-3,
    bleed_hole=0.0,
    needle_seat=0.003,
    needle_angle=radians(15),
    needle_lift=0.05e-3,
)
STACK = "30×0.20 ×3, 24×0.20, 18×0.20"
BUILD = Build(
    damper="NEW",
    version="A",
    piston_diameter=0.046,
    rod_diameter=0.014,
    adjusters=knobs(20, "hard"),
    bump_stack=STACK,
    rebound_stack=STACK,
    bump_parts=PARTS,
    rebound_parts=PARTS,
)


def shed(*builds):
    return replace(SHED, builds=(*SHED.builds, *builds))


def changed(build=BUILD, **values):
    return build.model_copy(update=values)


def test_parts_alone_make_an_estimate():
    at = session(corner("NEW", 8, 8))
    found = estimate(at, "FL", "bump", shed(BUILD), SPEEDS)
    assert found.basis is Basis.FROM_PARTS
    assert origin_words(found.origin) == "calculated from the parts, never on a bench"
    assert np.all((found.low < found.force) & (found.force < found.high))
    worth = click_worth(at, "FL", shed(BUILD), SPEEDS)[0]
    assert np.all(worth.harder.change > 0)


def test_a_build_survives_the_logbook():
    assert Build.checked(BUILD.body()) == BUILD


def test_sheet_before_shop_rule_before_parts():
    with_rule = changed(shop_rules=RULES)
    assert ground(with_rule, "bump", shed(with_rule)).origin.kind == "shop rule"
    measured = SHED.build("HARD").model_copy(
        update={"bump_parts": PARTS, "bump_stack": STACK}  # its sheet stands first
    )
    assert ground(measured, "bump", SHED).origin.kind == "sheet"


@pytest.mark.parametrize(
    ("lacking", "said"),
    [
        ({"bump_parts": PARTS.model_copy(update={"spacer": None})}, "the spacer"),
        ({"bump_parts": PARTS.model_copy(update={"slot_depth": None})}, "the slots' depth"),
        ({"bump_parts": PARTS.model_copy(update={"needle_lift": None})}, "lift per click"),
        ({"rod_diameter": None}, "piston's and rod's diameters"),
        ({"bump_stack": "as in May"}, "written like 27×0.15"),
        ({"bump_stack": "12×0.20 ×3"}, "larger than its clamp"),
        ({"bump_parts": PARTS.model_copy(update={"seat": 0.031})}, "not on the first disc"),
    ],
)
def test_what_is_missing_is_named_and_never_taken_for_zero(lacking, said):
    with pytest.raises(NoEstimate, match=said):
        parts_curve(changed(**lacking), "bump")


def test_a_revalve_before_and_after():
    # common practice, no source: a disc more in the stack is more high-speed force
    after = changed(version="B", bump_stack="30×0.20 ×4, 24×0.20, 18×0.20")
    found = revalve(BUILD, after, "bump", 8, shed(BUILD, after), SPEEDS)
    assert np.all(found.step.change > 0)
    assert found.step.basis is Basis.FROM_PARTS
    np.testing.assert_allclose(found.after.force, found.before.force + found.step.change)
    alone = parts_curve(after, "bump").predict(8, SPEEDS)
    np.testing.assert_allclose(found.after.force, alone.force)
    both = (found.before.high - found.before.low) + (found.after.high - found.after.low)
    assert np.all(found.step.high - found.step.low < both)  # shared errors cancel


def test_a_measured_build_is_carried_over_by_the_parts():
    bench = changed(SHED.build("HARD"), **{
        n: getattr(BUILD, n)
        for n in ("piston_diameter", "rod_diameter", "bump_stack", "bump_parts")
    })  # fmt: skip
    softer = changed(bench, version="B", bump_stack="30×0.20 ×2, 24×0.20, 18×0.20")
    found = revalve(bench, softer, "bump", 8, shed(bench, softer), SPEEDS)
    assert found.before.basis is Basis.BETWEEN
    assert found.after.basis is Basis.FROM_PARTS
    assert "carried over" in origin_words(found.after.origin)
    ratio = parts_curve(softer, "bump").predict(8, SPEEDS).force
    ratio = ratio / parts_curve(bench, "bump").predict(8, SPEEDS).force
    softened = found.after.force / found.before.force
    np.testing.assert_allclose(softened[2:], ratio[2:], rtol=0.1)  # the discs carry the flow there
    # this bench is far from these parts: where the bleed carries the flow, all is within the band
    assert np.all(softened[1:] < 1)
    assert found.step.low[0] < 0
    assert np.all(ratio < 1)
    np.testing.assert_allclose(found.step.change, found.after.force - found.before.force)
    assert np.all((found.after.low < found.after.force) & (found.after.force < found.after.high))
    same = revalve(bench, changed(bench, version="B"), "bump", 8, shed(bench), SPEEDS)
    np.testing.assert_array_equal(same.step.change, 0)


def test_two_sheets_or_rules_compare_as_they_always_did():
    hard, twin = SHED.build("HARD"), SHED.build("RULE")
    found = revalve(hard, twin, "bump", 8, SHED, SPEEDS)
    assert found.step.basis is Basis.SHOP_RULE


def test_a_position_that_is_not_there():
    with pytest.raises(NoEstimate, match="position to compare"):
        revalve(BUILD, BUILD, "bump", None, shed(BUILD), SPEEDS)
    with pytest.raises(NoEstimate, match="beyond"):
        revalve(BUILD, BUILD, "bump", 21, shed(BUILD), SPEEDS)


RING = Adjuster(acts_on="bump_preload", clicks=6, counted_from="soft")


def _rung(lift):
    build = changed(adjusters=(*BUILD.adjusters, RING))
    return changed(build, bump_parts=PARTS.model_copy(update={"ring_lift": lift}))


def test_a_click_of_the_preload_ring_moves_the_crack():
    # crack force = preload / lift per newton (path_from_parts, derived): 0.1 mm at full hard,
    # 10 µm a click, so two clicks from hard leave 0.8 of it; the opening stays
    build = _rung(10e-6)
    at = session(corner("NEW", 8, 8, bump_preload=Reading.of_si(4, "clicks")))
    hard = session(corner("NEW", 8, 8, bump_preload=Reading.of_si(6, "clicks")))
    paths = []
    for ran in (hard, at):
        place = setting(ran, "FL", "bump", shed(build))
        paths.append(ground(build, "bump", shed(build)).path(place))
    assert paths[1].crack == pytest.approx(0.8 * paths[0].crack)
    assert paths[1].opening == pytest.approx(paths[0].opening)
    soft, stiff = (estimate(ran, "FL", "bump", shed(build), SPEEDS).force for ran in (at, hard))
    assert np.all(soft < stiff)
    worth = click_worth(at, "FL", shed(build), SPEEDS)[2]
    assert worth.adjuster is RING
    assert np.all(worth.harder.change > 0)
    assert np.all(worth.softer.change < 0)
    # a wrong stack is wrong before and after the click: the step's band is narrower than the two
    found = estimate(at, "FL", "bump", shed(build), SPEEDS)
    assert np.all(worth.harder.high - worth.harder.low < found.high - found.low)


def test_a_ring_never_lifts_the_stack_off():
    curve = parts_curve(_rung(50e-6), "bump")
    assert curve.path(5, 6).crack == 0
    assert curve.path(5, 6).bleed == curve.path(5, 0).bleed


def test_what_is_unknown_of_the_ring_is_said():
    at = session(corner("NEW", 8, 8, bump_preload=Reading.of_si(4, "clicks")))
    for build, ran, said in (
        (_rung(None), at, "not known: left out"),
        (_rung(10e-6), session(corner("NEW", 8, 8)), "taken at full hard"),
    ):
        assert said in origin_words(estimate(ran, "FL", "bump", shed(build), SPEEDS).origin)
    worth = click_worth(at, "FL", shed(_rung(None)), SPEEDS)[2]
    assert "what a click of the ring lifts" in str(worth)
    # with the ring's lift on record, both builds are compared at its position
    build, later = _rung(10e-6), changed(_rung(10e-6), version="B")
    same = revalve(build, later, "bump", 8, shed(build, later), SPEEDS, 4)
    assert same.step.change == pytest.approx(0.0)
