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

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trackside.errors import BadNumber

Floats = NDArray[np.float64]
Either = NDArray[np.floating]  # single or double precision

_BLOCK = 6000  # points solved together: what is worked on stays in the processor's cache
_ROOM = 6  # arrays between
_ROUGH_STEPS, _STEPS = 3, 2  # of Newton's: enough for all but a few
_SMALL = 2e-8  # a step this small, relative, leaves an error of its square
_TINY = float(np.finfo(np.float32).tiny)
_READ: list[Literal["readonly"]] = ["readonly"]
_MAKE: list[Literal["writeonly", "allocate"]] = ["writeonly", "allocate"]


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
    our own for a short passage, no source). Source: orifice law, see the module.
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
    leak, bleed, crack, opening, port, knee = _now(path, viscosity_ratio, density_ratio)
    terms = [speed, leak, bleed, crack, 0.5 * opening, port, knee * knee + _TINY]
    blocks = np.nditer(
        (*terms, None),
        ["external_loop", "buffered", "zerosize_ok"],
        [*([_READ] * len(terms)), _MAKE],
        order="C",
        buffersize=_BLOCK,
    )
    room = np.empty((_ROOM, min(_BLOCK, blocks.itersize)))
    with blocks, np.errstate(all="ignore"):
        for *block, force in blocks:
            _newton(room[:, : force.size], force, *block)
        force = blocks.operands[-1]
        left = ~(force >= 0.0)
        if left.any():
            few = [np.broadcast_to(term, force.shape)[left] for term in terms]
            force[left] = _bracketed(np.sqrt(-force[left]), *few)
    return force


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


def _newton(room: Floats, force: Floats, *terms: Floats) -> None:
    """Force by Newton's method, first in single precision; negative, or NaN, where it has not
    settled yet."""
    single = [term.astype(np.float32) for term in terms]
    low, high = _bounds(*single)
    rough, small_room = high.copy(), room.view(np.float32)[:, : force.size]
    for _ in range(_ROUGH_STEPS):
        slope, excess = _excess(small_room, rough, *single)
        rough -= np.divide(excess, slope, out=excess)
        np.maximum(rough, low, out=rough)
        np.minimum(rough, high, out=rough)
    root = force
    root[...] = rough
    for _ in range(_STEPS):
        slope, excess = _excess(room, root, *terms)
        root -= np.divide(excess, slope, out=excess)
    unsettled = np.abs(excess, out=excess) > _SMALL * root
    root *= root
    root[unsettled] *= -1.0


def _bracketed(start: Floats, *terms: Floats) -> Floats:
    """Force by the same method, from a root to begin with; halves the bracket where a step would
    leave it, and every fourth time. Infinite where nothing flows."""
    low, high = _bounds(*terms)
    root = np.where((start > low) & (start < high), start, high)
    room = np.empty((_ROOM, root.size))
    settled = np.zeros(root.size, bool)
    for step in range(300):
        slope, excess = _excess(room, root, *terms)
        high = np.where(excess > 0.0, root, high)
        low = np.where(excess < 0.0, root, low)
        move = excess / slope
        inside = (root - move >= low) & (root - move <= high) & (step % 4 < 3)
        there = inside & (np.abs(move) <= _SMALL * root) | (low == high) | np.isinf(root)
        away = np.where(inside, root - move, 0.5 * (low + high))
        root = np.where(settled, root, away)
        settled |= there
        if settled.all():
            break
    return root * root


def _bounds(
    speed: Either,
    leak: Either,
    bleed: Either,
    crack: Either,
    half: Either,
    port: Either,
    knee_square: Either,
) -> tuple[Either, Either]:
    """Two values that √F lies between."""
    edge = np.sqrt(crack)
    closed = 2.0 * speed / (bleed + np.sqrt(bleed * bleed + 4.0 * leak * speed))
    rest = speed - (leak * crack + bleed * edge)  # what bleed and leak do not pass at crack
    beyond = rest > 0.0
    # valve ≥ min(lift, port)/√2, so the larger of the two forces that these need is enough
    need = math.sqrt(2.0) * rest
    area = need / (2.0 * half)
    stack = np.sqrt(crack + np.fmin(area / edge, np.exp(np.log(area) * (2.0 / 3.0))))
    high = np.where(beyond, np.fmin(closed, np.fmax(stack, need / port)), closed)
    high[speed == 0.0] = 0.0
    low = np.where(beyond & (knee_square <= _TINY), np.minimum(edge, high), 0.0)
    return low, high


def _excess(
    work: Either,
    root: Either,
    speed: Either,
    leak: Either,
    bleed: Either,
    crack: Either,
    half: Either,
    port: Either,
    knee_square: Either,
) -> tuple[Either, Either]:
    """Slope of the speed by √F, and how much the speed at this √F is too high; both in `work`."""
    square, flow, reach, choke, seep, growth = work
    np.multiply(root, root, out=square)
    over = np.subtract(square, crack, out=flow)
    np.multiply(over, over, out=reach)
    reach += knee_square
    np.sqrt(reach, out=reach)
    lift = np.add(over, reach, out=flow)
    lift *= half
    np.divide(lift, port, out=choke)
    choke *= choke
    choke += 1.0
    valve = np.divide(lift, np.sqrt(choke, out=growth), out=flow)
    np.multiply(square, valve, out=growth)
    growth /= choke
    growth /= reach
    growth *= 2.0
    flow += bleed
    flow += np.multiply(leak, root, out=seep)
    excess = np.multiply(flow, root, out=choke)
    excess -= speed
    slope = flow
    slope += seep
    slope += growth
    return slope, excess
