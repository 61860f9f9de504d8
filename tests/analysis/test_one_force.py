"""One damper, one force: whatever asks for a build's force at a position gets the same figure, and
a difference is the difference of these. Laws of our own; no source outside.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import PREFERENCES, RULES, SHED, SPEEDS, corner, knobs, session
from trackside.analysis.bench_fit import bench_fit
from trackside.analysis.carried import REBUILT, scaled
from trackside.analysis.changes import changes, force_change
from trackside.analysis.estimate import DIRECTIONS, estimate, estimate_at, ground, setting
from trackside.analysis.knob_sweep import knob_sweep
from trackside.analysis.panel_data import EstimateCache, panel_data
from trackside.analysis.parts import parts_curve
from trackside.analysis.revalve import revalve
from trackside.analysis.shed import Shed
from trackside.analysis.trend import trend
from trackside.damper.basis import Basis
from trackside.damper.flow import force_at
from trackside.records import Build, Parts, Session
from trackside.reports.origin_words import origin_words
from trackside.reports.revalving import present_lines, revalve_rows

PARTS = Parts(
    clamp=0.0155, seat=0.0265, recess=0.0185, hub_to_seat=0.0021, spacer=0.002, port_count=3,
    port_diameter=0.0062, slot_count=2, slot_width=0.002, slot_depth=0.0002, bleed_hole=0.0,
    needle_seat=0.003, needle_angle=0.26, needle_lift=0.0001,
)  # fmt: skip
BENCHED = SHED.build("HARD").model_copy(
    update={
        "version": "A", "date": "2026-04-01", "piston_diameter": 0.044, "rod_diameter": 0.014,
        "bump_stack": "30×0.20 ×3, 24×0.20, 18×0.20", "bump_parts": PARTS,
        "rebound_stack": "28×0.20 ×3, 24×0.20, 18×0.20", "rebound_parts": PARTS,
    }
)  # fmt: skip
"""On the bench, and with all of its parts on record."""


def later(version: str = "B", of: Build = BENCHED, **changed: object) -> Build:
    """The next build of that damper, as a strip-down copies it."""
    more = {"version": version, "date": f"2026-06-0{ord(version) - 64}"} | changed
    return of.model_copy(update=more)


def shed(*builds: Build) -> Shed:
    others = tuple(b for b in SHED.builds if b.damper != "HARD")
    return replace(SHED, builds=tuple(sorted((*others, *builds), key=lambda b: b.date)))


SOFTER = "28×0.20 ×2, 24×0.20, 18×0.20"
BARE_PARTS = {"bump_parts": None, "rebound_parts": None}
CASES: dict[str, tuple[Build, Build]] = {
    "rebound stack changed": (BENCHED, later(rebound_stack=SOFTER)),
    "both stacks changed": (BENCHED, later(rebound_stack=SOFTER, bump_stack=SOFTER)),
    "nothing changed on record": (BENCHED, later()),
    "a shop rule copied along": (
        later("A", shop_rules=RULES), later(rebound_stack=SOFTER, shop_rules=RULES),
    ),
    "only the later build was on the bench": (
        later("0", rebound_stack=SOFTER), later("A"),
    ),
    "no parts, bump's discs as they were": (
        later("A", **BARE_PARTS), later(**BARE_PARTS, rebound_stack=SOFTER, shop_rules=RULES),
    ),
    "another number of clicks, counted from soft": (
        BENCHED, later(rebound_stack=SOFTER, adjusters=knobs(24, "soft")),
    ),
    "nothing but the shop's rule after": (
        later("A", **BARE_PARTS, bump_stack="", rebound_stack=""),
        later(**BARE_PARTS, bump_stack="", rebound_stack="", shop_rules=RULES),
    ),
}  # fmt: skip


def ran(build: Build, position: float = 8) -> Session:
    return session(corner("HARD", position, position, build=build.version))


@pytest.mark.parametrize("direction", DIRECTIONS)
@pytest.mark.parametrize("case", CASES)
def test_every_road_gives_the_same_force_and_the_same_difference(case: str, direction: str) -> None:
    before, after = CASES[case]
    garage = shed(before, after)
    was, now = ran(before), ran(after)
    run_sheet = [estimate(one, "FL", direction, garage, SPEEDS) for one in (was, now)]
    shown_in_shed = revalve(before, after, direction, 8, garage, SPEEDS)
    told = force_change(was, now, "FL", direction, garage, SPEEDS)
    points = trend([("1", was), ("2", now)], "FL", direction, garage, SPEEDS)
    panel = panel_data(now, was, "FL", direction, EstimateCache(garage, SPEEDS), len(SPEEDS))
    at = setting(now, "FL", direction, garage)
    assert told is not None
    assert panel.since is not None
    for one, beside in (
        (run_sheet[0], shown_in_shed.before),
        (run_sheet[1], shown_in_shed.after),
        (run_sheet[0], points[0].estimate),
        (run_sheet[1], points[1].estimate),
        (run_sheet[1], panel.estimate),
        (run_sheet[1], estimate_at(at, garage, SPEEDS)),
    ):
        assert beside is not None
        np.testing.assert_array_equal(one.force, beside.force)
        np.testing.assert_array_equal((one.low, one.high), (beside.low, beside.high))
        assert (one.basis, one.origin) == (beside.basis, beside.origin)
    apart = run_sheet[1].force - run_sheet[0].force
    for step in (told.step, panel.since, shown_in_shed.step):
        np.testing.assert_allclose(step.change, apart, rtol=1e-9, atol=1e-6)
        np.testing.assert_array_equal(step.change, told.step.change)
        np.testing.assert_array_equal((step.low, step.high), (told.step.low, told.step.high))
        assert np.all((step.low <= step.change) & (step.change <= step.high))
    # and on the way back
    back = force_change(now, was, "FL", direction, garage, SPEEDS)
    assert back is not None
    np.testing.assert_allclose(back.step.change, -apart, rtol=1e-9, atol=1e-6)


@pytest.mark.parametrize("case", ["rebound stack changed", "a shop rule copied along",
                                  "no parts, bump's discs as they were"])  # fmt: skip
def test_where_nothing_was_touched_nothing_has_changed(case: str) -> None:
    before, after = CASES[case]
    garage = shed(before, after)
    found = force_change(ran(before), ran(after), "FL", "bump", garage, SPEEDS)
    assert found is not None
    np.testing.assert_array_equal(found.step.change, 0.0)
    assert found.in_noise
    # what was apart is not the same to the newton, whatever the record says of its parts
    reach = (found.step.high - found.step.low) / 2 / found.step.force
    np.testing.assert_array_less(0.5 * REBUILT, reach)
    now, then = (estimate(ran(b), "FL", "bump", garage, SPEEDS) for b in (after, before))
    np.testing.assert_array_equal(now.force, then.force)
    assert (then.basis, now.basis) == (Basis.BETWEEN, Basis.FROM_PARTS)
    assert (
        "the bump parts on record are the same; enter those that the work changed"
        in origin_words(now.origin)
    )
    assert np.all(now.high - now.low > then.high - then.low)


def test_the_bench_says_what_of_the_parts_holds_for_the_next_build() -> None:
    before, after = CASES["rebound stack changed"]
    garage = shed(before, after)
    was, now = (estimate(ran(b), "FL", "rebound", garage, SPEEDS) for b in (before, after))
    then, here = (parts_curve(b, "rebound").predict(8, SPEEDS).force for b in (before, after))
    # once the discs carry the flow, near the ratio of the parts; below, this bench has twice the
    # bleed that its parts give, so that the discs lift later than they say
    np.testing.assert_allclose((now.force / was.force)[2:], (here / then)[2:], rtol=0.15)
    assert np.all(here <= then)
    assert np.all(here[1:] < then[1:])  # below the crack force no disc has lifted yet
    # and not what the parts alone would say of the force
    assert np.max(np.abs(now.force / here - 1)) > 0.05
    # a wrong bench is wrong before and after: less doubt in the step than in the two forces
    step = force_change(ran(before), ran(after), "FL", "rebound", garage, SPEEDS)
    assert step is not None
    both = np.hypot(was.high - was.low, now.high - now.low)
    assert np.all(step.step.high - step.step.low < both)


def test_a_click_of_a_carried_build_is_worth_what_its_forces_differ_by() -> None:
    before, after = CASES["rebound stack changed"]
    garage = shed(before, after)
    step = force_change(ran(after, 8), ran(after, 6), "FL", "rebound", garage, SPEEDS)
    a, b = (estimate(ran(after, p), "FL", "rebound", garage, SPEEDS) for p in (8, 6))
    assert step is not None
    np.testing.assert_allclose(step.step.change, b.force - a.force)
    assert np.all(step.step.low < step.step.change)
    assert np.all(step.step.change < step.step.high)
    assert len(knob_sweep(a.setting, a.setting.adjuster, garage)) > 2


def test_a_sheet_of_its_own_comes_before_anothers() -> None:
    before = BENCHED
    after = later(rebound_stack=SOFTER)
    sheet = next(s for s in SHED.sheets if s.damper == "HARD")
    own = sheet.model_copy(update={"build": "B", "date": "2026-06-03"})
    garage = replace(shed(before, after), sheets=(*SHED.sheets, own))
    assert origin_words(ground(after, "rebound", garage).origin) == "sheet HARD-B 2026-06-03"


def test_of_several_builds_on_the_bench_the_nearest_before_is_carried_over() -> None:
    a, b, c = BENCHED, later("B", bump_stack=SOFTER), later("C", rebound_stack=SOFTER)
    sheet = next(s for s in SHED.sheets if s.damper == "HARD")
    own = sheet.model_copy(update={"build": "B"})
    garage = replace(shed(a, b, c), sheets=(*SHED.sheets, own))
    assert origin_words(ground(c, "rebound", garage).origin).startswith("sheet HARD-B")
    no_parts = b.model_copy(update={"rebound_parts": None, "rebound_stack": "as found"})
    garage = replace(shed(a, no_parts, c), sheets=(*SHED.sheets, own))
    assert origin_words(ground(c, "rebound", garage).origin).startswith("sheet HARD-A")


def test_nothing_on_record_is_not_the_same_as_the_same() -> None:
    before, after = CASES["nothing but the shop's rule after"]
    assert ground(after, "bump", shed(before, after)).bench is None


def test_the_shed_and_the_changes_say_the_same_figures() -> None:
    before, after = CASES["rebound stack changed"]
    garage = shed(before, after)
    rows = list(revalve_rows(revalve(before, after, "rebound", 8, garage, SPEEDS), PREFERENCES))
    told = present_lines("HARD", garage, (ran(after).FL,), PREFERENCES)
    shown = [line.split() for _, line in told]
    for row in rows[1:]:
        assert list(row) in shown
    found = changes(ran(before), ran(after), garage, SPEEDS)
    rebound = next(f for f in found.forces if f.direction == "rebound")
    after_force = rebound.step.force + rebound.step.change
    assert [row[2] for row in rows[1:]] == [f"{force:.0f}" for force in after_force]


def test_a_scaled_flow_path_makes_so_many_times_the_force() -> None:
    path = replace(ground(BENCHED, "bump", SHED).path(setting(ran(BENCHED), "FL", "bump", SHED)),
                   knee=30.0)  # fmt: skip
    v = np.array([0.01, 0.1, 0.5, 1.0])
    np.testing.assert_allclose(force_at(v, scaled(path, 1.7)), 1.7 * force_at(v, path), rtol=1e-6)


@pytest.mark.parametrize(("cold", "warm"), [(55.0, 55.0), (35.0, 65.0)])
def test_a_sheet_has_one_oil_temperature_by_itself_and_in_the_record(
    cold: float, warm: float
) -> None:
    """The sheet alone, as `dyno fit` takes it, against the same sheet kept with a build."""
    sheet = SHED.sheet(SHED.build("HARD"))
    last = len(sheet.rows) - 1
    rows = tuple(
        row._replace(oil_C=cold + (warm - cold) * k / last) for k, row in enumerate(sheet.rows)
    )
    sheet = sheet.model_copy(update={"rows": rows, "counted_from": "hard"})
    others = tuple(one for one in SHED.sheets if one.damper != "HARD")
    kept = replace(SHED, sheets=(*others, sheet))
    alone = bench_fit(sheet)
    for direction in DIRECTIONS:
        source = ground(SHED.build("HARD"), direction, kept).bench
        fit = alone.fits[direction]
        assert source.oil_C == fit.oil_C == pytest.approx((cold + warm) / 2, abs=0.5)
        for place in (0.0, 5.0, 7.0, 20.0):
            ours, theirs = (one.predict(place, SPEEDS) for one in (source, fit))
            for name in ("force", "low", "high"):
                mine, other = getattr(ours, name), getattr(theirs, name)
                np.testing.assert_allclose(mine, other, rtol=1e-9)
