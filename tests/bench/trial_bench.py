"""A third bench, kept for trials: dampers of many kinds, in families, on a bench with faults.

It shares no code and no law with `trackside` or with the other benches. Pressure is counted inside
the piston: the needle is a laminar passage in series with an orifice, the stack lies beside it, and
both share one port in series; the seal's gap lies beside all of that. Five kinds of valve and five
kinds of needle are mixed, with seal friction that rises as the rod slows. Oil thins with heat, and
which part of the flow follows viscosity and which density is known here part by part.

`TUNING` dampers may be looked at while sizes are chosen; `JUDGING` ones only when they are judged.

Passage and orifice in series: Δp = R·μ·q + ρ·q²/(2·(Cd·a)²), textbook laminar flow and orifice.
Viscosity: Vogel's equation ν = A·exp(B/(T + C)) through three points, T in °C. Sizes of small
monotubes: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

TUNING = range(0, 10_000)
JUDGING = range(500_000, 510_000)

VALVES = ("linear", "digressive", "progressive", "two-stage", "blow-off")
NEEDLES = ("slot", "cone", "geometric", "cam", "late")
SPEEDS = np.array([12, 25, 40, 60, 100, 150, 220, 300, 400]) * 1e-3  # m/s
HOME_C = 40.0


@dataclass(frozen=True)
class Oil:
    """Kinematic viscosity (mm²/s) at 40 and 100 °C, density (kg/m³ at 40 °C), expansion (1/K)."""

    at_40: float
    at_100: float
    density: float
    expansion: float
    vogel_c: float = 105.0

    def nu(self, celsius: np.ndarray | float) -> np.ndarray:
        """Viscosity at °C, mm²/s."""
        c = self.vogel_c
        b = math.log(self.at_40 / self.at_100) / (1 / (40 + c) - 1 / (100 + c))
        return self.at_40 * np.exp(b * (1 / (np.asarray(celsius, float) + c) - 1 / (40 + c)))

    def rho(self, celsius: np.ndarray | float) -> np.ndarray:
        """Density at °C, kg/m³."""
        return self.density / (1 + self.expansion * (np.asarray(celsius, float) - 40))

    def mu(self, celsius: np.ndarray | float) -> np.ndarray:
        """Dynamic viscosity at °C, Pa·s."""
        return self.nu(celsius) * 1e-6 * self.rho(celsius)


@dataclass(frozen=True)
class Valving:
    """One direction; areas in m², pressures in Pa. `gap` is the seal's flow, m³/s·(Pa·s)/Pa;
    `length` the needle's passage, as metres of a bore of the needle's own area."""

    valve: str
    needle: str
    clicks: int
    base: float
    open: float
    bend: float
    length: float
    crack: float
    growth: float
    second: float
    soft: float
    port: float
    gap: float
    discharge: float
    friction: float
    lift: float = 1.0
    zero: float = 0.0

    def needle_area(self, clicks: float) -> float:
        """Base bleed and needle at clicks from full hard."""
        x = min(max(clicks * self.lift + self.zero, 0.0) / self.clicks, 1.1)
        share = {
            "slot": x,
            "cone": x * (1 + self.bend) - self.bend * x * x,
            "geometric": math.expm1(3.0 * self.bend * x) / math.expm1(3.0 * self.bend),
            "cam": 0.5 - 0.5 * math.cos(math.pi * min(x, 1.0)),
            "late": max(x - 0.12, 0.0) ** 1.25 / 0.88**1.25,
        }[self.needle]
        return self.base + self.open * share

    def flow(self, area: float, clicks: float, oil: Oil, celsius: float) -> tuple:
        """Whole pressure (Pa) and rod speed (m/s) on a dense grid; `area` of the piston."""
        inner = np.geomspace(3e2, 4e7, 2_500)
        rho, mu = float(oil.rho(celsius)), float(oil.mu(celsius))
        a = self.needle_area(clicks)
        laminar = 8 * math.pi * self.length * mu / a**2
        jet = rho / (2 * (self.discharge * a) ** 2)
        needle = 2 * inner / (laminar + np.sqrt(laminar**2 + 4 * jet * inner))
        stack = self.discharge * self._stack_area(inner) * np.sqrt(2 * inner / rho)
        through = needle + stack
        whole = inner + rho / 2 * (through / (self.discharge * self.port)) ** 2
        return whole, (through + self.gap / mu * whole) / area

    def _stack_area(self, p: np.ndarray) -> np.ndarray:
        def lifted(crack: float, power: float = 1.0) -> np.ndarray:
            over = self.soft * np.logaddexp(0.0, (p - crack) / self.soft)
            over = over - self.soft * np.logaddexp(0.0, -crack / self.soft)
            return np.maximum(over, 0.0) / 1e6 if power == 1.0 else (over / 1e6) ** power

        if self.valve == "linear":
            return self.growth * lifted(0.0, 0.55)
        if self.valve == "digressive":
            return self.growth * lifted(self.crack)
        if self.valve == "progressive":
            return 0.35 * self.growth * lifted(self.crack, 0.35)
        if self.valve == "two-stage":
            stiff = lifted(self.crack)
            return self.growth * (1.4 * stiff - 0.9 * lifted(self.second))
        return self.growth * (0.5 * lifted(self.crack) + 6.0 * lifted(self.second, 1.2))


@dataclass(frozen=True)
class Trial:
    """A damper: both directions, oil, piston area (m²)."""

    bump: Valving
    rebound: Valving
    oil: Oil
    area: float

    def side(self, direction: str) -> Valving:
        """That direction."""
        return self.bump if direction == "bump" else self.rebound

    def true_force(
        self, direction: str, clicks: float, speed: np.ndarray, celsius: float = HOME_C
    ) -> np.ndarray:
        """What a bench without faults would print, N, gas left out, friction in it."""
        side = self.side(direction)
        whole, rod = side.flow(self.area, clicks, self.oil, celsius)
        force = self.area * np.exp(np.interp(np.log(speed), np.log(rod), np.log(whole)))
        seal = side.friction * (1 - 0.002 * (celsius - HOME_C))
        return force + seal * (1 + 0.25 * np.exp(-speed / 0.015))

    def sheet(
        self,
        positions: Iterable[float],
        seed: int,
        *,
        celsius: float = HOME_C,
        warm_by: float = 0.0,
        gain: float = 0.0,
        gas: float = 0.0,
        share: float = 1.0,
        label: float = 0.0,
        speeds: np.ndarray = SPEEDS,
        scatter: tuple[float, float] = (0.015, 2.0),
    ) -> Sheet:
        """Rows in the order in which they were run. `warm_by` K over the sheet; `gain` the scatter
        of a run as a whole; `gas` N left in; `share` of the force that a worn damper still has;
        `label` clicks by which every position is named wrong."""
        rng = np.random.default_rng((seed, 7))
        plan = [(p, d) for p in positions for d in ("bump", "rebound")]
        rows = []
        for k, (position, direction) in enumerate(plan):
            here = celsius + warm_by * k / max(len(plan) - 1, 1)
            true = share * self.true_force(direction, position, speeds, here)
            run = 1 + gain * rng.normal()
            sign = 1.0 if direction == "bump" else -1.0
            seen = true * run * (1 + scatter[0] * rng.normal(size=speeds.size))
            seen = seen + sign * gas + scatter[1] * rng.normal(size=speeds.size)
            rows += [
                (position + label, direction, float(v), float(f), here)
                for v, f in zip(speeds, seen, strict=True)
            ]
        return Sheet(tuple(rows))


@dataclass(frozen=True)
class Sheet:
    """Rows (position from full hard, direction, speed m/s, force N, oil °C)."""

    rows: tuple[tuple[float, str, float, float, float], ...]

    @property
    def columns(self) -> tuple[np.ndarray, list[str], np.ndarray, np.ndarray, np.ndarray]:
        """The five columns."""
        position, direction, speed, force, celsius = zip(*self.rows, strict=True)
        numbers = (np.array(column) for column in (position, speed, force, celsius))
        where, rod, push, warmth = numbers
        return where, list(direction), rod, push, warmth

    def as_csv(self, oil: bool = True) -> str:
        """Comma separated text, speeds in mm/s; with or without the oil's temperature."""
        lines = ["position,direction,speed_mm_s,force_N" + ",oil_C" * oil]
        for p, d, v, f, t in self.rows:
            lines.append(f"{p:g},{d},{1e3 * v:g},{f:.1f}" + f",{t:.1f}" * oil)
        return "\n".join(lines) + "\n"


