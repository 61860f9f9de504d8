"""What each function of the damper refuses and what it takes, and a few values by hand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tests.analysis.garage import SHED
from trackside.analysis.shed import fit_of
from trackside.damper.basis import Basis, weakest
from trackside.damper.clicks import (
    AreaSteps,
    ForceSteps,
    acts_on,
    as_counted,
    from_full_hard,
    harder_by,
    turned,
)
from trackside.damper.flow import FlowPath, flow_coefficient, force_at, speed_at
from trackside.damper.gas import (
    ATMOSPHERE,
    cavitation_force,
    charge_lost,
    density,
    pressure_after_stroke,
    pressure_in_damper,
    rod_force,
    spring_rate,
)
from trackside.damper.oil import EXPANSION, OilData, ratios
from trackside.damper.oil_index import from_grade, middle_of_grade, viscosity_index
from trackside.damper.parts import Needle
from trackside.damper.plates import Plate, bend, root_stress
from trackside.damper.recording import Recording, SlowRun
from trackside.damper.response import bulk_modulus, response_travel
from trackside.damper.sheet import SheetRows, fitted_rows, sides
from trackside.damper.shop import shop_curve
from trackside.damper.stack import SAFE_STRESS, Stack, give
from trackside.errors import BadNumber, BadSheet, NoEstimate

PATH = FlowPath(leak=1e-6, bleed=0.003, crack=200.0, opening=1e-5, port=0.03)


def rows(**more: object) -> SheetRows:
    """Three speeds in bump at one position."""
    given = {"position_from_hard": [0.0] * 3, "direction": ["bump"] * 3,
             "speed": [0.05, 0.1, 0.2], "force": [100.0, 200.0, 300.0]}  # fmt: skip
    return SheetRows(**{**given, **more})  # type: ignore[arg-type]


def falling() -> SheetRows:
    """Four speeds, the force less at each."""
    force, speed = [400.0, 300.0, 200.0, 100.0], [0.05, 0.1, 0.2, 0.3]
    return SheetRows([0.0] * 4, ["bump"] * 4, speed, force)


def recorded(**more: object) -> Recording:
    """Three cycles of a sine, in phase with the speed."""
    t = np.arange(600) / 200.0
    given = {"time": t, "displacement": 0.02 * np.sin(2 * np.pi * t),
             "force": 500 * np.cos(2 * np.pi * t)}  # fmt: skip
    return Recording.read(**{**given, **more})  # type: ignore[arg-type]


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: from_full_hard(3, 20, "left"), "clicks counted from “left”: say from full hard or"),
    (lambda: from_full_hard(3, None, "soft"), "from full soft, and how many.*: count them once"),
    (lambda: ForceSteps(0.0, 0.05), "need a share between 0 and 1 and a reference speed above"),
    (lambda: ForceSteps(1.0, 0.05), "even force steps.*: enter for example 6 % a click"),
    (lambda: ForceSteps(0.05, 0.0), "even force steps"),
    (lambda: AreaSteps(0.0), "an even area step must be above zero: enter the area of one click"),
    (lambda: ForceSteps(0.1, 0.05).path_at(PATH, 0.0, 10.0), "10% a click leaves no force at 10"),
    (lambda: AreaSteps(0.01).path_at(PATH, 8.0, 0.0), "the bleed is shut before 0 clicks.*: enter"),
    (lambda: AreaSteps(0.01).path_at(PATH, 0.0, 1.0, "preload"), "a preload adjuster opens no are"),
    (lambda: FlowPath(-1.0, 0.1, 0, 0, 0), "the flow path's leak is below zero or not a number: e"),
    (lambda: FlowPath(0.0, 0.1, np.nan, 0, 0), "the flow path's crack is below zero"),
    (lambda: force_at(-0.1, PATH), "a speed is below zero or not a number: give magnitudes"),
    (lambda: speed_at(-0.1, PATH), "a force is below zero or not a number"),
    (lambda: density(-1.0, 20.0), "a gas pressure or temperature is below absolute zero.*: check"),
    (lambda: density(1e5, -274.0), "below absolute zero"),
    (lambda: pressure_in_damper(1e6, 20, 20, 1e-5, 0.02, 1.0), "no gas volume is left at this st"),
    (lambda: pressure_after_stroke(1e6, 0.02, 1.0, 1e-5), "the rod takes up the whole gas volume"),
    (lambda: OilData(5.0, 32.0), "the oil's two viscosities contradict each other: give cSt at"),
    (lambda: OilData(32.0, 5.4, 100.0, 40.0), "contradict"),
    (lambda: OilData(32.0, 0.1), "contradict"),
    (lambda: OilData(32.0, 5.4, expansion=0.01), "expansion is not a plausible figure: for exam"),
    (lambda: OilData(32.0, 5.4, expansion=-0.001), "expansion is not a plausible figure"),
    (lambda: ratios(None, 20.0, 201.0), "an oil temperature is outside -60 to 200 °C: check its"),
    (lambda: ratios(None, -61.0, 20.0), "outside -60 to 200"),
    (lambda: viscosity_index(10.0, 1.9), "the viscosity index is tabulated from 2 to 20 cSt at"),
    (lambda: viscosity_index(500.0, 20.1), "tabulated from 2 to 20 cSt.*: enter the oil's two"),
    (lambda: viscosity_index(5.0, 6.0), "tabulated"),
    (lambda: Needle(0.0, 0.2, 1e-3), "a needle needs a seat, a half angle between.*: check the n"),
    (lambda: Needle(3e-3, 1.6, 1e-3), "a half angle between 0° and 90°"),
    (lambda: Needle(3e-3, 0.2, 0.0), "a lift per click"),
    (lambda: Plate(0.01, 0.01, 1e-4), "a disc needs a thickness, and an outer diameter above its"),
    (lambda: Plate(0.005, 0.01, 0.0), "check the discs and the clamp disc"),
    (lambda: Stack(((0.01, 1e-4),), 0.01), "no disc of the stack is larger than its clamp disc: c"),
    (lambda: give(Stack(((0.02, 1e-4),), 0.01), 0.02, 0.021), "not on the first disc outside its"),
    (lambda: give(Stack(((0.02, 1e-4),), 0.01), 0.01, 0.02), "check seat, clamp and first disc"),
    (lambda: bulk_modulus(-2e5), "pressure, air share or bulk modulus is not plausible: air is"),
    (lambda: bulk_modulus(1e5, air=1.0), "not plausible"),
    (lambda: bulk_modulus(1e5, air=-0.1), "not plausible"),
    (lambda: bulk_modulus(1e5, oil=0.0), "not plausible"),
    (lambda: bulk_modulus(1e5, exponent=0.9), "not plausible"),
    (lambda: response_travel(0.0, PATH, 1e-3, 1e-4), "speed, area and volume must be above zero"),
    (lambda: response_travel(0.1, PATH, 0.0, 1e-4), "above zero, the share between 0 and 1: lea"),
    (lambda: response_travel(0.1, PATH, 1e-3, 0.0), "speed, area and volume"),
    (lambda: response_travel(0.1, PATH, 1e-3, 1e-4, share=1.0), "the share between 0 and 1"),
    (lambda: shop_curve(0.0, 0.1, 0.05), "the full-hard force must be above zero: enter it in n"),
    (lambda: shop_curve(np.inf, 0.1, 0.05), "must be above zero"),
    (lambda: sides(rows(force=[1.0, 2.0])), "the columns of the sheet differ in length, or are e"),
    (lambda: sides(rows(force=[100.0, np.nan, 300.0])), "row 2 has no force: fill in the number"),
    (lambda: sides(rows(direction=["bump", "bump", "up"])), "row 3 has the direction “up”: write"),
    (lambda: sides(rows(speed=[0.0] * 3)), "no row of the sheet has a speed above zero: check the"),
    (lambda: sides(rows(speed=[-0.1, 0.1, 0.2])), "row 1 has a speed below zero: give magnitudes"),
    (lambda: sides(rows(force=[100.0, -50.0, 300.0])), "row 2 has a force below zero"),
    (lambda: sides(rows(speed=[0.05, 0.1, 200.0])), "row 3 has a speed of 200: in mm/s perhaps"),
    (lambda: sides(rows(force=[100.0, 200.0, 3e6])), r"row 3 has a force of 3e\+06: check its"),
    (lambda: sides(rows(speed=[0.1, 0.1, 0.2])), "bump has 3 rows at 2 speeds: measure at least"),
    (lambda: sides(falling()), "at 0 clicks from full hard the bump force falls as speed rises"),
    (lambda: recorded(force=[1.0, 2.0]), "columns differ in length or are too short: export it"),
    (lambda: recorded(force=np.full(600, np.nan)), "sample 1 has no force: leave the sample out"),
    (lambda: recorded(force=np.ones(600)), "the force never changes: is this the load cell's colu"),
    (lambda: recorded(time=np.zeros(600)), "samples 1 and 2 have one time: export the time with m"),
    (lambda: recorded(time=-np.arange(600.0)), "time does not run forward at sample 2: check the"),
]  # fmt: skip


@pytest.mark.parametrize(("ask", "said"), REFUSED, ids=[said[:50] for _, said in REFUSED])
def test_what_is_refused(ask: Callable[[], object], said: str) -> None:
    with pytest.raises((BadNumber, BadSheet, NoEstimate), match=said):
        ask()


def test_clicks_counted_from_either_end() -> None:
    assert from_full_hard(3, 20, "hard") == 3
    assert from_full_hard(3, 20, "soft") == 17
    assert from_full_hard(3, None, "hard") == 3
    assert as_counted(17, 20, "soft") == 3
    assert turned(8, 2, 20, "hard") == 6
    assert turned(8, 2, 20, "soft") == 10
    assert harder_by(8, 6, 20, "hard") == 2
    assert harder_by(8, 6, 20, "soft") == -2
    acts = {(a, d): acts_on(a, d) for a in ("bump_bleed", "rebound_bleed", "both_bleed",
            "bump_preload", "rebound_preload", "odd") for d in ("bump", "rebound")}  # fmt: skip
    assert {key for key, act in acts.items() if act == "bleed"} == {
        ("bump_bleed", "bump"), ("rebound_bleed", "rebound"),
        ("both_bleed", "bump"), ("both_bleed", "rebound"),
    }  # fmt: skip
    assert {key for key, act in acts.items() if act == "preload"} == {
        ("bump_preload", "bump"), ("rebound_preload", "rebound"),
    }  # fmt: skip


def test_the_weakest_basis_is_that_of_the_whole() -> None:
    order = [Basis.MEASURED, Basis.BETWEEN, Basis.BEYOND, Basis.FROM_SISTERS, Basis.SHOP_RULE,
             Basis.FROM_PARTS]  # fmt: skip
    for one in order:
        for other in order:
            assert weakest(one, other) == weakest(other, one)
            assert weakest(one, other) in (one, other)
    assert weakest(Basis.MEASURED, Basis.BEYOND) == Basis.BEYOND
    assert weakest(Basis.MEASURED, Basis.BETWEEN) == Basis.BETWEEN


def test_a_force_click_takes_its_share_at_the_reference_speed() -> None:
    """Even steps by their definition: n clicks take n shares of the full-hard force."""
    law = ForceSteps(0.05, 0.1)
    hard = FlowPath(0.0, 0.002, 300.0, 2e-5, 0.05)
    full = float(force_at(0.1, hard))
    for clicks in (1.0, 4.0):
        softer = law.path_at(hard, 0.0, clicks)
        assert force_at(0.1, softer) == pytest.approx(full * (1 - 0.05 * clicks), rel=1e-6)
    assert AreaSteps(0.001).path_at(hard, 0.0, 3.0).bleed == pytest.approx(0.005)
    assert AreaSteps(0.001).path_at(hard, 3.0, 1.0).bleed == pytest.approx(0.0)


def test_gas_by_hand() -> None:
    """Pressure on the rod's area; polytropic compression; what one newton of gas pushes."""
    area = np.pi * 0.012**2 / 4
    assert rod_force(1e6, 0.012) == pytest.approx(1e6 * area)
    assert spring_rate(1e6, 0.012, 5e-5) == pytest.approx(1.4 * (1e6 + ATMOSPHERE) * area**2 / 5e-5)
    shut = pressure_after_stroke(1e6, 0.012, 0.1, 5e-5, exponent=1.0)
    assert shut == pytest.approx((1e6 + ATMOSPHERE) * 5e-5 / (5e-5 - area * 0.1) - ATMOSPHERE)
    assert cavitation_force(1e6, 1e-3) == pytest.approx((1e6 + ATMOSPHERE) * 1e-3)
    assert cavitation_force(1e6, 1e-3, 5e3) == pytest.approx((1e6 + ATMOSPHERE - 5e3) * 1e-3)
    warm = pressure_in_damper(1e6, 20.0, 20.0, 5e-5, 0.012, 0.1)
    assert warm == pytest.approx(shut, rel=0.01)  # isothermal nitrogen, nearly ideal
    expanded = pressure_in_damper(1e6, 20.0, 80.0, 5e-5, oil_volume=1e-4)
    assert expanded > pressure_in_damper(1e6, 20.0, 80.0, 5e-5)


