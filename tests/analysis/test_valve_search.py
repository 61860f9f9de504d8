"""From a wanted curve to the build: laws of the search, and the round trip."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from math import radians

import numpy as np
import pytest

from tests.bench.valve_cases import round_trip
from trackside.analysis.parts import parts_curve
from trackside.analysis.revalve import set_at
from trackside.analysis.shed import Shed
from trackside.analysis.valve_answer import Answer, SearchResult, rebuilt
from trackside.analysis.valve_search import Asked, search
from trackside.analysis.valve_stock import Stock, disc_part, spacer_part, stacks
from trackside.analysis.valve_target import Wish, target_of
from trackside.errors import NoEstimate
from trackside.records import BoxPart, Build, Damper, DynoSheet
from trackside.records.discs import stack_text

SPEEDS = (0.025, 0.05, 0.1, 0.2, 0.3)
PARTS = {
    "clamp": 0.014, "seat": 0.028, "recess": 0.020, "hub_to_seat": 0.5e-3, "spacer": 0.3e-3,
    "port_count": 6, "port_diameter": 5e-3, "slot_count": 0, "bleed_hole": 1.2e-3,
    "needle_seat": 3e-3, "needle_angle": radians(12), "needle_lift": 0.05e-3,
}  # fmt: skip
BUILD = Build.checked({
    "damper": "TW-1", "version": "A", "piston_diameter": 0.046, "rod_diameter": 0.014,
    "adjusters": [{"acts_on": "rebound_bleed", "clicks": 20, "counted_from": "hard"},
                  {"acts_on": "bump_bleed", "clicks": 20, "counted_from": "soft"}],
    "rebound_stack": "30×0.20 ×2, 26×0.15, 22×0.15", "rebound_parts": PARTS,
    "bump_stack": "30×0.15 ×2, 24×0.15", "bump_parts": PARTS,
})  # fmt: skip
SHED = Shed((Damper(serial="TW-1"),), (BUILD,), (), {})


def box(*parts: dict[str, object]) -> Stock:
    return Stock.of(BoxPart.checked(dict(part)) for part in parts)


def discs(*sizes: tuple[float, float], count: int = 4) -> list[dict[str, object]]:
    return [
        {"sort": "disc", "diameter": d * 1e-3, "thickness": t * 1e-3, "count": count}
        for d, t in sizes
    ]


FULL = box(
    *discs(*((d, t) for d in (30, 26, 22, 18) for t in (0.10, 0.15, 0.20, 0.25, 0.30))),
    {"sort": "spacer", "thickness": 0.2e-3, "count": 2},
    {"sort": "spacer", "thickness": 0.1e-3, "count": 2},
    {"sort": "clamp disc", "diameter": 0.016, "count": 1},
    {"sort": "bleed disc", "slot_count": 4, "slot_width": 2e-3, "thickness": 0.1e-3, "count": 1},
)


def wanted(build: Build, direction: str = "rebound", at: float = 10.0, more: float = 1.0):
    force = parts_curve(build, direction).predict(at, SPEEDS).force * more
    return [Wish(direction, v, float(f)) for v, f in zip(SPEEDS, force, strict=True)]


AS_EVER = Asked()


def run(wishes, stock=FULL, shed=SHED, asked=AS_EVER, build=BUILD, **more) -> SearchResult:
    targets = [
        target_of(wishes, set_at(build, way, 10.0, None), shed)
        for way in dict.fromkeys(w.direction for w in wishes)
    ]
    return search(targets, shed, stock, asked, **more)


def in_it(answer: Answer, side: int = 0) -> Counter:
    return Counter(disc_part(d) for d in answer.sides[side].valve.stack.discs)


def test_the_same_curve_is_the_same_build() -> None:
    found = run(wanted(BUILD))
    best = found.answers[0]
    assert (best.changed, best.others, best.met) == (0, 0, True)
    assert best.sides[0].position == 10.0
    assert best.worst < 1e-6
    assert stack_text(best.sides[0].valve.stack.discs) == "30×0.20 ×2, 26×0.15, 22×0.15"


def test_no_disc_is_wider_than_today_s_widest() -> None:
    """Whether a wider one has room in the piston is not on record."""
    wider = box(*discs((34, 0.15), (34, 0.20), (30, 0.15), (30, 0.25), (26, 0.20)))
    found = run(wanted(BUILD, more=1.3), wider)
    assert found.answers
    for answer in found.answers:
        assert max(d for d, _ in answer.sides[0].valve.stack.discs) <= 30e-3


def test_answers_that_meet_it_come_first_the_fewest_discs_changed_at_the_top() -> None:
    found = run(wanted(BUILD, more=1.15))
    order = [(not one.met, one.changed) for one in found.answers]
    assert order[0] == (False, min(changed for missed, changed in order if not missed))
    met = [changed for missed, changed in order if not missed]
    assert met == sorted(met)
    assert [missed for missed, _ in order] == sorted(missed for missed, _ in order)
    assert len(found.answers) <= 20
    near = run(wanted(BUILD, more=1.15), asked=Asked(nearest_first=True))
    rms = [float(np.sqrt(np.mean(a.sides[0].missing ** 2))) for a in near.answers if a.met]
    assert rms == sorted(rms)


def test_the_forecast_is_the_curve_of_the_parts_and_misses_what_it_says() -> None:
    found = run(wanted(BUILD, more=1.2))
    for answer in found.answers[:6]:
        [side] = answer.sides
        build = rebuilt(BUILD, "rebound", side.valve)
        answered = parts_curve(build, "rebound").predict(side.from_hard, SPEEDS)
        np.testing.assert_allclose(side.forecast.force, answered.force, rtol=1e-9)
        off = answered.force / side.target.force - 1
        np.testing.assert_allclose(side.missing, off, atol=1e-6)
        assert np.all((side.forecast.low < answered.force) & (answered.force < side.forecast.high))
        assert side.limits.safe_to > 0
        assert side.preload == pytest.approx(0.5e-3 - side.valve.spacer)


def test_nothing_is_used_that_is_not_there() -> None:
    for stock in (FULL, box(*discs((30, 0.25), count=1)), box()):
        for answer in run(wanted(BUILD, more=1.3), stock=stock, asked=Asked(3)).answers:
            [side] = answer.sides
            assert all(count <= stock.counts[part] for part, count in side.needs.items())
            assert answer.changed <= 3


def test_every_stack_lies_in_order_and_covers_the_seat() -> None:
    stock = box(*discs((30, 0.25), (27.5, 0.2), (48, 0.3), (20, 0.3)))
    for answer in run(wanted(BUILD, more=1.3), stock=stock, asked=Asked(3)).answers:
        wide = [d for d, _ in answer.sides[0].valve.stack.discs]
        assert all(a >= b for a, b in pairwise(wide)), "a small disc holds no large one off"
        assert 0.028 < wide[0] < 0.046


def test_a_disc_whose_hole_is_wider_than_the_clamp_is_left_out() -> None:
    loose = [{**one, "hole": 0.015} for one in discs((30, 0.25))]
    need = disc_part((0.030, 0.25e-3))
    fits = run(wanted(BUILD, more=1.3), stock=box(*discs((30, 0.25))))
    assert any(need in one.sides[0].needs for one in fits.answers)
    left = run(wanted(BUILD, more=1.3), stock=box(*loose))
    assert not any(need in one.sides[0].needs for one in left.answers)


def test_exactly_the_stacks_that_can_be_made() -> None:
    # counted by hand: of A A B with one C in the box and one change: as it is; without A, without
    # B; C besides; C for A, C for B
    a, b, c = (0.030, 2e-4), (0.026, 2e-4), (0.022, 2e-4)
    stock = Counter({disc_part(c): 1})
    found = list(stacks((a, a, b), [a, b, c], 1, stock, 0.028, 0.04))
    made = {one.discs for one in found}
    assert made == {(a, a, b), (a, b), (a, a), (a, a, b, c), (a, b, c), (a, a, c)}
    assert len(made) == len(found)
    assert [one.changed for one in found] == [0, 1, 1, 1, 1, 1]
    assert (c, c) not in {one.put_in for one in stacks((a, a, b), [c], 2, stock, 0.028, 0.04)}


def test_more_force_everywhere_needs_a_stiffer_valve() -> None:
    today = run(wanted(BUILD)).answers[0].sides[0]
    more = run(wanted(BUILD, more=1.15), asked=Asked(hold_position=True, nearest_first=True))
    side = more.answers[0].sides[0]
    now, then = (parts_curve(rebuilt(BUILD, "rebound", s.valve), "rebound") for s in (today, side))
    assert float(then.path(10).opening) < float(now.path(10).opening)
    assert side.position == 10.0


def test_only_discs_leaves_the_rest() -> None:
    for one in run(wanted(BUILD, more=1.15), asked=Asked(only_discs=True)).answers:
        assert one.others == 0
        assert one.sides[0].valve.spacers == (0.3e-3,)
        assert one.sides[0].valve.clamp == 0.014


def test_two_sides_share_one_box() -> None:
    stiff = rebuilt(BUILD, "rebound", run(wanted(BUILD)).answers[0].sides[0].valve)
    both = [*wanted(stiff, "rebound", more=1.25), *wanted(stiff, "bump", more=1.25)]
    stock = box(*discs((30, 0.25), count=1), *discs((26, 0.25), count=1))
    found = run(both, stock=stock)
    assert found.answers
    for answer in found.answers:
        assert [side.target.direction for side in answer.sides] == ["rebound", "bump"]
        needs: Counter = Counter()
        for side in answer.sides:
            needs.update(side.needs)
            needs.subtract(side.frees)
        assert all(count <= stock.counts[part] for part, count in needs.items())


def test_a_shared_adjuster_is_at_one_position() -> None:
    knob = {"acts_on": "both_bleed", "clicks": 20, "counted_from": "hard"}
    one = Build.checked({**BUILD.body(), "adjusters": [knob]})
    shed = Shed((Damper(serial="TW-1"),), (one,), (), {})
    both = [*wanted(one, "rebound", more=1.1), *wanted(one, "bump", more=0.9)]
    for answer in run(both, shed=shed, build=one, asked=Asked(1)).answers:
        assert len({side.position for side in answer.sides}) == 1


def test_the_preload_ring_is_in_the_preload() -> None:
    parts = {**PARTS, "ring_lift": 0.01e-3}
    ring = {"acts_on": "rebound_preload", "clicks": 10, "counted_from": "hard"}
    knobs = [*(a.body() for a in BUILD.adjusters), ring]
    one = Build.checked({**BUILD.body(), "rebound_parts": parts, "adjusters": knobs})
    shed = Shed((Damper(serial="TW-1"),), (one,), (), {})
    force = parts_curve(one, "rebound").predict(10.0, SPEEDS, 5.0).force
    wishes = [Wish("rebound", v, float(f)) for v, f in zip(SPEEDS, force, strict=True)]
    target = target_of(wishes, set_at(one, "rebound", 10.0, 5.0), shed)
    best = search([target], shed, FULL).answers[0]
    assert (best.changed, best.others) == (0, 0)
    assert best.sides[0].preload == pytest.approx(0.2e-3 - 0.05e-3)
    assert best.worst < 1e-6


def test_nothing_reaches_it_and_the_part_that_would_is_named() -> None:
    stiff = BUILD.model_copy(update={"rebound_stack": "30×0.30 ×2, 26×0.15, 22×0.15"})
    held = Asked(hold_position=True)
    found = run(wanted(stiff), stock=box(), asked=held)
    assert not found.answers[0].met
    assert found.answers[0].sides[0].missing.min() < -0.03
    assert found.lacking
    assert run(wanted(stiff), stock=box().with_endless(found.lacking), asked=held).answers[0].met
    far = run(wanted(BUILD, more=40.0), stock=box())
    assert far.lacking is None


def test_of_those_that_miss_the_nearest_comes_first_however_strained() -> None:
    # a soft stack far beyond its safe stress is nearer than a safe one that is much too hard
    soft = BUILD.model_copy(update={"rebound_stack": "30×0.10, 22×0.10"})
    found = run(wanted(soft, more=3.0), asked=Asked(2, hold_position=True))
    rms = [answer.rms for answer in found.answers if not answer.met]
    assert rms == sorted(rms)


def test_a_search_can_be_stopped_and_gives_what_it_has() -> None:
    told: list[float] = []

    def stop(share: float) -> bool:
        told.append(share)
        return len(told) < 3

    found = run(wanted(BUILD, more=1.1), asked=Asked(3), progress=stop)
    assert found.stopped
    assert found.answers
    whole: list[float] = []
    run(wanted(BUILD, more=1.1), progress=lambda s: whole.append(s) is None)
    assert whole == sorted(whole)
    assert 0 <= whole[0] < whole[-1] <= 1


def test_a_bench_run_of_today_carries_the_forecast() -> None:
    """A bench that reads 10 % over the parts everywhere: the same build is asked for, and found."""
    curve = parts_curve(BUILD, "rebound")
    rows = [
        {"position": k, "direction": "rebound", "speed": v, "force": 1.1 * float(f)}
        for k in (0.0, 5.0, 10.0, 15.0, 20.0)
        for v, f in zip(
            (0.013, *SPEEDS, 0.4),
            curve.predict(k, (0.013, *SPEEDS, 0.4)).force,
            strict=True,
        )
    ]
    sheet = DynoSheet.checked({
        "damper": "TW-1", "build": "A", "date": "2026-05-01", "source": "x.csv",
        "counted_from": "hard", "rows": rows,
    })  # fmt: skip
    shed = replace(SHED, sheets=(sheet,))
    found = run(wanted(BUILD, more=1.1), shed=shed)
    assert found.from_bench
    assert found.answers[0].changed == 0
    assert found.answers[0].worst < 0.02
    alone = run(wanted(BUILD, more=1.1))
    assert not alone.from_bench
    bands = [r.answers[0].sides[0].forecast for r in (found, alone)]
    share = [(b.high - b.low) / b.force for b in bands]
    assert np.all(share[0] < share[1])


def test_parts_that_are_not_on_record_are_named() -> None:
    bare = Build.checked({"damper": "TW-1", "version": "A", "shop_rules": [{
        "direction": "rebound", "full_hard_force": 900.0, "reference_speed": 0.1,
        "share_per_click": 0.03}]})  # fmt: skip
    shed = Shed((Damper(serial="TW-1"),), (bare,), (), {})
    with pytest.raises(NoEstimate, match="clamp disc's diameter"):
        run([Wish("rebound", 0.1, share=0.1)], shed=shed, build=bare)


def test_a_target_that_falls_is_seen() -> None:
    at = set_at(BUILD, "rebound", 10.0, None)
    rising = target_of([Wish("rebound", 0.1), Wish("rebound", 0.025)], at, SHED)
    assert rising.falls_after is None
    assert list(rising.speed) == [0.025, 0.1]
    np.testing.assert_allclose(rising.share, 0.0, atol=1e-12)
    falling = target_of([Wish("rebound", 0.1, 500.0), Wish("rebound", 0.2, 500.0)], at, SHED)
    assert falling.falls_after == 0
    twice = target_of([Wish("rebound", 0.1, 500.0), Wish("rebound", 0.1, 600.0)], at, SHED)
    assert twice.falls_after == 0


def test_spacers_are_one_of_the_box_two_of_it_or_one_besides_what_is_there() -> None:
    stock = box({"sort": "spacer", "thickness": 0.1e-3, "count": 1})
    seen = {
        answer.sides[0].valve.spacers
        for more in (0.9, 1.0, 1.1, 1.3)
        for answer in run(wanted(BUILD, more=more), stock=stock, asked=Asked(1)).answers
    }
    assert seen <= {(), (0.1e-3,), (0.3e-3,), (0.3e-3, 0.1e-3)}
    need = spacer_part(0.1e-3)
    assert need in stock.counts


@pytest.mark.parametrize("seed", [500, 507, 523, 541, 566, 580])
def test_the_true_stack_is_among_the_first_five(seed: int) -> None:
    """A stack of parts_bench, two discs changed, to its curve and back: the whole of it is in
    tests/benchmarks/test_valve_search.py."""
    assert round_trip(seed).place < 5
