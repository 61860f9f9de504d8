"""A damper and a dynamometer that know more physics than the program that is tested on them.

Nothing here comes from `trackside`. Beyond the program's model it has: a discharge coefficient
that falls at low Reynolds number, a cone needle (whose area curves with lift) in series with its
own drilling, a stack whose area does not grow linearly and which lifts softly, friction that
falls as the rod starts to slide, detents that are not even, gas, and a bench with relative and
absolute scatter.

The numbers are plausible for small monotubes; common practice, no source. The cone's area is the
frustum A = πx·sin a·(D − x·sin a·cos a) (derived); the discharge law
Cd = C·tanh(2λ/λt) is a common textbook form, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np

SPEEDS = np.array([13, 25, 50, 75, 100, 150, 200, 250, 350, 500]) * 1e-3


@dataclass(frozen=True)
class Piston:
    """One direction of a virtual damper; lengths in m, pressures in Pa."""

    area: float
    needle_seat: float
    half_angle: float
    lift_per_click: float
    drilling: float
    base_bleed: float
    crack: float
    growth: float
    power: float
    softness: float
    port: float
    gap_flow: float
    discharge: float
    transition: float
    density: float = 850.0
    viscosity: float = 15e-6
    unevenness: float = 0.0
    detents: int = 0

    def bleed_area(self, clicks: float) -> float:
        """Needle in series with its drilling, and the base bleed beside them."""
        x = (clicks + self._detent(clicks)) * self.lift_per_click
        reach = self.needle_seat / (2 * math.sin(self.half_angle) * math.cos(self.half_angle))
        x = min(x, reach)
        slant = x * math.sin(self.half_angle)
        needle = math.pi * slant * (self.needle_seat - slant * math.cos(self.half_angle))
        return self.base_bleed + needle * self.drilling / math.hypot(needle, self.drilling)

    def _detent(self, clicks: float) -> float:
        """How far this detent is from where it should be, in clicks; `detents` seeds them all."""
        if clicks == 0.0 or self.unevenness == 0.0:
            return 0.0
        place = np.random.default_rng((self.detents, round(16 * clicks)))
        return self.unevenness * float(np.clip(place.normal(), -3, 3))

    def speed(self, pressure: np.ndarray, clicks: float) -> np.ndarray:
        """Rod speed for pressure drops (Pa)."""
        jet = np.sqrt(2 * pressure / self.density)
        area = self.bleed_area(clicks)
        gap = math.sqrt(4 * area / math.pi)
        reynolds = gap * jet / self.viscosity
        bleed = self.discharge * np.tanh(2 * np.sqrt(reynolds / self.transition)) * area
        over = self.softness * np.logaddexp(0.0, (pressure - self.crack) / self.softness)
        over = over - self.softness * np.logaddexp(0.0, -self.crack / self.softness)
        stack = self.growth * (np.maximum(over, 0.0) / 1e6) ** self.power
        stack = self.discharge * stack * self.port / np.hypot(stack, self.port)
        return ((bleed + stack) * jet + self.gap_flow * pressure) / self.area

    def force(self, speed: np.ndarray, clicks: float) -> np.ndarray:
        """Hydraulic force (N), read off a dense table of pressure against speed."""
        pressure = np.geomspace(10.0, 3e8, 4_000)
        table = self.speed(pressure, clicks)
        log = np.interp(np.log(np.maximum(speed, 1e-12)), np.log(table), np.log(pressure))
        return np.where(speed > 0, np.exp(log) * self.area, 0.0)


@dataclass(frozen=True)
class VirtualDamper:
    """Two pistons' worth of flow, seal friction and gas, on a bench with scatter."""

    bump: Piston
    rebound: Piston
    clicks: int
    friction: float
    gas_force: float
    relative_scatter: float = 0.015
    absolute_scatter: float = 2.0

    def true_force(self, direction: str, clicks: float, speed: np.ndarray) -> np.ndarray:
        """Force magnitude without gas, with friction: what a perfect bench would print."""
        piston = self.bump if direction == "bump" else self.rebound
        seal = self.friction * (1 + 0.3 * np.exp(-speed / 0.02)) * (speed > 0)
        return piston.force(speed, clicks) + seal

    def measure(
        self,
        positions: Iterable[float],
        seed: int,
        speeds: np.ndarray = SPEEDS,
        gas_in: bool = False,
    ) -> Sheet:
        """A dyno sheet: every position, both directions, every speed, one peak-speed force each."""
        rng = np.random.default_rng(seed)
        rows: list[tuple[float, str, float, float]] = []
        for position in positions:
            for direction, sign in (("bump", 1.0), ("rebound", -1.0)):
                true = self.true_force(direction, position, speeds)
                true = true + sign * self.gas_force * gas_in
                scatter = rng.normal(size=speeds.size) * self.relative_scatter * true
                seen = true + scatter + rng.normal(size=speeds.size) * self.absolute_scatter
                rows += [
                    (float(position), direction, float(v), float(f))
                    for v, f in zip(speeds, seen, strict=True)
                ]
        return Sheet(tuple(rows))