def test_a_loss_is_beyond_doubt_only_where_the_readings_cannot_explain_it() -> None:
    none = charge_lost(15e5, 20.0, 15e5, 20.0)
    assert none.missing == pytest.approx(0.0, abs=1.0)
    assert not none.beyond_doubt
    assert not charge_lost(15e5, 20.0, 14.9e5, 20.0).beyond_doubt
    lost = charge_lost(15e5, 20.0, 13e5, 20.0)
    assert lost.beyond_doubt
    assert lost.expected == pytest.approx(15e5, rel=1e-6)
    assert lost.missing == pytest.approx(2e5, rel=1e-3)
    assert lost.share == pytest.approx(2e5 / (15e5 + ATMOSPHERE), rel=0.02)
    assert charge_lost(15e5, 20.0, 15e5, 40.0).missing > 0.9e5
    assert not charge_lost(15e5, 20.0, 16e5, 20.0).beyond_doubt


def test_oil_by_hand() -> None:
    oil = OilData(32.0, 5.4)
    assert oil.viscosity([40.0, 100.0]) == pytest.approx([32.0, 5.4], rel=1e-3)
    assert oil.viscosity(80.0) == pytest.approx(8.533, rel=1e-3)  # its docstring's example
    thinner, lighter = ratios(oil, 40.0, 100.0)
    assert lighter == pytest.approx(1 + EXPANSION * 60)
    assert thinner == pytest.approx(32.0 / 5.4 * (1 + EXPANSION * 60), rel=1e-3)
    same, light = ratios(None, 40.0, 100.0)
    assert same == 1.0
    assert light == lighter
    assert viscosity_index(73.3, 8.86) == pytest.approx(92, abs=0.6)  # its docstring's example
    assert viscosity_index(22.83, 5.05) == pytest.approx(156, abs=0.6)  # ISO 2909's, from memory
    assert middle_of_grade(46.0) == 46.0
    assert middle_of_grade(5.0) == pytest.approx(4.6, abs=0.1)
    made = from_grade(46.0, 100.0)
    assert viscosity_index(made.nu_cold, made.nu_hot) == pytest.approx(100.0, abs=0.1)