def _orifice(speed: float, pressure: float, area: float) -> float:
    """Area that passes a piston of `area` at that rod speed and pressure, discharge 0.7."""
    return speed * area / (0.7 * math.sqrt(2 * pressure / 850))


def _valving(
    rng: np.random.Generator, area: float, clicks: int, valve: str, needle: str
) -> Valving:
    wide = _orifice(rng.uniform(0.05, 0.22), 1e6, area)
    return Valving(
        valve=valve,
        needle=needle,
        clicks=clicks,
        base=wide * rng.uniform(0.08, 0.35),
        open=wide,
        bend=rng.uniform(0.3, 0.9),
        length=rng.uniform(0.0, 4e-3),
        crack=1e6 * rng.uniform(0.1, 0.8),
        growth=_orifice(rng.uniform(0.08, 0.4), 1e6, area),
        second=1e6 * rng.uniform(1.2, 2.5),
        soft=1e6 * rng.uniform(0.02, 0.08),
        port=_orifice(rng.uniform(0.5, 1.4), 1e6, area),
        gap=area * rng.uniform(0.4e-3, 4e-3) / 1e6 * 0.013,
        discharge=rng.uniform(0.62, 0.76),
        friction=rng.uniform(4, 18),
    )


def trial_damper(seed: int, valve: str = "", needle: str = "") -> Trial:
    """A random damper, the same for the same seed; of that valve and needle, or any."""
    rng = np.random.default_rng((seed, 3))
    bore, rod = rng.uniform(34, 46) * 1e-3, rng.uniform(11, 16) * 1e-3
    area = math.pi / 4 * (bore**2 - rod**2)
    clicks = int(rng.integers(10, 31))
    nu = rng.uniform(12, 34)
    sides = [
        _valving(
            rng, area, clicks, valve or str(rng.choice(VALVES)), needle or str(rng.choice(NEEDLES))
        )
        for _ in range(2)
    ]
    oil = Oil(nu, nu * rng.uniform(0.19, 0.33), 850.0, rng.uniform(6.5e-4, 8.5e-4))
    return Trial(sides[0], sides[1], oil, area)