@dataclass(frozen=True)
class Sheet:
    """Rows (position from full hard, direction, speed m/s, force N magnitude)."""

    rows: tuple[tuple[float, str, float, float], ...] = field(default_factory=tuple)

    @property
    def columns(self) -> tuple[np.ndarray, list[str], np.ndarray, np.ndarray]:
        """The four columns."""
        position, direction, speed, force = zip(*self.rows, strict=True)
        return np.array(position), list(direction), np.array(speed), np.array(force)

    def as_csv(self) -> str:
        """The sheet as comma separated text, speeds in mm/s."""
        lines = ["position,direction,speed_mm_s,force_N"]
        lines += [f"{p:g},{d},{v * 1e3:g},{f:.1f}" for p, d, v, f in self.rows]
        return "\n".join(lines) + "\n"


def _mm2(value: float) -> float:
    return value * 1e-6


def _piston(rng: np.random.Generator, area: float, clicks: int) -> Piston:
    seat = rng.uniform(2.0, 3.5) * 1e-3
    angle = math.radians(rng.uniform(8, 30))
    full_lift = rng.uniform(0.35, 0.9) * seat / (2 * math.sin(angle))
    open_area = math.pi * full_lift * math.sin(angle) * (seat - full_lift * math.sin(angle))
    # scale the needle so that full soft passes what such a damper passes at 20 to 60 mm/s and 1 MPa
    wanted = area * rng.uniform(0.06, 0.2) / (0.7 * math.sqrt(2 * 1e6 / 850))
    scale = math.sqrt(wanted / open_area)
    return Piston(
        area=area,
        needle_seat=seat * scale,
        half_angle=angle,
        lift_per_click=full_lift * scale / clicks,
        drilling=wanted * rng.uniform(1.2, 4.0),
        base_bleed=wanted * rng.uniform(0.1, 0.4),
        crack=rng.uniform(0.05, 0.9) * 1e6 * (rng.random() > 0.15),
        growth=area * rng.uniform(0.05, 0.4) / (0.7 * math.sqrt(2 * 1e6 / 850)),
        power=rng.uniform(0.85, 1.15),
        softness=rng.uniform(0.01, 0.08) * 1e6,
        port=area * rng.uniform(0.4, 1.5) / (0.7 * math.sqrt(2 * 1e6 / 850)),
        gap_flow=area * 10 ** rng.uniform(-3.3, -2.3) * 1e-6,
        discharge=rng.uniform(0.62, 0.78),
        transition=rng.uniform(30, 300),
        unevenness=0.04,
        detents=int(rng.integers(2**31)),
    )


def virtual_damper(seed: int) -> VirtualDamper:
    """A random damper; the same one for the same seed."""
    rng = np.random.default_rng(seed)
    bore, rod = rng.uniform(36, 46) * 1e-3, rng.uniform(12, 16) * 1e-3
    area = math.pi / 4 * (bore**2 - rod**2)
    clicks = int(rng.integers(8, 31))
    return VirtualDamper(
        bump=_piston(rng, area, clicks),
        rebound=_piston(rng, area, clicks),
        clicks=clicks,
        friction=rng.uniform(4, 30),
        gas_force=rng.uniform(0.6, 2.0) * 1e6 * math.pi / 4 * rod**2,
    )


def population(count: int, first_seed: int = 1000) -> Iterator[VirtualDamper]:
    """`count` random dampers, seeds counting up from `first_seed`."""
    return (virtual_damper(first_seed + n) for n in range(count))
