"""A third bench: dampers made from parts, as measured by a careful hand and as they are.

It shares nothing with `trackside`. Discs are bent by an energy method (Ritz, polynomials), each a
plate that stretches when it bends far; neighbours touch wherever they meet, not on rings; the oil
presses on an annulus. What a hand cannot know is drawn at random: true thickness, height, holes,
discharge, the friction of the discs on each other, the push of the jet, leak, seal friction. The
sizes are plausible for dampers of 36 to 50 mm, the scatter is what a micrometer, a depth gauge and
a box of discs allow; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.polynomial.legendre import leggauss

SPEEDS = np.array([13, 25, 50, 75, 100, 150, 200, 250, 330, 450]) * 1e-3  # m/s
SCATTER = 0.01  # of the force, a bench run
THICKNESS = 0.005e-3  # m, standard deviations from here on
HEIGHT = 0.015e-3  # m of seat step less spacer: two of them are 0.03 mm
AREA = 0.015  # of an area: two of them are 3 %
DISCHARGE = 0.06  # of a discharge coefficient: 0.62 to 0.78, nineteen in twenty
MODULUS = 0.02  # of Young's modulus
AGAIN = 0.2  # of drag and seal friction, when a damper is put together again
LAND = 0.1  # of the face the oil presses on: it creeps under the land on which the discs rest

_BENDING, _STRETCHING, _POINTS = 5, 4, 24  # terms of deflection and stretch; points across a disc
_POISSON = 0.3
_FILM = 0.002e-6  # m of oil between discs, over which contact sets in: small against what they bend


@dataclass(frozen=True)
class Sizes:
    """What is inside one direction; m, m², from the piston's face out. `needle`: seat diameter,
    half angle rad and lift a click; `ring`: inner and outer diameter of the face the oil presses
    on while the discs are shut."""

    piston_area: float
    discs: tuple[tuple[float, float], ...]
    clamp: float
    seat: float
    ring: tuple[float, float]
    preload: float
    port_area: float
    bleed_area: float
    needle: tuple[float, float, float]
    clicks: int

    @property
    def pressed_area(self) -> float:
        """The face the oil presses on, m²."""
        return float(np.pi / 4 * (self.ring[1] ** 2 - self.ring[0] ** 2))


class BentStack:
    """How far discs (diameter, thickness) on a clamp lift at the seat, by least energy."""

    def __init__(
        self,
        discs: tuple[tuple[float, float], ...],
        clamp: float,
        seat: float,
        ring: tuple[float, float],
        modulus: float = 206e9,
    ) -> None:
        self._inner, self._outer = clamp / 2, discs[0][0] / 2
        self._terms = _BENDING + _STRETCHING
        count = len(discs) * self._terms
        self._linear = np.zeros((count, count))
        self._far = []  # of each disc: where it stands, weights, slopes, stretches
        for n, (diameter, thickness) in enumerate(discs):
            self._add_disc(n, diameter / 2, thickness, modulus)
        self._touch = self._contacts([diameter / 2 for diameter, _ in discs])
        # so stiff that a disc sinks into its neighbour by a thousandth of what it bends
        self._press = 1e4 * modulus * discs[0][1] ** 3 / self._outer**2
        self._lift = self._shapes(0, np.array([seat / 2]), count)[0]
        nodes, weights = leggauss(_POINTS)
        inner, outer = ring[0] / 2, ring[1] / 2
        radius = inner + (outer - inner) * (nodes + 1) / 2
        share = weights * radius / np.sum(weights * radius)
        self._load = share @ self._shapes(0, radius, count)

    def _scaled(self, radius: np.ndarray) -> np.ndarray:
        return (radius - self._inner) / (self._outer - self._inner)

    def _shapes(self, disc: int, radius: np.ndarray, count: int) -> np.ndarray:
        rows = np.zeros((radius.size, count))
        powers = np.arange(2, 2 + _BENDING)
        rows[:, disc * self._terms :][:, :_BENDING] = self._scaled(radius)[:, None] ** powers
        return rows

    def _add_disc(self, n: int, outer: float, thickness: float, modulus: float) -> None:
        nodes, weights = leggauss(_POINTS)
        radius = self._inner + (outer - self._inner) * (nodes + 1) / 2
        weight = 2 * np.pi * radius * weights * (outer - self._inner) / 2
        span, x = self._outer - self._inner, self._scaled(radius)[:, None]
        k = np.arange(2, 2 + _BENDING)
        slope, curve = k * x ** (k - 1) / span, k * (k - 1) * x ** (k - 2) / span**2
        hoop = slope / radius[:, None]
        flexural = modulus * thickness**3 / 12 / (1 - _POISSON**2)
        here = slice(n * self._terms, n * self._terms + _BENDING)
        self._linear[here, here] = flexural * (
            _gram(curve, weight)
            + _gram(hoop, weight)
            + _POISSON * (_gram(curve, weight, hoop) + _gram(hoop, weight, curve))
        )
        j = np.arange(1, 1 + _STRETCHING)
        out, around = j * x ** (j - 1) / span, x**j / radius[:, None]
        self._far.append((n, weight * modulus * thickness / (1 - _POISSON**2), slope, out, around))

    def _contacts(self, outer: list[float]) -> np.ndarray:
        """Rows that give how far each disc sinks into the next, at points across both."""
        count = len(outer) * self._terms
        rows = [np.zeros((0, count))]
        for n in range(len(outer) - 1):
            radius = np.linspace(self._inner, min(outer[n], outer[n + 1]), 17)[1:]
            rows.append(self._shapes(n, radius, count) - self._shapes(n + 1, radius, count))
        return np.concatenate(rows)

    def _forces(self, state: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Gradient of the energy, and its slope."""
        pull, slope_of = self._linear @ state, self._linear.copy()
        sunk = self._touch @ state / _FILM
        held = 0.5 * (sunk + np.sqrt(sunk**2 + 1.0))
        pull = pull + self._press * self._touch.T @ (_FILM * held)
        slope_of += self._press * _gram(self._touch, held / np.sqrt(sunk**2 + 1.0))
        for n, stiff, slope, out, around in self._far:
            here = slice(n * self._terms, (n + 1) * self._terms)
            tilt = slope @ state[here][:_BENDING]
            stretch = state[here][_BENDING:]
            radial, hoop = out @ stretch + tilt**2 / 2, around @ stretch
            along, across = radial + _POISSON * hoop, hoop + _POISSON * radial
            by_radial = np.hstack([tilt[:, None] * slope, out])
            by_hoop = np.hstack([np.zeros_like(slope), around])
            pull[here] += by_radial.T @ (stiff * along) + by_hoop.T @ (stiff * across)
            block = slope_of[here, here]
            block += _gram(by_radial, stiff) + _gram(by_hoop, stiff)
            block += _POISSON * (
                _gram(by_radial, stiff, by_hoop) + _gram(by_hoop, stiff, by_radial)
            )
            block[:_BENDING, :_BENDING] += _gram(slope, stiff * along)
        return pull, slope_of

    def lifts(self, forces: np.ndarray) -> np.ndarray:
        """Deflection (m) at the seat under each force (N, rising) on the first disc."""
        state, found = np.zeros(self._linear.shape[0]), []
        for force in forces:
            for turn in range(200):
                pull, slope_of = self._forces(state)
                step = np.linalg.solve(slope_of, force * self._load - pull)
                state = state + step * (1.0 if turn < 12 else 0.4)
                if np.abs(self._lift @ step) < 1e-9:
                    break
            else:
                raise RuntimeError("the discs did not come to rest")
            found.append(float(self._lift @ state))
        return np.array(found)


