"""Rules of a line each of what was changed: dampers, knobs, forces, springs, gas."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import (
    HARD,
    RULE,
    SHED,
    SPEEDS,
    bar,
    corner,
    degrees,
    session,
)
from trackside.analysis import bring_back
from trackside.analysis.changes import ForceChange, changes
from trackside.analysis.debrief import debrief, out_lap
from trackside.analysis.estimate import setting
from trackside.analysis.gas_loss import lost_charge
from trackside.analysis.shed import Shed
from trackside.analysis.sides import Uneven
from trackside.analysis.swaps import is_swapped, swap
from trackside.analysis.trend import trend
from trackside.analysis.value_change import ClickChange
from trackside.analysis.worth import ForceStep
from trackside.damper.basis import Basis
from trackside.records import Adjuster, Build, Reading


@pytest.mark.parametrize(
    ("then", "now", "is_swap"),
    [
        ({"damper": "X", "build": "A"}, {"damper": "X", "build": "B"}, True),
        ({"damper": "X", "build": "A"}, {"damper": "x", "build": "a"}, False),
        ({"damper": "X", "build": "A"}, {"damper": "X"}, False),  # which build now: nobody knows
        ({"damper": "X"}, {"damper": "X", "build": "B"}, False),
        ({"damper": "X"}, {"damper": "X"}, False),
        ({"damper": "X"}, {"damper": "Y"}, True),
        ({"damper": "X"}, {"damper": ""}, False),
        ({"damper": ""}, {"damper": "X"}, False),
    ],
)
def test_a_damper_or_its_build_is_swapped_where_both_are_known(
    then: dict[str, str], now: dict[str, str], is_swap: bool
) -> None:
    """X is not in the shed: the run sheet alone says its build."""
    sheets = [session(FL=corner(**{"bump": 8, **at})) for at in (then, now)]  # type: ignore[arg-type]
    assert is_swapped(*sheets, "FL", SHED) == is_swap
    assert bring_back._alike(sheets[0].FL, sheets[1].FL, None, None) == (
        then.get("build", "-").casefold() == now.get("build", "+").casefold()
        and then["damper"].casefold() == now["damper"].casefold()
    )


def test_another_damper_is_told_with_the_counts_of_the_knobs_that_either_has() -> None:
    one = Build(damper="ONE", version="A", adjusters=HARD.adjusters[:1])
    shed = replace(SHED, builds=(*SHED.builds, one))
    found = swap(session(), session(corner("ONE", 6, None)), "FL", shed)
    counts = {path: (c.ends, c.before, c.after) for path, c in found.items()
              if isinstance(c, ClickChange)}  # fmt: skip
    assert set(counts) == {"FL.bump_bleed", "FL.rebound_bleed"}
    assert counts["FL.rebound_bleed"][0] == ("hard", "no knob")
    assert counts["FL.bump_bleed"][0] == ("hard", "hard")
    back = swap(session(corner("ONE", 6, None)), session(), "FL", shed)
    assert back["FL.rebound_bleed"].ends == ("no knob", "hard")  # type: ignore[attr-defined]


def test_a_count_of_a_knob_that_the_damper_has_not_has_no_end() -> None:
    """And no sense of harder or softer."""
    preloads = [
        session().with_value("FL.bump_preload", Reading.of_si(n, "clicks")) for n in (2.0, 3.0)
    ]
    for shed, end in ((SHED, "no knob"), (Shed(), "unknown")):
        found = changes(*preloads, shed, SPEEDS)
        [one] = [v for v in found.values if v.path == "FL.bump_preload"]
        assert isinstance(one, ClickChange)
        assert one.ends == (end, end)
        assert one.sense == 0


def unlike(difference: list[float], half: list[float]) -> Uneven:
    at, band = np.array(difference), np.array(half)
    force = np.full(at.shape, 500.0)
    speed = 0.1 * np.arange(1, at.size + 1)
    return Uneven("front", "bump", speed, force, force + at, at, at - band, at + band)


@pytest.mark.parametrize(
    ("difference", "half", "clearest", "clear"),
    [
        ([10.0, 90.0, 40.0], [5.0, 30.0, 10.0], 2, [True, True, True]),
        ([10.0, -90.0, 40.0], [50.0, 30.0, 100.0], 1, [False, True, False]),
        ([0.0, 30.0], [0.0, 10.0], 1, [False, True]),  # nothing is no difference, however sure
        ([30.0, 0.5], [10.0, 0.0], 1, [True, True]),
    ],
)
def test_the_clearest_difference_is_the_largest_share_of_its_band(
    difference: list[float], half: list[float], clearest: int, clear: list[bool]
) -> None:
    one = unlike(difference, half)
    assert one.clearest == clearest
    assert one.clear.tolist() == clear


def test_what_was_turned_since_the_last_point_of_a_trend() -> None:
    names = {"a": session(), "b": session(corner(rebound=5)), "c": session(corner(rebound=9.0)),
             "d": session(corner("BARE")), "e": session(corner("TWIN", 8, 12)),
             "f": session(corner("TWIN", 8, 12))}  # fmt: skip
    points = trend(names.items(), "FL", "rebound", SHED, SPEEDS)
    assert [point.moved for point in points] == [
        "", "3 harder", "4 softer", "", "damper TWIN", ""
    ]  # fmt: skip
    assert points[3].estimate is None
    assert points[3].why.startswith("damper BARE build A has no dyno sheet and no shop rule")
    ring = Adjuster(acts_on="rebound_preload", clicks=6, counted_from="hard")
    knobs = {"adjusters": (*RULE.adjusters, ring)}
    ringed = replace(SHED, builds=(RULE.model_copy(update=knobs), *SHED.builds[:3]))
    turned = {
        name: session(corner("RULE", 8, rebound, rebound_preload=Reading.of_si(preload, "clicks")))
        for name, rebound, preload in (("a", 8, 2.0), ("b", 8, 3.0), ("c", 7, 1.0), ("d", 7, 1.0))
    }
    told = [point.moved for point in trend(turned.items(), "FL", "rebound", ringed, SPEEDS)]
    assert told == ["", "preload 1 softer", "1 harder, preload 2 harder", ""]


@pytest.mark.parametrize("lacks", ["gas_pressure", "gas_temperature"])
@pytest.mark.parametrize("side", [0, 1])
def test_a_loss_of_gas_is_told_with_both_readings_and_their_temperatures(
    lacks: str, side: int
) -> None:
    full = [session(corner(gas_pressure=bar(p), gas_temperature=degrees(20))) for p in (15.0, 12.0)]
    lost = lost_charge(*full, "FL")
    assert lost is not None
    assert lost.missing == pytest.approx(3e5, rel=0.01)
    assert lost.expected == pytest.approx(15e5, rel=0.01)
    assert lost_charge(full[1], full[0], "FL") is None, "more is no loss"
    assert lost_charge(None, full[1], "FL") is None
    full[side] = full[side].with_value(f"FL.{lacks}", None)
    assert lost_charge(*full, "FL") is None


def test_an_out_lap_is_for_a_damper_nobody_knows_and_for_one_that_was_swapped() -> None:
    bare = session().with_value("FL.damper", None)
    found = changes(bare, session(), SHED, SPEEDS)
    assert out_lap(found, bare, session()).unknown == ("FL",)
    assert out_lap(found, bare, session()).swapped == ()
    other = session(FL=corner("SOFT"))
    found = changes(session(), other, SHED, SPEEDS)
    told = out_lap(found, session(), other)
    assert told.swapped == ("FL",)
    assert told.unknown == ()
    same = changes(session(), session(), SHED, SPEEDS)
    assert not out_lap(same, session(), session())


@pytest.mark.parametrize(
    ("rates", "is_large"),
    [
        ((100e3, 125e3), False),
        ((100e3, 126e3), True),
        ((100e3, 74e3), True),
        ((100e3, None), False),
        ((None, 100e3), False),
    ],
)  # 25 % is our own choice, no source
def test_a_spring_so_much_stiffer_or_softer_asks_for_care(
    rates: tuple[float | None, float | None], is_large: bool
) -> None:
    sheets = [
        session(FL=corner(spring_rate=rate and Reading.of_si(rate, "spring rate")))
        for rate in rates
    ]
    found = changes(*sheets, SHED, SPEEDS)
    assert out_lap(found, *sheets).large == (("FL",) if is_large else ())


def change_of(change: list[float], half: list[float], speed: list[float]) -> ForceChange:
    at, band = np.array(change), np.array(half)
    step = ForceStep(
        np.array(speed), np.full(at.size, 1e3), at, at - band, at + band, Basis.MEASURED
    )
    here = setting(session(), "FL", "bump", SHED)
    return ForceChange("FL", "bump", here, here, step, None)


@pytest.mark.parametrize(
    ("change", "half", "sense", "in_noise", "clearest", "slow", "fast"),
    [
        ([10.0, 40.0, 90.0], [5.0, 8.0, 30.0], 1, False, 1, 1, 2),
        ([-10.0, -40.0, -90.0], [5.0, 8.0, 30.0], -1, False, 1, 1, 2),
        ([-10.0, 40.0, 90.0], [5.0, 8.0, 30.0], 0, False, 1, 1, 2),
        ([-10.0, 40.0, 90.0], [50.0, 8.0, 30.0], 1, False, 1, 1, 2),
        ([10.0, 4.0, 9.0], [50.0, 8.0, 30.0], 0, True, 1, 1, 2),
    ],
)
def test_a_force_change_has_a_sense_where_its_band_can_tell_one(
    change: list[float], half: list[float], sense: int, in_noise: bool, clearest: int, slow: int,
    fast: int,
) -> None:  # fmt: skip
    one = change_of(change, half, [0.025, 0.1, 0.3])
    assert (one.sense, one.in_noise, one.clearest) == (sense, in_noise, clearest)
    assert one.share == pytest.approx(abs(change[clearest]) / half[clearest])
    assert one.clearest_in(True, 0.1) == slow
    assert one.clearest_in(False, 0.1) == fast
    assert one.clearest_in(False, 0.3) is None
    assert one.clearest_in(True, 0.01) is None


def test_counts_that_nobody_entered_are_alike_where_both_builds_have_the_knob() -> None:
    later = HARD.model_copy(update={"version": "B"})
    other = HARD.model_copy(update={"version": "C", "adjusters": HARD.adjusters[:1]})
    turned = HARD.model_copy(
        update={"version": "D", "adjusters": (HARD.adjusters[0].model_copy(
            update={"counted_from": "soft"}), HARD.adjusters[1])}
    )  # fmt: skip
    shed = replace(SHED, builds=(HARD, later, other, turned))

    def told(version: str, **counts: float | None) -> set[str]:
        then = session(corner("HARD", build="A", **counts))  # type: ignore[arg-type]
        now = session(corner("HARD", build=version, **counts))  # type: ignore[arg-type]
        found = swap(then, now, "FL", shed)
        return {path for path, change in found.items() if isinstance(change, ClickChange)}

    assert told("B") == set()
    assert told("B", bump=None, rebound=None) == set()
    assert told("C", bump=None, rebound=None) == {"FL.rebound_bleed"}
    assert told("C") == {"FL.rebound_bleed"}
    assert told("D") == {"FL.bump_bleed"}


def test_a_debrief_tells_the_gas_that_is_missing_now_and_not_what_was_filled() -> None:
    full, low = (
        session(corner(gas_pressure=bar(p), gas_temperature=degrees(20))) for p in (15.0, 12.0)
    )
    assert [one.corner for one in debrief(full, low, SHED, SPEEDS).lost_gas] == [
        "FL", "FR", "RL", "RR"
    ]  # fmt: skip
    assert debrief(low, full, SHED, SPEEDS).lost_gas == ()