def test_discs_by_hand() -> None:
    """E·t³/12(1 − ν²); deflection is linear in force and goes with 1/t³; its example."""
    plate = Plate(0.005, 0.01, 0.2e-3)
    assert plate.stiffness == pytest.approx(206e9 * 0.2e-3**3 / (12 * (1 - 0.09)))
    one = bend(plate, [0.005, 0.01], [0.01], [100.0])
    assert one.deflection == pytest.approx([0.0, 0.532e-3], rel=2e-3, abs=1e-12)
    assert one.slope[0] == pytest.approx(0.0, abs=1e-9)
    two = bend(Plate(0.005, 0.01, 0.4e-3), [0.01], [0.01], [100.0])
    assert two.deflection[0] == pytest.approx(one.deflection[1] / 8)
    stress = 6 * abs(one.moment[0]) / 0.2e-3**2
    assert root_stress(plate, 0.01, 100.0) == pytest.approx(stress, rel=1e-6)
    single = give(Stack(((0.02, 0.2e-3),), 0.01), 0.02, 0.02)
    assert single.seat == pytest.approx(one.deflection[1] / 100, rel=1e-6)
    assert single.bent == pytest.approx(one.deflection[1] / 100 / 0.2e-3, rel=1e-6)
    assert single.safe_to == pytest.approx(SAFE_STRESS / (stress / 100), rel=1e-6)
    assert single.linear_to == pytest.approx(0.5 / single.bent)
    double = give(Stack(((0.02, 0.2e-3), (0.02, 0.2e-3)), 0.01), 0.02, 0.02)
    assert double.seat == pytest.approx(single.seat / 2, rel=1e-3)  # two alike share the load
    assert not Stack(((0.02, 2e-4), (0.02, 2e-4)), 0.01).crossover
    assert Stack(((0.015, 2e-4), (0.02, 2e-4)), 0.01).crossover