def _gram(a: np.ndarray, weight: np.ndarray, b: np.ndarray | None = None) -> np.ndarray:
    return a.T @ (weight[:, None] * (a if b is None else b))


@dataclass(frozen=True)
class MadeDamper:
    """One direction: sizes as measured, sizes as they are, and what no gauge shows.

    land: face the oil presses on over the one measured; drag: of the discs on each other, a share
    of the force; jet: how much harder the oil presses
    on wide open discs, a share; leak: (m/s)/N past the piston's band; friction N of the seals;
    discharge: of bleed, needle, discs and port; slow: area (m²) over Cd's root of Reynolds number.
    """

    told: Sizes
    real: Sizes
    modulus: float
    land: float
    drag: float
    jet: float
    leak: float
    friction: float
    discharge: tuple[float, float, float, float]
    slow: float
    density: float

    @cached_property
    def _bent(self) -> tuple[np.ndarray, np.ndarray]:
        """Force of the oil (N) on the discs, and lift at the seat (m) from flat."""
        real = self.real
        stack = BentStack(real.discs, real.clamp, real.seat, real.ring, self.modulus)
        forces = np.geomspace(0.5, 4e3, 40) * (real.discs[0][1] / 0.2e-3) ** 3
        lifts = stack.lifts(forces[: 1 + int(np.searchsorted(forces, 6e3))])
        return np.r_[0.0, forces[: lifts.size]] * (1 + self.drag), np.r_[0.0, lifts]

    def _discs_open(self, pressure: np.ndarray) -> np.ndarray:
        """Lift off the seat (m) at each pressure (Pa); the jet adds its push as they open."""
        force, lift = self._bent
        lift = lift - self.real.preload
        push = 1 + self.jet * np.clip(lift / 0.3e-3, 0, 1)
        needed = np.maximum.accumulate(force / push) / (self.real.pressed_area * self.land)
        needed += 1e-6 * np.arange(needed.size)
        last = (lift[-1] - lift[-2]) / (needed[-1] - needed[-2])
        beyond = np.maximum(pressure - needed[-1], 0) * last
        return np.maximum(np.interp(pressure, needed, lift) + beyond, 0.0)

    def _speeds(self, pressure: np.ndarray, clicks: float) -> np.ndarray:
        real = self.real
        bleed, needle, discs, port = self.discharge
        seat, angle, lift = real.needle
        out = min(clicks * lift, seat / np.sin(2 * angle))
        # the ring between the needle and its seat: the seat's bore less the cone's section there
        ring = np.pi / 4 * (seat**2 - (seat - 2 * out * np.sin(angle) * np.cos(angle)) ** 2)
        ring = min(ring / np.cos(angle), np.pi / 4 * seat**2)
        small = bleed * real.bleed_area + needle * ring
        jet = np.sqrt(2 * pressure / self.density)
        # a small hole's discharge falls off when the oil creeps
        creep = 1 / (1 + self.slow / np.sqrt(np.maximum(jet, 1e-3)))
        gap = discs * np.pi * real.seat * self._discs_open(pressure)
        way = port * real.port_area
        through = gap * way / np.hypot(gap, way)
        flow = (small * creep + through) * jet
        return flow / real.piston_area + self.leak * pressure * real.piston_area

    def true_force(self, clicks: float, speeds: np.ndarray) -> np.ndarray:
        """What a bench without scatter prints (N) so many clicks from full hard, at m/s."""
        low, high = np.full(speeds.size, 1.0), np.full(speeds.size, 1e9)
        for _ in range(90):
            middle = np.sqrt(low * high)
            over = self._speeds(middle, clicks) > speeds
            low, high = np.where(over, low, middle), np.where(over, middle, high)
        return np.sqrt(low * high) * self.real.piston_area + self.friction

    def measure(self, clicks: float, seed: int) -> np.ndarray:
        """A bench run: the true force with the bench's scatter."""
        rng = np.random.default_rng((seed, 9))
        force = self.true_force(clicks, SPEEDS)
        return force * (1 + SCATTER * rng.normal(size=force.size))


