"""Oil through the piston: rod speed from force, and force from rod speed.

Three ways in parallel, one direction at a time, both quantities positive:

    speed = leak·F·m + [bleed + valve(F)]·√F·√d
    valve(F) = lift·port / √(lift² + port²),   lift = opening·[x + √(x² + knee²)]/2,  x = F − crack

A stack whose discs do not leave the seat all at once has a knee of some width; with knee = 0 the
lift is opening·max(F − crack, 0).

m = μ_ref/μ is the viscosity ratio and d = ρ_ref/ρ the density ratio: what the oil was when
the coefficients were found over what it is now, so warm, thin oil has both above 1.

Source: the orifice law Q = Cd·a·√(2Δp/ρ) (textbook) and laminar gap flow Q ∝ Δp/μ, written
per piston area; stack and port are two orifices in series, 1/k² = 1/k₁² + 1/k₂².
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trackside.errors import BadNumber

Floats = NDArray[np.float64]

_BLOCK = 12288  # points solved together: the work arrays stay in the processor's cache
_TINY = np.finfo(float).tiny
_STEP = 2e-8  # a Newton step this small, relative, leaves an error of its square


@dataclass(frozen=True)
class FlowPath:
    """The ways through one piston in one direction; numbers, or arrays that broadcast together.

    leak     (m/s)/N       laminar leakage past seal and discs
    bleed    (m/s)/√N      base bleed and needle at this position: an orifice
    crack    N             force at which the disc stack leaves its seat
    opening  (m/s)/N^1.5   growth of the stack's orifice per newton above crack
    port     (m/s)/√N      the piston's own port, in series with the stack; inf if it never chokes
    knee     N             width over which the stack starts to lift; 0 if it does so at once

    Raises BadNumber for a value below zero or not a number.
    """

    leak: ArrayLike
    bleed: ArrayLike
    crack: ArrayLike
    opening: ArrayLike
    port: ArrayLike = np.inf
    knee: ArrayLike = 0.0

    def __post_init__(self) -> None:
        for name in ("leak", "bleed", "crack", "opening", "port", "knee"):
            if not np.all(np.asarray(getattr(self, name), float) >= 0.0):
                raise BadNumber(
                    f"the flow path's {name} is below zero or not a number",
                    "each of its coefficients is zero or more",
                )


def flow_coefficient(
    area: ArrayLike, piston_area: ArrayLike, density: ArrayLike, discharge: ArrayLike = 0.7
) -> Floats:
    """Orifice coefficient Cd·a/A·√(2/(ρA)) in (m/s)/√N.

    area m² of the orifice, piston_area m² (piston less rod), density kg/m³, discharge Cd (0.7:
    common practice for a short passage, no source). Source: orifice law, see the module.
    Worked example: a 2 mm hole, 1507.9645 mm², 850 kg/m³, Cd 0.7 gives 1.82166e-3.
    """
    area, piston, rho = np.asarray(area, float), np.asarray(piston_area, float), density
    return np.asarray(discharge, float) * area / piston * np.sqrt(2.0 / (np.asarray(rho) * piston))


def speed_at(
    force: ArrayLike,
    path: FlowPath,
    viscosity_ratio: ArrayLike = 1.0,
    density_ratio: ArrayLike = 1.0,
) -> Floats:
    """Rod speed (m/s) that makes this force (N, zero or more); shapes broadcast with the path."""
    force = _not_negative(force, "force")
    leak, bleed, crack, opening, port, knee = _now(path, viscosity_ratio, density_ratio)
    over = force - crack
    lift = opening * 0.5 * (over + np.sqrt(over**2 + knee**2))
    return leak * force + (bleed + _valve(lift, port)) * np.sqrt(force)


def force_at(
    speed: ArrayLike,
    path: FlowPath,
    viscosity_ratio: ArrayLike = 1.0,
    density_ratio: ArrayLike = 1.0,
) -> Floats:
    """Force (N) at this rod speed (m/s, zero or more); shapes broadcast with the path.

    The inverse of `speed_at`, to 1e-10 relative. Zero speed gives zero force; a path with no
    way open gives infinity. With neither bleed nor leak the first force is the crack force.
    """
    speed = _not_negative(speed, "speed")
    values = [speed, *_now(path, viscosity_ratio, density_ratio)]
    shape = np.broadcast_shapes(*(value.shape for value in values))
    size = int(np.prod(shape))
    flat: list[Floats] = [np.broadcast_to(speed, shape).reshape(-1)]
    flat += [
        value.reshape(()) if value.size == 1 else np.broadcast_to(value, shape).reshape(-1)
        for value in values[1:]
    ]
    force = np.empty(size)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for start in range(0, size, _BLOCK):
            block = slice(start, min(start + _BLOCK, size))
            force[block] = _root(*(value[block] if value.ndim else value for value in flat)) ** 2
    return force.reshape(shape)


def _not_negative(value: ArrayLike, name: str) -> Floats:
    array = np.asarray(value, float)
    if not np.all(array >= 0.0):
        raise BadNumber(
            f"a {name} is below zero or not a number",
            "give magnitudes: each direction has its own flow path",
        )
    return array


def _now(path: FlowPath, viscosity_ratio: ArrayLike, density_ratio: ArrayLike) -> list[Floats]:
    """leak, bleed, crack, opening, port and knee with the oil as it is now."""
    turbulent = np.sqrt(np.asarray(density_ratio, float))
    return [
        np.asarray(path.leak, float) * np.asarray(viscosity_ratio, float),
        np.asarray(path.bleed, float) * turbulent,
        np.asarray(path.crack, float),
        np.asarray(path.opening, float) * turbulent,
        np.maximum(np.asarray(path.port, float) * turbulent, _TINY),
        np.asarray(path.knee, float),
    ]


def _valve(lift: Floats, port: Floats) -> Floats:
    return lift / np.sqrt(1.0 + (lift / port) ** 2)


def _root(
    speed: Floats,
    leak: Floats,
    bleed: Floats,
    crack: Floats,
    opening: Floats,
    port: Floats,
    knee: Floats,
) -> Floats:
    """√F at each speed, from an upper bound downwards."""
    edge = np.sqrt(crack)
    closed = 2.0 * speed / (bleed + np.sqrt(bleed**2 + 4.0 * leak * speed))
    rest = speed - (leak * crack + bleed * edge)  # what bleed and leak do not pass at crack
    beyond = rest > 0.0
    # valve ≥ min(lift, port)/√2, so the larger of the two forces that these need is enough
    need = np.sqrt(2.0) * rest
    area = need / opening
    stack = np.sqrt(crack + np.fmin(area / edge, np.exp(np.log(area) * (2.0 / 3.0))))
    high = np.where(beyond, np.fmin(closed, np.fmax(stack, need / port)), closed)
    low = np.where(beyond & (knee == 0.0), np.minimum(edge, high), 0.0)
    root = _refined(low, high, speed, leak, bleed, crack, opening, port, knee * knee + _TINY)
    blocked = np.isinf(high) & (speed > 0.0)
    return np.where(speed > 0.0, np.where(blocked, np.inf, root), 0.0)


def _refined(low: Floats, high: Floats, *terms: Floats) -> Floats:
    """√F within [low, high] by Newton's method; the few that have not settled are bracketed.

    terms: speed, leak, bleed, crack, opening, port, knee².
    """
    root = high
    for step in range(6):
        slope, excess = _excess(root, *terms)
        move = excess / slope
        root = np.minimum(np.maximum(root - move, low), high)
        if step > 2:  # sooner it never has
            settled = np.abs(move) <= _STEP * root
            if settled.all():
                return root
    rest = ~settled & np.isfinite(root)
    if rest.any():
        few = [np.broadcast_to(term, root.shape)[rest] for term in (low, high, *terms)]
        root[rest] = _bracketed(*few)
    return root


def _bracketed(low: Floats, high: Floats, *terms: Floats) -> Floats:
    """The same; halves the bracket where Newton's step would leave it, and every fourth time."""
    root = high
    for step in range(300):
        slope, excess = _excess(root, *terms)
        high = np.where(excess > 0.0, root, high)
        low = np.where(excess < 0.0, root, low)
        move = excess / slope
        inside = (root - move >= low) & (root - move <= high) & (step % 4 < 3)
        root = np.where(inside, root - move, 0.5 * (low + high))
        settled = inside & (np.abs(move) <= _STEP * root)
        if settled.all():
            break
    return root


def _excess(
    root: Floats,
    speed: Floats,
    leak: Floats,
    bleed: Floats,
    crack: Floats,
    opening: Floats,
    port: Floats,
    knee_square: Floats,
) -> tuple[Floats, Floats]:
    """Slope of the speed by √F, and how much the speed at this √F is too high."""
    square = root * root
    over = square - crack
    reach = np.sqrt(over * over + knee_square)
    half = 0.5 * opening
    lift = half * (over + reach)
    choke = 1.0 / (1.0 + np.square(lift / port))
    valve = lift * np.sqrt(choke)
    seep = leak * root
    flow = seep + bleed + valve
    growth = 2.0 * square * valve * choke / reach
    return flow + seep + growth, flow * root - speed
