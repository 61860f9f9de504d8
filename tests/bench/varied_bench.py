"""A third bench: many kinds of valve and of needle, none of which the flow model was made for.

It shares nothing with `trackside`, and no law with the other benches. One direction at a time,
everything as rod speed (m/s) against force (N):

- valves: linear, digressive, progressive, a stack of two stages, a blow-off, one that starves (the
  pressure behind the piston has fallen to vapour, so force hardly grows any more), and mixtures;
- needles: a cone, a slot that opens ever more, one that opens evenly on a logarithmic scale, an
  S-shaped one, and one that is dead for some clicks at either end;
- losses: an orifice whose discharge falls at low Reynolds number, a laminar passage in series with
  it, a laminar gap beside both;
- seal friction; a bench that scatters by 1.5 % of the force and 2 N, uneven detents.

`wide_dampers` are small ones with a range of some 20 to 1 over the knob: friction is all that is
left at the soft end, force rises with the square of speed there, and is flat at the hard end; their
bench errs by newtons, not by shares.

The numbers are plausible for small dampers; common practice, no source. That a short passage has
F = (v/c)² + r·v, and that a closing blow-off or a vapour pocket caps the force, is textbook, from
memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

SPEEDS = np.array([12, 25, 45, 70, 100, 140, 190, 250, 340, 480]) * 1e-3  # m/s
WIDE_SPEEDS = np.array([15, 30, 50, 80, 120, 180, 250]) * 1e-3
VALVES = ("linear", "digressive", "progressive", "two-stage", "blow-off", "starving", "mixed")
NEEDLES = ("cone", "slot", "logarithmic", "s-shaped", "dead ends")

_FORCE = np.geomspace(0.05, 4e4, 5_000)


@dataclass(frozen=True)
class VariedDamper:
    """One direction. `top` N is the scale of force; areas are speeds (m/s) at `top` (orifices).

    closed, needle: bleed shut, and what the needle adds at full soft; series: laminar loss of the
    bleed's passage, N per m/s; leak m/s per N; valve: kind, numbers of it (see `_valve`); port: in
    series with the valve; reynolds: speed (m/s) of the bleed at which its discharge is half way.
    """

    valve: str
    numbers: tuple[float, ...]
    needle_kind: str
    needle_number: float
    clicks: int
    top: float
    closed: float
    needle: float
    series: float
    leak: float
    port: float
    reynolds: float
    friction: float
    breakaway: float
    unevenness: float
    seed: int
    relative: float = 0.015
    absolute: float = 2.0
    speeds: tuple[float, ...] = tuple(SPEEDS.tolist())

    def opened(self, clicks: float) -> float:
        """Share of the needle's area that is open."""
        x = float(np.clip((clicks + self._detent(clicks)) / self.clicks, 0.0, None))
        k = self.needle_number
        if self.needle_kind == "cone":
            return x * (1.0 - k * x) / (1.0 - k) if x < 0.5 / k else 0.25 / k / (1.0 - k)
        if self.needle_kind == "slot":
            return float(x ** (1.0 + k))
        if self.needle_kind == "logarithmic":
            return float(np.expm1(4.0 * k * x) / np.expm1(4.0 * k))
        if self.needle_kind == "s-shaped":
            ends = np.tanh(np.array([-1.0, 2.0 * x - 1.0, 1.0]) * 2.0 * k)
            return float((ends[1] - ends[0]) / (ends[2] - ends[0]))
        dead = 0.25 * k
        return float(np.clip((x - 0.5 * dead) / (1.0 - 1.5 * dead), 0.0, 1.0))

    def _detent(self, clicks: float) -> float:
        if clicks <= 0.0:
            return 0.0
        return self.unevenness * float(
            np.clip(np.random.default_rng((self.seed, round(16 * clicks))).normal(), -2.5, 2.5)
        )

    def true_force(self, clicks: float, speed: np.ndarray) -> np.ndarray:
        """What a bench without scatter would print, N, at speeds (m/s)."""
        part = _FORCE / self.top
        area = self.closed + self.needle * self.opened(clicks)
        jet = area * np.sqrt(part)
        jet = jet * (0.35 + 0.65 * jet / (jet + self.reynolds * area))
        slope = area**2 / self.top  # of v² by F, for the passage that follows
        seep = self.series * slope
        passed = 0.5 * (-seep + np.sqrt(seep**2 + 4.0 * jet**2))
        lift = _valve(self.valve, self.numbers, part)
        through = lift * self.port / np.hypot(lift, self.port) * np.sqrt(part)
        flow = passed + through + self.leak * _FORCE
        force = np.exp(np.interp(np.log(speed), np.log(flow), np.log(_FORCE)))
        if self.valve == "starving":
            most, left, soft = self.numbers[-3:]
            most, soft = most * self.top, soft * most * self.top
            over = soft * np.logaddexp(0.0, (force - most) / soft)
            force = force - (1.0 - left) * over
        return force + self.friction * (1.0 + self.breakaway * np.exp(-speed / 0.015))

    def measure(
        self, positions: Iterable[float], seed: int
    ) -> tuple[np.ndarray, list[str], np.ndarray, np.ndarray]:
        """Columns position (from full hard), direction, speed (m/s), force (N) of a sheet."""
        rng = np.random.default_rng((self.seed, seed))
        places, speeds = np.asarray(list(positions), float), np.array(self.speeds)
        force = np.concatenate([self.true_force(place, speeds) for place in places])
        scatter = self.relative * force * rng.normal(size=force.size)
        seen = force + scatter + self.absolute * rng.normal(size=force.size)
        speed = np.tile(speeds, places.size)
        return (
            np.repeat(places, speeds.size),
            ["bump"] * force.size,
            speed,
            np.maximum(seen, 0.5),
        )