def test_a_needle_opens_to_its_bore_and_no_further() -> None:
    needle = Needle(3e-3, np.radians(15), 0.5e-3)
    assert needle.area(1.0) == pytest.approx(1.16884e-6, rel=1e-5)
    assert needle.area(0.0) == 0.0
    assert needle.area(100.0) == pytest.approx(np.pi * 3e-3**2 / 4)


def test_air_in_oil_by_the_formula() -> None:
    assert bulk_modulus(1e6, 0.01, 1.5e9, 1.0) == pytest.approx(0.66637e9, rel=1e-4)
    assert bulk_modulus(1e6, 0.0, 1.5e9) == pytest.approx(1.5e9)
    stiff = response_travel(0.1, PATH, 1e-3, 1e-4)[0]
    assert response_travel(0.1, PATH, 1e-3, 2e-4)[0] == pytest.approx(2 * stiff)
    assert response_travel(0.1, PATH, 1e-3, 1e-4, air=0.01)[0] > stiff
    assert response_travel(0.1, PATH, 1e-3, 1e-4, share=0.5)[0] < stiff


def test_flow_by_hand() -> None:
    """One way open at a time: v = leak·F, bleed·√F, and the port's own root law."""
    assert speed_at(400.0, FlowPath(1e-4, 0.0, 0.0, 0.0, 0.0)) == pytest.approx(0.04)
    assert speed_at(400.0, FlowPath(0.0, 0.003, 0.0, 0.0, 0.0)) == pytest.approx(0.06)
    assert speed_at(400.0, FlowPath(0.0, 0.003, 0.0, 0.0, 0.0), 1.0, 1.21) == pytest.approx(0.066)
    assert speed_at(400.0, FlowPath(1e-4, 0.0, 0.0, 0.0, 0.0), 2.0) == pytest.approx(0.08)
    assert force_at(0.0, PATH) == 0.0
    assert force_at(0.1, FlowPath(0.0, 0.0, 0.0, 0.0, 0.0)) == np.inf
    coefficient = flow_coefficient(1e-6, 1e-3, 850.0, 0.7)
    assert coefficient == pytest.approx(0.7 * 1e-6 / 1e-3 * np.sqrt(2 / (850.0 * 1e-3)))


