"""How far the rod travels before the damper answers: oil springs before it flows.

Travel to a share of the steady force at constant speed v, oil volume V, bulk modulus β, area A:

    x = v·∫ (V/β)/A² · dF / (v − v(F)),   F from 0 to share·F_steady

from ΔP = F/A and the oil's compression V·dp/β taking up the flow that the paths do not (derived).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats, FlowPath, force_at, speed_at
from trackside.errors import BadNumber

ATMOSPHERE = 101_325.0  # Pa
OIL_MODULUS = 1.5e9  # Pa, oil without air: from memory
_NODES = 200


def bulk_modulus(
    p_gauge: ArrayLike,
    air: float = 0.0,
    oil: float = OIL_MODULUS,
    exponent: float = 1.4,
    atmosphere: float = ATMOSPHERE,
) -> Floats:
    """Effective bulk modulus (Pa) of oil with entrained air.

    p_gauge Pa; air: volume of air over volume of oil at atmospheric pressure; exponent 1 slow,
    1.4 fast. Source: the entrained-air formula of MathWorks' documentation of a hydraulic fluid
    (read). Computed from it: 1 % of air, 1 MPa, exponent 1: 0.66637 GPa of 1.5.

    >>> f"{bulk_modulus(1e6, 0.01, 1.5e9, 1.0) / 1e9:.5f}"
    '0.66637'
    """
    p = np.asarray(p_gauge, float)
    if not (np.all(p > -atmosphere) and 0.0 <= air < 1.0 and oil > 0.0 and exponent >= 1.0):
        raise BadNumber(
            "pressure, air share or bulk modulus is not plausible", "air is a share, 0.01 is 1 %"
        )
    total = atmosphere + p
    swollen = air * (atmosphere / total) ** (1.0 / exponent)
    give = air * atmosphere ** (1.0 / exponent) / (exponent * total ** (1.0 + 1.0 / exponent))
    return oil * (1.0 + swollen) / (1.0 + give * oil)


def response_travel(
    speed: ArrayLike,
    path: FlowPath,
    piston_area: float,
    oil_volume: float,
    share: float = 0.8,
    p_gauge: float = 0.0,
    air: float = 0.0,
    oil: float = OIL_MODULUS,
    exponent: float = 1.4,
) -> Floats:
    """Rod travel (m) until `share` of the steady force stands, at speeds (m/s) above zero.

    piston_area m² (piston less rod), oil_volume m³ under pressure; p_gauge Pa is the pressure
    that the oil has before, the gas charge; air as in `bulk_modulus`, whose value follows the
    pressure as the force builds up.
    """
    v = np.atleast_1d(np.asarray(speed, float))
    if not (np.all(v > 0.0) and piston_area > 0.0 and oil_volume > 0.0 and 0.0 < share < 1.0):
        raise BadNumber(
            "speed, area and volume must be above zero, the share between 0 and 1",
            "leave the share at 0.8",
        )
    steady = force_at(v, path)[:, None]
    nodes, weights = _quadrature()
    # F = top·u²: the flow through an orifice goes with √F, which u makes straight
    u = 0.5 * (nodes + 1.0)
    force = share * steady * u**2
    modulus = bulk_modulus(p_gauge + force / piston_area, air, oil, exponent)
    left = v[:, None] - speed_at(force, path)
    slope = 2.0 * share * steady * u * 0.5 * weights
    compliance = oil_volume / modulus / piston_area**2
    return v * np.sum(compliance * slope / left, axis=1)


@cache
def _quadrature() -> tuple[Floats, Floats]:
    """Nodes and weights of Gauss and Legendre on −1 … 1, found once: that takes longer than the
    rest."""
    return np.polynomial.legendre.leggauss(_NODES)
