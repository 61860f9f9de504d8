"""Discs as thin annular plates: how far one gives under ring loads, and what its root feels.

Initial-parameter method: deflection, slope, radial moment and shear at a radius follow from those
at the inner edge and from the rings of load in between. The plate functions are those of Roark's
Formulas for Stress and Strain, table 11.2: F2, F3, F8 and F9 were read there; F1, F4, F5, F6 and
F7 are from memory. The printed coefficients of cases 2b, 2d, 2e, 3j and 3k, which were read, check
all of them. Small deflections, no stretching: see `LINEAR`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trackside.errors import BadNumber

Floats = NDArray[np.float64]
Edge = Literal["fixed", "simple", "guided", "free"]

STEEL = 206e9  # Pa, Young's modulus of spring steel: from memory
POISSON = 0.3
LINEAR = 0.5
"""Deflection over thickness up to which the theory holds (read in a circular-plate textbook
chapter); beyond it a disc is stiffer than this says."""

_ZERO: dict[Edge, tuple[int, int]] = {
    "fixed": (0, 1),
    "simple": (0, 2),
    "guided": (1, 3),
    "free": (2, 3),
}
"""Which of deflection, slope, moment and shear are zero at an edge."""


@dataclass(frozen=True)
class Plate:
    """A disc between its clamp and its outer edge: radii and thickness in m, modulus in Pa."""

    inner: float
    outer: float
    thickness: float
    modulus: float = STEEL
    poisson: float = POISSON

    def __post_init__(self) -> None:
        if not (0.0 < self.inner < self.outer < np.inf and 0.0 < self.thickness < np.inf):
            raise BadNumber(
                "a disc needs a thickness, and an outer diameter above its clamp's",
                "check the discs and the clamp disc",
            )

    @property
    def stiffness(self) -> float:
        """Flexural stiffness E·t³/12(1 − ν²) in N·m."""
        return self.modulus * self.thickness**3 / (12.0 * (1.0 - self.poisson**2))


@dataclass(frozen=True)
class Bent:
    """A loaded plate at n radii: deflection m and slope along the load, radial moment N·m/m."""

    deflection: Floats
    slope: Floats
    moment: Floats


def bend(
    plate: Plate,
    at: ArrayLike,
    rings: ArrayLike,
    forces: ArrayLike,
    inner: Edge = "fixed",
    outer: Edge = "free",
) -> Bent:
    """The plate at radii `at` (n,) m under whole forces (k,) N spread round rings of radius (k,) m.

    The default edges are a disc's: clamped inside, free outside (Roark cases 1l and 2l). 10 mm
    outer and 5 mm inner radius, 0.2 mm thick, 100 N at the outer edge: 0.532 mm.

    >>> bent = bend(Plate(0.005, 0.010, 0.2e-3), at=0.010, rings=0.010, forces=100.0)
    >>> f"{1e3 * bent.deflection[0]:.3f} mm"
    '0.532 mm'
    """
    radius, ring = np.atleast_1d(np.asarray(at, float)), np.atleast_1d(np.asarray(rings, float))
    line = np.atleast_1d(np.asarray(forces, float)) / (2.0 * np.pi * ring)
    unknown = [n for n in range(4) if n not in _ZERO[inner]]
    ends = list(_ZERO[outer])
    far = _carried(plate, plate.inner, np.array([plate.outer]))[0][np.ix_(ends, unknown)]
    start = np.zeros(4)
    start[unknown] = np.linalg.solve(
        far, -_loaded(plate, np.array([plate.outer]), ring, line)[0, ends]
    )
    state = _carried(plate, plate.inner, radius) @ start + _loaded(plate, radius, ring, line)
    return Bent(*state.T[:3])


def root_stress(plate: Plate, ring: float, force: float = 1.0) -> float:
    """Radial stress 6M/t² (Pa) at the clamp of a disc under a ring of force (N) at `ring` (m)."""
    moment = bend(plate, plate.inner, ring, force).moment[0]
    return abs(float(moment)) * 6.0 / plate.thickness**2


def _loaded(plate: Plate, radius: Floats, ring: Floats, line: Floats) -> Floats:
    """State (n, 4) at each radius from rings of line load (N/m) inside it alone."""
    beyond = np.maximum(radius[:, None], ring[None, :])
    return np.einsum("nki,k->ni", _carried(plate, ring, beyond)[..., 3], line)


def _carried(plate: Plate, start: ArrayLike, radius: Floats) -> Floats:
    """Matrices (…, 4, 4) that carry deflection, slope, moment and shear from `start` outwards.

    Positive along the load: Roark's with all four signs turned.
    """
    nu, d = plate.poisson, plate.stiffness
    b = np.asarray(start, float) / radius  # Roark's b/r
    ln, square = -np.log(b), b**2
    m = np.zeros((*np.shape(b), 4, 4))
    m[..., 0, 0] = 1.0
    m[..., 0, 1] = radius * ((1 + nu) / 2 * b * ln + (1 - nu) / 4 * (1 / b - b))
    m[..., 0, 2] = radius**2 / d / 4 * (1 - square * (1 + 2 * ln))
    m[..., 0, 3] = radius**3 / d * b / 4 * ((square + 1) * ln + square - 1)
    m[..., 1, 1] = ((1 + nu) * b + (1 - nu) / b) / 2
    m[..., 1, 2] = radius / d * (1 - square) / 2
    m[..., 1, 3] = radius**2 / d * b / 4 * (square - 1 + 2 * ln)
    m[..., 2, 1] = d / radius * (1 - nu**2) / 2 * (1 / b - b)
    m[..., 2, 2] = (1 + nu + (1 - nu) * square) / 2
    m[..., 2, 3] = radius * b * ((1 + nu) / 2 * ln + (1 - nu) / 4 * (1 - square))
    m[..., 3, 3] = b
    return m