def _stack(rng: np.random.Generator, seat: float, clamp: float) -> tuple[tuple[float, float], ...]:
    """Equal discs, a pyramid, or discs of one size under a pyramid; diameters in whole mm."""
    outer = seat + 2e-3
    count = int(rng.integers(2, 6))
    thin = rng.choice([0.10e-3, 0.15e-3, 0.20e-3, 0.25e-3, 0.30e-3], size=count)
    taper = {0: np.zeros(count), 1: np.arange(count), 2: np.maximum(np.arange(count) - 1, 0)}
    shorter = taper[int(rng.integers(3))] * rng.choice([2e-3, 3e-3])
    sizes = np.maximum(outer - shorter, clamp + 2e-3)
    return tuple((float(d), float(t)) for d, t in zip(sizes, thin, strict=True))


def made_dampers(count: int, first_seed: int = 0) -> Iterator[MadeDamper]:
    """`count` random dampers; the same ones for the same seeds."""
    for seed in range(first_seed, first_seed + count):
        rng = np.random.default_rng((seed, 3))
        bore, rod = rng.choice([0.036, 0.040, 0.046, 0.050]), rng.choice([0.012, 0.014, 0.016])
        area = float(np.pi / 4 * (bore**2 - rod**2))
        seat = round(bore * rng.uniform(0.58, 0.68), 4)
        clamp = round(seat * rng.uniform(0.4, 0.6), 3)
        width = rng.uniform(0.25, 0.4) * (seat - clamp)
        ring = (seat - width * 2, seat)
        ports = np.pi / 4 * (ring[1] ** 2 - ring[0] ** 2)
        told = Sizes(
            piston_area=area,
            discs=_stack(rng, seat, clamp),
            clamp=clamp,
            seat=seat,
            ring=ring,
            preload=round(float(rng.choice([0.0, rng.uniform(0.03e-3, 0.25e-3)])), 5),
            port_area=float(ports * rng.uniform(0.35, 0.7)),
            bleed_area=float(np.pi / 4 * rng.uniform(0.6e-3, 1.8e-3) ** 2),
            needle=(rng.uniform(2e-3, 3.5e-3), np.radians(rng.uniform(8, 20)), 0.04e-3),
            clicks=int(rng.integers(12, 31)),
        )
        yield _as_made(told, rng)