def sisters(seed: int, count: int) -> list[Trial]:
    """`count` dampers of one model: needles within 3 %, base bleed and stack 20 %, ports less."""
    model = trial_damper(seed)
    rng = np.random.default_rng((seed, 11))
    return [
        replace(
            model,
            bump=_alike(rng, model.bump),
            rebound=_alike(rng, model.rebound),
        )
        for _ in range(count)
    ]


def _alike(rng: np.random.Generator, side: Valving) -> Valving:
    def near(value: float, by: float) -> float:
        return value * math.exp(by * float(np.clip(rng.normal(), -2.5, 2.5)))

    return replace(
        side,
        lift=near(1.0, 0.03),
        zero=0.15 * float(rng.normal()),
        base=near(side.base, 0.2),
        open=near(side.open, 0.02),
        growth=near(side.growth, 0.2),
        crack=near(side.crack, 0.15),
        second=near(side.second, 0.08),
        port=near(side.port, 0.04),
        gap=near(side.gap, 0.3),
        friction=near(side.friction, 0.3),
    )


def revalved(damper: Trial, seed: int) -> Trial:
    """The same damper after a strip-down: other stacks and base bleeds, the same needles."""
    rng = np.random.default_rng((seed, 13))

    def other(side: Valving) -> Valving:
        return replace(
            side,
            growth=side.growth * math.exp(rng.uniform(-0.5, 0.5)),
            crack=side.crack * math.exp(rng.uniform(-0.4, 0.4)),
            base=side.base * math.exp(rng.uniform(-0.2, 0.2)),
            friction=side.friction * math.exp(rng.uniform(-0.3, 0.3)),
        )

    return replace(damper, bump=other(damper.bump), rebound=other(damper.rebound))


def dampers(count: int, seeds: range = TUNING) -> Iterator[tuple[int, Trial]]:
    """(seed, damper), of every valve and needle in turn."""
    for n, seed in enumerate(seeds[:count]):
        yield seed, trial_damper(seed, VALVES[n % 5], NEEDLES[(n + n // 5) % 5])