def test_sheets_are_split_by_direction_and_gas_taken_out() -> None:
    sheet = SheetRows(
        position_from_hard=[0.0] * 10, direction=["bump"] * 5 + ["rebound"] * 5,
        speed=[0.0, 0.05, 0.1, 0.2, 0.3] * 2, force=[150.0, 200.0, 300.0, 400.0, 500.0] * 2,
    )  # fmt: skip
    found = sides(sheet, 100.0)
    assert list(found) == ["bump", "rebound"]
    assert list(found["bump"].force) == [100.0, 200.0, 300.0, 400.0]
    assert list(found["rebound"].force) == [300.0, 400.0, 500.0, 600.0]
    assert list(found["bump"].rows) == [1, 2, 3, 4]
    assert list(fitted_rows(found["bump"])) == [0, 1, 2, 3]


def test_a_recording_gives_its_peaks_and_energy() -> None:
    """A force of 500 N in phase with the speed of a sine of 20 mm: π·F·X a cycle."""
    found = recorded()
    assert found.rate == pytest.approx(200.0, rel=1e-6)
    peaks = found.peak_forces()
    assert peaks.speed == pytest.approx(0.02 * 2 * np.pi, rel=1e-3)
    assert (peaks.bump, peaks.rebound) == pytest.approx((500.0, 500.0), rel=0.01)
    assert found.energy_per_cycle() == pytest.approx(np.pi * 500 * 0.02, rel=0.01)
    assert SlowRun(100.0, 2000.0, 5.0, 0.01).gas_at(0.03) == pytest.approx(140.0)


SPEEDS = [0.02, 0.05, 0.1, 0.2, 0.4]


@pytest.mark.parametrize("direction", ["bump", "rebound"])
def test_every_band_holds_its_figure_and_no_coefficient_is_below_zero(direction: str) -> None:
    found = fit_of(SHED.sheets[0], SHED.builds[0]).direction(direction)
    for one in found.parameters:
        assert 0.0 <= one.low <= one.value <= one.high, one
        assert one.high > one.low
    for position in (0.0, 3.0, 10.0, 20.0, 22.0):
        told = found.predict(position, SPEEDS)
        assert np.all((told.low < told.force) & (told.force < told.high))
        assert np.all(np.diff(told.force) > 0.0)
    for a, b in ((0.0, 5.0), (5.0, 0.0), (8.0, 11.0), (20.0, 22.0)):
        step = found.difference(a, b, SPEEDS)
        assert np.all((step.low < step.change) & (step.change < step.high))
        assert np.all(np.sign(step.change) == np.sign(a - b)), "softer is less force"
        back = found.difference(b, a, SPEEDS)
        assert back.change == pytest.approx(-step.change)


def test_a_rule_by_the_shop_reaches_further_towards_the_larger_change() -> None:
    """The band of a factor: its ends are as far apart in ln force, so not in N."""
    rule = shop_curve(900.0, 0.1, 0.06)
    told = rule.predict(0.0, SPEEDS)
    assert np.all(told.high - told.force > told.force - told.low)
    for a, b in ((0.0, 4.0), (4.0, 0.0)):
        step = rule.difference(a, b, SPEEDS)
        assert np.all((step.low < step.change) & (step.change < step.high))
        assert np.all(np.sign(step.change) == np.sign(a - b))
        assert np.all(np.sign(step.low) == np.sign(step.high)), "a click is worth something"
