"""A stack of discs: how it gives at the seat, and how far it bends and suffers.

The discs stand in order from the piston face to the clamp disc and slide on each other
without friction. Neighbours push on each other, and never pull, on rings: under the load and at
the edges of discs (the leaf spring's rule: leaves touch at their ends). Of all forces that can
stand there, those of least complementary energy do (derived; the tests let contact settle
anywhere on the faces instead).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np

from trackside.damper.plates import LINEAR, POISSON, STEEL, Floats, Plate, bend
from trackside.errors import BadNumber

SAFE_STRESS = 1.2e9
"""Pa at the clamp's edge, above which a disc is said to be at risk of a set or a crack; our
own limit for hardened spring steel, no source."""


@dataclass(frozen=True)
class Stack:
    """Discs as (diameter, thickness) in m from the piston face out, on a clamp of diameter m.

    Discs no larger than the clamp are spacers and bend nothing. Raises BadNumber without a disc
    that can bend.
    """

    discs: tuple[tuple[float, float], ...]
    clamp: float
    modulus: float = STEEL
    poisson: float = POISSON

    def __post_init__(self) -> None:
        if not self.plates:
            raise BadNumber(
                "no disc of the stack is larger than its clamp disc",
                "check the discs and the clamp disc's diameter",
            )

    @cached_property
    def plates(self) -> tuple[Plate, ...]:
        """The discs that bend."""
        return tuple(
            Plate(self.clamp / 2.0, diameter / 2.0, thickness, self.modulus, self.poisson)
            for diameter, thickness in self.discs
            if diameter > self.clamp
        )

    @property
    def crossover(self) -> bool:
        """Whether a disc is larger than one nearer the piston: the gap between them closes on
        the way, and the stiffer second stage is not in these figures."""
        return any(b.outer > a.outer for a, b in pairwise(self.plates))


@dataclass(frozen=True)
class Give:
    """What one newton on the first disc does: linear, so all of it scales with the force.

    seat: lift at the seat (m/N); bent: the largest deflection over thickness of any disc (1/N);
    stress: the largest radial stress 6M/t² at the clamp (Pa/N).
    """

    seat: float
    bent: float
    stress: float

    @property
    def linear_to(self) -> float:
        """Force (N) on the stack up to which plate theory holds."""
        return LINEAR / self.bent

    @property
    def safe_to(self) -> float:
        """Force (N) on the stack at which a disc reaches SAFE_STRESS."""
        return SAFE_STRESS / self.stress


@lru_cache(maxsize=256)
def give(stack: Stack, load: float, seat: float) -> Give:
    """How the stack gives at the diameter `seat` (m) under 1 N on a ring of diameter `load` (m).

    Raises BadNumber where load or seat is not on the first disc outside the clamp.
    """
    plates, first = stack.plates, stack.plates[0]
    if not (first.inner < load / 2.0 <= first.outer and first.inner < seat / 2.0 <= first.outer):
        raise BadNumber(
            "the seat, or the ring the oil presses on, is not on the first disc outside its clamp",
            "check seat, clamp and first disc",
        )
    rings = np.unique([load / 2.0, *(plate.outer for plate in plates)])
    on_first = (rings == load / 2.0).astype(float)
    handed = np.vstack([on_first, _handed_on(plates, rings, on_first), np.zeros_like(on_first)])
    lifts, bent, stress = [], [], []
    for plate, force in zip(plates, handed[:-1] - handed[1:], strict=True):
        on = rings <= plate.outer
        found = bend(plate, [plate.inner, seat / 2.0, plate.outer], rings[on], force[on])
        lifts.append(found.deflection[1])
        bent.append(np.abs(found.deflection[2]) / plate.thickness)
        stress.append(6.0 * np.abs(found.moment[0]) / plate.thickness**2)
    return Give(float(lifts[0]), float(max(bent)), float(max(stress)))


def _handed_on(plates: tuple[Plate, ...], rings: Floats, load: Floats) -> Floats:
    """Force (n − 1, rings) that each disc hands on to the next when `load` is on the first."""
    from scipy.optimize import nnls

    gives = [_influence(plate, rings) for plate in plates]
    place = [
        (n, ring)
        for n, pair in enumerate(pairwise(plates))
        for ring in np.flatnonzero(rings <= min(plate.outer for plate in pair))
    ]
    handed = np.zeros((len(plates) - 1, rings.size))
    if not place:
        return handed
    n, ring = np.array(place).T
    shared = np.zeros((len(place), len(place)))
    for disc, influence in enumerate(gives):
        sign = 1.0 * (n == disc - 1) - 1.0 * (n == disc)
        shared += np.outer(sign, sign) * influence[np.ix_(ring, ring)]
    gap = np.where(n == 0, (gives[0] @ load)[ring], 0.0)
    scale = np.sqrt(np.diag(shared))
    root = np.linalg.cholesky(shared / np.outer(scale, scale) + 1e-12 * np.eye(len(place)))
    handed[n, ring] = nnls(root.T, np.linalg.solve(root, gap / scale))[0] / scale
    return handed


def _influence(plate: Plate, rings: Floats) -> Floats:
    """Deflection (rings, rings) at one ring by 1 N on another; zero beyond the disc."""
    found = np.zeros((rings.size, rings.size))
    on = np.flatnonzero(rings <= plate.outer)
    for ring in on:
        found[on, ring] = bend(plate, rings[on], rings[ring], 1.0).deflection
    return found