def _as_made(told: Sizes, rng: np.random.Generator) -> MadeDamper:
    def about(value: float, spread: float) -> float:
        return float(value * np.exp(spread * rng.normal()))

    batch = THICKNESS * rng.normal() / np.sqrt(2)  # discs of one box are alike
    discs = tuple((d, t + batch + THICKNESS * rng.normal() / np.sqrt(2)) for d, t in told.discs)
    real = Sizes(
        piston_area=told.piston_area,
        discs=discs,
        clamp=told.clamp,
        seat=told.seat,
        ring=told.ring,
        preload=told.preload + HEIGHT * rng.normal(),
        port_area=about(told.port_area, AREA),
        bleed_area=about(told.bleed_area, AREA),
        needle=(told.needle[0], told.needle[1], about(told.needle[2], AREA)),
        clicks=told.clicks,
    )
    flow = tuple(about(0.7, DISCHARGE) for _ in range(4))
    return MadeDamper(
        told=told,
        real=real,
        modulus=about(206e9, MODULUS),
        land=about(1.0, LAND),
        drag=rng.uniform(0.0, 0.15),
        jet=rng.uniform(-0.1, 0.2),
        leak=10 ** rng.uniform(-6.5, -5.5),
        friction=rng.uniform(4, 20),
        discharge=flow,  # type: ignore[arg-type]
        slow=rng.uniform(0.1, 0.5),
        density=about(850.0, 0.02),
    )


def rebuilt_dampers(count: int, first_seed: int = 0) -> Iterator[tuple[MadeDamper, MadeDamper]]:
    """`count` random dampers, each before and after a strip-down: another stack and spacer, in one
    of three another bleed disc. What no gauge shows of the body, the piston and the oil is the
    same; discs, spacer and bleed are measured anew, drag and seals are not quite what they were.
    """
    for seed, before in enumerate(made_dampers(count, first_seed), first_seed):
        rng = np.random.default_rng((seed, 5))
        yield before, _put_together_again(before, rng)


def _put_together_again(before: MadeDamper, rng: np.random.Generator) -> MadeDamper:
    told, real = before.told, before.real
    discs = _restacked(rng, told)
    preload = told.preload
    if rng.random() < 0.6:
        preload = max(round(told.preload + float(rng.choice([-0.05e-3, 0.05e-3, 0.1e-3])), 5), 0.0)
    bleed = told.bleed_area * (float(rng.choice([0.6, 1.5])) if rng.random() < 1 / 3 else 1.0)
    batch = THICKNESS * rng.normal() / np.sqrt(2)
    thick = tuple((d, t + batch + THICKNESS * rng.normal() / np.sqrt(2)) for d, t in discs)
    # of the height, the piston's half of the error stays, the spacer's half is drawn again
    height = (real.preload - told.preload) / np.sqrt(2) + HEIGHT * rng.normal() / np.sqrt(2)
    same_bleed = bleed == told.bleed_area
    off = real.bleed_area / told.bleed_area if same_bleed else np.exp(AREA * rng.normal())
    after = replace(told, discs=discs, preload=preload, bleed_area=bleed)
    made = replace(real, discs=thick, preload=preload + height, bleed_area=float(bleed * off))
    drag, friction = (float(np.exp(AGAIN * rng.normal())) for _ in range(2))
    return replace(
        before,
        told=after,
        real=made,
        drag=before.drag * drag,
        friction=before.friction * friction,
    )


def _restacked(rng: np.random.Generator, told: Sizes) -> tuple[tuple[float, float], ...]:
    """A disc more, a disc less, two discs of another thickness, or another stack altogether."""
    discs = list(told.discs)
    way = int(rng.integers(4))
    if way == 0:
        return _stack(rng, told.seat, told.clamp)
    if way == 1:
        return (discs[0], *discs)
    if way == 2 and len(discs) > 2:
        return tuple(discs[:1] + discs[2:])
    step = float(rng.choice([-0.05e-3, 0.05e-3]))
    return tuple((d, max(t + step, 0.1e-3)) if n < 2 else (d, t) for n, (d, t) in enumerate(discs))
