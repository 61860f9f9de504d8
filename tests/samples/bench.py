"""The invented team's dampers on the virtual bench: the sheets under sample_sessions/dyno.

Each damper is invented to look like one of its class (club touring car or GT, digressive, gas
charged): no real one is behind it. Scatter comes from `random`, whose streams stay the same
from one Python to the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from tests.bench.virtual_bench import Piston
from trackside.units import INCH, LBF

SPEEDS = (13, 25, 50, 75, 100, 150, 200, 250, 350, 500)
"""Rod speeds in mm/s."""
FAST = (50, 75, 100, 150, 200, 250, 300, 350, 400, 500)
"""Those of the workshop whose machine starts at 50 mm/s."""
RELATIVE_SCATTER, ABSOLUTE_SCATTER = 0.008, 1.5
HARDER_PER_PRELOAD_CLICK = 0.055e6
"""What one click of a preload adjuster adds to the crack pressure (Pa)."""


@dataclass(frozen=True)
class Direction:
    """One direction, drawn by what a technician would say of it: pressures in MPa, areas mm²."""

    crack: float
    soft_area: float
    base_area: float
    growth: float
    port: float


@dataclass(frozen=True)
class Unit:
    """One damper as built. `scale` is how much its flow areas differ from its twin's."""

    bore: float
    rod: float
    clicks: int
    bump: Direction
    rebound: Direction
    scale: float = 1.0
    friction: float = 14.0
    gas: float = 14e5

    @property
    def gas_force(self) -> float:
        """Gauge pressure on the rod (N)."""
        return self.gas * math.pi / 4 * (self.rod * 1e-3) ** 2

    def piston(self, direction: str, preload: float = 0.0) -> Piston:
        """The direction's flow paths, with the preload adjuster that many clicks from soft."""
        d: Direction = getattr(self, direction)
        area = math.pi / 4 * (self.bore**2 - self.rod**2) * 1e-6
        seat, angle = 2.4e-3, math.radians(14)
        slant = 0.55 * seat / 2
        full = math.pi * slant * (seat - slant * math.cos(angle))
        shrink = math.sqrt(d.soft_area * 1e-6 / full)
        added = HARDER_PER_PRELOAD_CLICK * preload if direction == "bump" else 0.0
        return Piston(
            area=area,
            needle_seat=seat * shrink,
            half_angle=angle,
            lift_per_click=slant / math.sin(angle) * shrink / self.clicks,
            drilling=2.2e-6 * d.soft_area,
            base_bleed=d.base_area * 1e-6 * self.scale,
            crack=d.crack * 1e6 + added,
            growth=d.growth * 1e-6 * self.scale,
            power=1.05,
            softness=0.04e6,
            port=d.port * 1e-6,
            gap_flow=area * 6e-10,
            discharge=0.7,
            transition=120.0,
        )

    def force(
        self, direction: str, from_hard: float, speeds: np.ndarray, preload: float = 0.0
    ) -> np.ndarray:
        """What a bench without scatter, and without gas force, would print (N)."""
        seal = self.friction * (1 + 0.3 * np.exp(-speeds / 0.02))
        return self.piston(direction, preload).force(speeds, from_hard) + seal


