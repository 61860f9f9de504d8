"""Annular plates against printed coefficients, closed forms and a boundary-value solver."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.damper.plates import Plate, bend, root_stress
from trackside.errors import BadNumber

RATIOS = (0.1, 0.3, 0.5, 0.7, 0.9)
UNIT = 12 * (1 - 0.3**2)  # a modulus that makes the flexural stiffness one


def spread(ratio, edges, load):
    """A plate of outer radius 1 and stiffness 1 under a pressure `load(r)`, at both edges."""
    node, weight = np.polynomial.legendre.leggauss(60)
    r = ratio + (1 - ratio) * (node + 1) / 2
    force = load(r) * 2 * np.pi * r * weight * (1 - ratio) / 2
    return bend(Plate(ratio, 1.0, 1.0, UNIT), [ratio, 1.0], r, force, *edges)


# Roark, Formulas for Stress and Strain, table 11.2, nu 0.3: printed coefficients, read in excerpts
# of pages 481 to 488.
# (case, inner edge, outer edge, rising load, what, at inner or outer, K for b/a .1 .3 .5 .7 .9)
PRINTED = [
    ("2b", "guided", "simple", False, "deflection", 0, (-0.0575, -0.0314, -0.0103, -0.0015, -2e-5)),
    ("2b", "guided", "simple", False, "moment", 0, (0.3003, 0.2185, 0.1223, 0.0456, 0.00505)),
    ("2d", "fixed", "simple", False, "moment", 0, (-0.2459, -0.0939, -0.0393, -0.01257, None)),
    ("2e", "free", "fixed", False, "deflection", 0, (-0.0166, -0.0132, -0.0053, -0.0009, -1e-5)),
    ("2e", "free", "fixed", False, "moment", 1, (-0.1246, -0.1135, -0.0800, -0.0361, -0.0047)),
    ("3j", "fixed", "guided", True, "deflection", 1, (-0.0253, -0.0089, -0.0022, -0.0003, None)),
    ("3j", "fixed", "guided", True, "moment", 0, (-0.5388, -0.1990, -0.0774, -0.0231, -0.00221)),
    ("3k", "simple", "free", True, "deflection", 1, (-0.083, -0.0826, -0.0574, -0.0258, -0.0034)),
]


@pytest.mark.parametrize(("case", "inner", "outer", "rising", "what", "end", "printed"), PRINTED)
def test_printed_coefficients(case, inner, outer, rising, what, end, printed):
    for ratio, expected in zip(RATIOS, printed, strict=True):
        if expected is None:
            continue

        def load(r, ratio=ratio):
            return (r - ratio) / (1 - ratio) if rising else np.ones_like(r)

        value = -getattr(spread(ratio, (inner, outer), load), what)[end]
        digits = len(f"{expected:.5f}".rstrip("0").partition(".")[2])
        assert abs(value - expected) <= 0.55 * 10.0**-digits, (case, ratio, value)


# The disc's own cases, inner edge clamped, outer free: derived (symbolic solution of the plate
# equation, confirmed with a boundary-value solver), not read. Tolerance 1e-6.
CASE_1L = {
    0.1: (0.2691301, 0.3611126, 2.5553639),
    0.3: (0.1389472, 0.2543231, 1.3819990),
    0.5: (0.0504548, 0.1367547, 0.7888755),
    0.7: (0.0103177, 0.0488310, 0.3908566),
    0.9: (0.0003506, 0.0051730, 0.1089816),
}
CASE_2L = {
    0.1: (0.0756931, 0.0868206, 0.9645670),
    0.3: (0.0318182, 0.0512170, 0.4103383),
    0.5: (0.0085886, 0.0207079, 0.1735691),
    0.7: (0.0010956, 0.0046270, 0.0540764),
    0.9: (0.0000129, 0.0001695, 0.0052989),
}


@pytest.mark.parametrize("ratio", RATIOS)
def test_clamped_disc(ratio):
    ring = bend(Plate(ratio, 1.0, 1.0, UNIT), [ratio, 1.0], 1.0, 2 * np.pi)
    even = spread(ratio, ("fixed", "free"), np.ones_like)
    for bent, (y, theta, moment) in ((ring, CASE_1L[ratio]), (even, CASE_2L[ratio])):
        assert bent.deflection[1] == pytest.approx(y, abs=1e-6)
        assert bent.slope[1] == pytest.approx(theta, abs=1e-6)
        assert abs(bent.moment[0]) == pytest.approx(moment, abs=1e-6)
        assert bent.deflection[0] == 0.0
        assert bent.moment[1] == pytest.approx(0.0, abs=1e-12)


@given(st.floats(0.05, 0.95))
def test_edge_load_in_closed_form(b):
    # y = K·w·a³/D with B = b/a, nu 0.3: derived (the plate equation solved with sympy)
    nu, ln = 0.3, np.log(b)
    top = (3 + nu) - 2 * (1 + nu) * b**2 - (1 - nu) * b**4
    top += 8 * b**2 * ln - 4 * (1 + nu) * b**2 * ln**2
    expected = top / (8 * ((1 + nu) + (1 - nu) * b**2))
    found = bend(Plate(b, 1.0, 1.0, UNIT), 1.0, 1.0, 2 * np.pi).deflection[0]
    assert found == pytest.approx(expected, rel=1e-6, abs=1e-11)


def test_worked_disc():
    # E 206 GPa, 0.20 mm, 10 mm on 5 mm: derived; far past the theory's own limit, arithmetic only
    disc = Plate(0.005, 0.010, 0.2e-3)
    assert disc.stiffness == pytest.approx(0.1509157509, rel=1e-9)
    assert bend(disc, 0.010, 0.010, 100).deflection[0] == pytest.approx(0.5320937e-3, rel=1e-6)
    assert root_stress(disc, 0.010, 100) == pytest.approx(1883.30e6, rel=1e-5)


def test_narrow_disc_is_a_cantilever():
    # a narrow ring far from the axis is a strip: P·l³/3D, derived
    disc = Plate(1.0, 1.001, 1e-4)
    force = 2 * np.pi * 1.0005
    strip = 0.001**3 / (3 * disc.stiffness)
    assert bend(disc, 1.001, 1.001, force).deflection[0] == pytest.approx(strip, rel=3e-3)


radii = st.floats(0.15, 1.0)


@given(st.floats(0.05, 0.9), radii, radii)
def test_what_a_ring_does_to_another_it_gets_back(ratio, one, other):
    # Maxwell's reciprocity: deflection at s by a load at r is that at r by a load at s
    disc = Plate(ratio, 1.0, 1.0, UNIT)
    one, other = ratio + (1 - ratio) * one, ratio + (1 - ratio) * other
    there = bend(disc, one, other, 1.0).deflection[0]
    back = bend(disc, other, one, 1.0).deflection[0]
    assert there == pytest.approx(back, rel=1e-8)
    assert there > 0


def test_stiffness_goes_with_the_cube_of_thickness():
    thin, thick = (bend(Plate(5e-3, 1e-2, t), 1e-2, 1e-2, 1).deflection[0] for t in (1e-4, 2e-4))
    assert thin == pytest.approx(8 * thick)


@pytest.mark.parametrize("radii", [(0.01, 0.01), (0.012, 0.01), (0.0, 0.01)])
def test_a_disc_no_larger_than_its_clamp_is_refused(radii):
    with pytest.raises(BadNumber, match="above its clamp"):
        Plate(*radii, 1e-4)
