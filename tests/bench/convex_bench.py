"""A second bench, of dampers whose needles open the more the further they are out.

It shares nothing with `trackside`, and no law with `virtual_bench`: the needle's area grows with a
power of its lift between 1.2 and 1.9, all orifices have one discharge, the stack's area follows
another power with a rounded start, and the bench scatters by 1.5 % of the force. The numbers are
plausible for small dampers; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

SPEEDS = np.array([10, 20, 40, 60, 90, 130, 180, 250, 330, 450]) * 1e-3  # m/s
SCATTER = 0.015


@dataclass(frozen=True)
class ConvexDamper:
    """One direction. Flows are speeds (m/s): `base` and `needle` at 1 kN, `stack` 1 kN over
    `crack` (N), `gap` at 1 kN; `rounding` N, `friction` N."""

    clicks: int
    base: float
    needle: float
    exponent: float
    crack: float
    stack: float
    power: float
    rounding: float
    gap: float
    friction: float

    def true_force(self, clicks: float, speed: np.ndarray) -> np.ndarray:
        """What a bench without scatter would print, N, at speeds (m/s)."""
        force = np.geomspace(1e-2, 1e5, 6_000)
        over = self.rounding * np.logaddexp(0.0, (force - self.crack) / self.rounding)
        over -= self.rounding * np.logaddexp(0.0, -self.crack / self.rounding)
        bleed = self.base + self.needle * (clicks / self.clicks) ** self.exponent
        area = bleed + self.stack * (over / 1e3) ** self.power
        flow = area * np.sqrt(force / 1e3) + self.gap * force / 1e3
        return np.exp(np.interp(np.log(speed), np.log(flow), np.log(force))) + self.friction

    def measure(
        self, positions: Iterable[float], seed: int
    ) -> tuple[np.ndarray, list[str], np.ndarray, np.ndarray]:
        """Columns position (from full hard), direction, speed (m/s), force (N) of a sheet."""
        rng = np.random.default_rng(seed)
        places = np.asarray(list(positions), float)
        force = np.concatenate([self.true_force(place, SPEEDS) for place in places])
        force = force * (1.0 + SCATTER * rng.normal(size=force.size))
        speed = np.tile(SPEEDS, places.size)
        return np.repeat(places, SPEEDS.size), ["bump"] * force.size, speed, force


def convex_dampers(count: int, first_seed: int = 0) -> Iterator[ConvexDamper]:
    """`count` random dampers; the same ones for the same seeds."""
    for seed in range(first_seed, first_seed + count):
        rng = np.random.default_rng((seed, 2))
        needle = rng.uniform(0.06, 0.25)
        yield ConvexDamper(
            clicks=int(rng.integers(10, 31)),
            base=needle * rng.uniform(0.1, 0.5),
            needle=needle,
            exponent=rng.uniform(1.2, 1.9),
            crack=rng.uniform(50, 900),
            stack=rng.uniform(0.1, 0.5),
            power=rng.uniform(0.8, 1.1),
            rounding=rng.uniform(10, 60),
            gap=10 ** rng.uniform(-3, -2),
            friction=rng.uniform(4, 25),
        )