def _soft(over: np.ndarray, width: float) -> np.ndarray:
    return width * (np.logaddexp(0.0, over / width) - np.logaddexp(0.0, (over[0]) / width))


def _valve(kind: str, numbers: tuple[float, ...], part: np.ndarray) -> np.ndarray:
    """The stack's area, as speed at `top`, at a force of `part` of it."""
    crack, gain, power, width, second, turn = numbers[:6]
    lift = gain * _soft(part - crack, width) ** power
    if kind == "two-stage":
        lift = lift + gain * (turn - 1.0) * _soft(part - second, width)
        return np.maximum.accumulate(np.maximum(lift, 0.0))
    if kind == "blow-off":
        return lift + 4.0 * gain * turn * _soft(part - second, width)
    return lift


def _numbers(kind: str, rng: np.random.Generator) -> tuple[float, ...]:
    """crack, gain, power, width, second, turn; a starving one has most, left and soft after."""
    crack, power = rng.uniform(0.1, 0.4), rng.uniform(0.9, 1.1)
    gain = rng.uniform(0.2, 0.6)
    width, second, turn = rng.uniform(0.008, 0.03), 1.0, 1.0
    if kind == "linear":
        crack, power, gain = 0.0, rng.uniform(0.45, 0.6), rng.uniform(0.2, 0.4)
    elif kind == "digressive":
        crack, gain = rng.uniform(0.3, 0.6), rng.uniform(0.6, 1.6)
    elif kind == "progressive":
        crack, power, gain = 0.0, rng.uniform(0.05, 0.3), rng.uniform(0.12, 0.3)
    elif kind == "two-stage":
        crack, second = rng.uniform(0.03, 0.12), rng.uniform(0.25, 0.55)
        turn = rng.choice([rng.uniform(0.15, 0.4), rng.uniform(2.0, 4.0)])
        gain = rng.uniform(0.25, 0.7)
    elif kind == "blow-off":
        crack, gain = rng.uniform(0.05, 0.3), rng.uniform(0.1, 0.3)
        second, turn = rng.uniform(0.4, 0.8), rng.uniform(1.0, 4.0)
    numbers = (crack, gain, power, width, second, float(turn))
    if kind == "starving":
        numbers += (rng.uniform(0.35, 0.75), rng.uniform(0.15, 0.5), rng.uniform(0.01, 0.06))
    return numbers


def varied_damper(valve: str, seed: int) -> VariedDamper:
    """A random damper of that kind of valve; the same for the same seed."""
    rng = np.random.default_rng((seed, 31, VALVES.index(valve)))
    kind = str(rng.choice(VALVES[:-1])) if valve == "mixed" else valve
    needle = rng.uniform(0.05, 0.22)
    clicks = int(rng.integers(10, 31))
    needle_kind = str(rng.choice(NEEDLES))
    return VariedDamper(
        valve=kind,
        numbers=_numbers(kind, rng),
        needle_kind=needle_kind,
        needle_number=rng.uniform(0.2, 0.48) if needle_kind == "cone" else rng.uniform(0.2, 0.9),
        clicks=clicks,
        top=rng.uniform(700, 3000),
        closed=needle * rng.uniform(0.08, 0.4),
        needle=needle,
        series=10 ** rng.uniform(1.5, 2.9),
        leak=10 ** rng.uniform(-6.6, -5.4),
        port=rng.uniform(0.5, 2.5),
        reynolds=10 ** rng.uniform(-2.0, -0.8),
        friction=rng.uniform(4, 25),
        breakaway=rng.uniform(0.0, 0.4),
        unevenness=rng.choice([0.0, 0.02, 0.05]),
        seed=seed,
    )


def varied_dampers(valve: str, count: int, first_seed: int = 0) -> Iterator[VariedDamper]:
    """`count` random dampers, seeds counting up."""
    return (varied_damper(valve, seed) for seed in range(first_seed, first_seed + count))


def wide_damper(seed: int) -> VariedDamper:
    """A small damper, some 20 to 1 in force over its knob."""
    rng = np.random.default_rng((seed, 32))
    needle = rng.uniform(0.6, 1.3)
    damper = varied_damper("digressive", seed)
    crack, gain = rng.uniform(0.35, 0.7), rng.uniform(0.8, 2.5)
    return replace(
        damper,
        numbers=(crack, gain, rng.uniform(0.9, 1.1), rng.uniform(0.02, 0.08), 1.0, 1.0),
        needle_kind=str(rng.choice(["slot", "logarithmic", "dead ends"])),
        needle_number=rng.uniform(0.3, 0.9),
        clicks=25,
        top=rng.uniform(500, 800),
        closed=rng.uniform(0.01, 0.06),
        needle=needle,
        series=10 ** rng.uniform(0.5, 1.5),
        friction=rng.uniform(10, 15),
        relative=0.003,
        absolute=2.5,
        speeds=tuple(WIDE_SPEEDS.tolist()),
        unevenness=rng.choice([0.0, 0.02, 0.05]),
    )


def wide_dampers(count: int, first_seed: int = 0) -> Iterator[VariedDamper]:
    """`count` of them, seeds counting up."""
    return (wide_damper(seed) for seed in range(first_seed, first_seed + count))