@dataclass(frozen=True)
class Bench:
    """How one sheet was run and written: positions as counted, preload settings from soft."""

    unit: Unit
    positions: tuple[int, ...]
    counted_from: str = "hard"
    preloads: tuple[int, ...] = ()
    gas_in: bool = False
    negative_rebound: bool = False
    inches: bool = False
    speeds: tuple[int, ...] = SPEEDS

    def csv(self, seed: str) -> str:
        """The sheet's text; the same for the same seed."""
        dice = Random(seed)
        header = (
            "position,direction,speed_in_s,force_lbf,oil_F"
            if self.inches
            else "position,direction,speed_mm_s,force_N,oil_C"
        )
        if self.preloads:
            header += ",preload_position"
        return "\n".join([header, *self._lines(dice)]) + "\n"

    def _lines(self, dice: Random) -> Iterator[str]:
        speeds = np.array(self.speeds) * 1e-3
        oil = 29.0
        for position in self.positions:
            hard = self.unit.clicks - position if self.counted_from == "soft" else position
            for direction, preload in self._runs():
                sign = 1 if direction == "bump" else -1
                true = self.unit.force(direction, hard, speeds, preload or 0)
                for speed, force in zip(self.speeds, true + sign * self._gas(), strict=True):
                    oil += dice.uniform(0.0, 0.12)
                    seen = force * (1 + dice.gauss(0, RELATIVE_SCATTER))
                    seen += dice.gauss(0, ABSOLUTE_SCATTER)
                    yield self._line(position, direction, speed, seen, oil, preload)

    def _runs(self) -> list[tuple[str, int | None]]:
        if not self.preloads:
            return [("bump", None), ("rebound", None)]
        return [*(("bump", p) for p in self.preloads), ("rebound", self.preloads[0])]

    def _gas(self) -> float:
        return self.unit.gas_force if self.gas_in else 0.0

    def _line(
        self, position: int, direction: str, speed: float, force: float, oil: float,
        preload: int | None,
    ) -> str:  # fmt: skip
        if direction == "rebound" and self.negative_rebound:
            force = -force
        cells = (
            f"{speed * 1e-3 / INCH:.3f},{force / LBF:.2f},{oil * 1.8 + 32:.0f}"
            if self.inches
            else f"{speed},{force:.1f},{oil:.0f}"
        )
        return f"{position},{direction},{cells}" + ("" if preload is None else f",{preload}")


STRUT = Unit(
    bore=40, rod=18, clicks=18, gas=12e5, friction=22,
    bump=Direction(0.30, 4.2, 1.3, 26, 90),
    rebound=Direction(0.66, 3.6, 0.9, 15, 60),
)  # fmt: skip
REAR_A = Unit(
    bore=40, rod=12.7, clicks=24, gas=14e5, friction=12,
    bump=Direction(0.24, 4.4, 1.2, 26, 90),
    rebound=Direction(0.74, 3.0, 0.9, 16, 60),
)  # fmt: skip
REAR_B = replace(
    REAR_A, bump=Direction(0.28, 4.4, 1.1, 22, 90), rebound=Direction(0.56, 3.0, 0.9, 22, 60)
)
FRONT_64 = Unit(
    bore=46, rod=14, clicks=20, gas=16e5, friction=14,
    bump=Direction(0.18, 5.2, 1.5, 38, 120),
    rebound=Direction(0.50, 4.6, 1.2, 24, 90),
)  # fmt: skip
SPARE_64 = replace(
    FRONT_64, clicks=16,
    bump=Direction(0.21, 5.8, 1.2, 36, 120), rebound=Direction(0.485, 5.4, 0.95, 25, 90),
)  # fmt: skip
REAR_64 = replace(
    FRONT_64, bump=Direction(0.16, 5.2, 1.6, 42, 120), rebound=Direction(0.42, 4.8, 1.3, 27, 90)
)

OTHER_WORKSHOP = Bench(
    REAR_A, (0, 6, 12, 18, 24), "soft", gas_in=True, negative_rebound=True, speeds=FAST
)

SHEETS: dict[str, Bench] = {
    "SA-3107-A": Bench(STRUT, (0, 4, 9, 13, 18)),
    "SA-3108-A": Bench(replace(STRUT, scale=1.02), (0, 4, 9, 13, 18), counted_from="soft"),
    "TW-2241-A": replace(OTHER_WORKSHOP, unit=REAR_A),
    "TW-2242-A": replace(OTHER_WORKSHOP, unit=replace(REAR_A, scale=0.985)),
    "TW-2241-B": Bench(REAR_B, (0, 6, 12, 18, 24), "soft"),
    "TW-2242-B": Bench(replace(REAR_B, scale=0.985), (0, 6, 12, 18, 24), "soft"),
    "FP-0611-A": Bench(FRONT_64, (0, 5, 10, 15, 20), preloads=(3,)),
    "FP-0612-A": Bench(replace(FRONT_64, scale=1.015), (0, 5, 10, 15, 20), preloads=(3,)),
    "FP-0619-C": Bench(SPARE_64, (0, 4, 8, 12, 16), "soft", preloads=(2,), inches=True),
    "RP-0713-A": Bench(REAR_64, (0, 5, 10, 15, 20), preloads=(2, 5)),
    "RP-0714-A": Bench(replace(REAR_64, scale=1.01), (0, 5, 10, 15, 20), preloads=(2, 5)),
}
"""Serial and build → how its sheet was run."""
