"""Orifices: the flow through one by its discharge coefficient, and what such numbers stand on."""

import numpy as np
import pytest

from trackside.damper.flow import FlowPath, flow_coefficient, speed_at
from trackside.damper.parts import DISCHARGE

AREA = np.pi / 4 * (0.046**2 - 0.014**2)
HOLE = np.pi / 4 * 0.002**2


def flow(discharge: float) -> float:
    """m³/s through 2 mm at 1 MPa and 850 kg/m³."""
    path = FlowPath(0, flow_coefficient(HOLE, AREA, 850, discharge), 0, 0)
    return float(speed_at(1e6 * AREA, path)) * AREA


@pytest.mark.parametrize(
    ("discharge", "expected"), [(0.61, 9.295767e-5), (0.70, 1.0667274e-4), (0.82, 1.2495949e-4)]
)
def test_flow_of_a_two_millimetre_hole(discharge, expected):
    # Q = Cd·a·√(2Δp/ρ), textbook; the values are derived from it
    assert flow(discharge) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("loss", "discharge"), [(0.5, 0.816497), (0.57, 0.798087)])
def test_a_short_tube(loss, discharge):
    # Cd = 1/√(1 + K): derived; K 0.57 is that of fluids 1.3.1 (computed), 0.5 is from memory
    assert 1 / np.sqrt(1 + loss) == pytest.approx(discharge, rel=1e-6)
    jet = flow(discharge) / HOLE
    # entry loss and the jet's own head make up the whole pressure drop (Bernoulli, textbook)
    assert (1 + loss) * 850 * jet**2 / 2 == pytest.approx(1e6, rel=1e-5)


def test_the_usual_discharge_lies_between_a_sharp_edge_and_a_short_tube():
    # 0.62: Encyclopaedia Britannica, 11th edition (1911), Hydraulics, sections 16 to 18 (read);
    # 0.798: fluids 1.3.1 (computed)
    assert 0.62 < DISCHARGE < 0.798


def test_leakage_past_a_piston_goes_with_the_pressure():
    # Q = π·D·c³·Δp/(12·μ·L): Rabie, Fluid Power Engineering, p. 21 (formula read); 46 mm, 0.05 mm,
    # 10 mm long, 11.5 mPa·s, 1 MPa: 1.3089969e-5 m³/s (computed)
    pressure, flowing = 1e6, np.pi * 0.046 * 0.05e-3**3 * 1e6 / (12 * 0.0115 * 0.010)
    assert flowing == pytest.approx(1.3089969e-5, rel=1e-6)
    path = FlowPath(flowing / AREA / (pressure * AREA), 0, 1e9, 0)
    for share in (0.1, 1.0, 3.0):
        through = float(speed_at(share * pressure * AREA, path)) * AREA
        assert through == pytest.approx(share * flowing, rel=1e-9)
