"""From where to begin a fit: many first guesses, all turned at once, the best one kept.

A guess is turned on the explicit form of the network, rod speed from force: what it misses in
speed, over the slope of its own curve, is what it misses in force. One step for all guesses costs
little more than one for a single guess, so that a fit need not hang on where it began.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper.flow import Floats
from trackside.damper.network import Network
from trackside.damper.solver import INFLUENCE, Priors

_STEPS = 24
_FAR = 1e6  # a step this stiff leaves a number where its bound holds it
_KNEES = (0.0, 0.1, 0.3, 0.6)  # of the force at half of the largest speed: where the stack may open
_BLEEDS = (0.95, 0.4)  # of what the slow rows could pass at most


@dataclass(frozen=True)
class Rows:
    """n rows, scaled: speed, force, its standard deviation; weights (n, bleeds), (n, cracks)."""

    speed: Floats
    force: Floats
    sigma: Floats
    at_bleed: Floats
    at_crack: Floats


def guesses(network: Network, rows: Rows, friction: float) -> Floats:
    """First guesses (s, p): the stack opens early or late, the bleed carries much or little."""
    v, f = rows.speed, rows.force
    order = np.argsort(v)
    half = float(np.interp(0.5, v[order], f[order]))
    slow = v / np.sqrt(np.maximum(f, 1e-6))
    bleed = np.array([np.min(slow[column > 0.0]) for column in rows.at_bleed.T])
    bleed = np.maximum.accumulate(bleed)
    top = int(np.argmax(f))
    leak = 0.5 * float(np.min(v / np.maximum(f, 1e-6)))
    found = []
    for share in _BLEEDS:
        for knee in _KNEES:
            free = np.zeros(network.size)
            free[: network.bleeds] = np.diff(share * bleed, prepend=0.0)
            crack = knee * half
            free[network.bleeds + network.cracks - 1] = crack
            rest = v[top] / np.sqrt(f[top]) - share * float(rows.at_bleed[top] @ bleed)
            free[-5] = np.log(max(rest, 0.05) / max(f[top] - crack, 0.1))
            free[-4:-1] = np.log(4.0), np.log(0.05), 0.01 if share > 0.5 else leak
            free[-1] = friction
            found.append(free)
    return np.array(found)


def best(network: Network, rows: Rows, starts: Floats, low: Floats, beliefs: Priors) -> Floats:
    """The turned guesses (s, p), the likeliest first."""
    x = np.maximum(starts, low)
    count = len(x)
    held = beliefs.rows.T @ beliefs.rows
    cost, gradient, curvature = _cost(network, rows, x, beliefs)
    damping = np.full(count, 1e-2)
    for _ in range(_STEPS):
        fixed = (x <= low) & (gradient > 0.0)
        step = curvature + held
        own = np.einsum("sii->si", step)
        own += damping[:, None] * (own + 1e-12) + _FAR * fixed * (1.0 + own)
        move = np.linalg.solve(step, gradient[:, :, None])[:, :, 0]
        trial = np.maximum(x - np.clip(move, -2.0, 2.0), low)
        new_cost, new_gradient, new_curvature = _cost(network, rows, trial, beliefs)
        better = new_cost < cost
        with np.errstate(invalid="ignore"):  # a guess that went too far costs infinitely much
            settled = np.abs(cost - new_cost) < 1e-3 * cost
        x[better], cost[better] = trial[better], new_cost[better]
        gradient[better], curvature[better] = new_gradient[better], new_curvature[better]
        damping = np.where(better, np.maximum(damping / 5.0, 1e-7), np.minimum(damping * 6.0, 1e8))
        if np.all(settled | (damping > 1e6)):
            break
    order = np.argsort(cost)
    return np.asarray(x[order])


def _cost(
    network: Network, rows: Rows, x: Floats, beliefs: Priors
) -> tuple[Floats, Floats, Floats]:
    """Cost (s,), gradient (s, p) and curvature (s, p, p) of the rows; beliefs are in the first
    two."""
    bleeds, cracks = network.bleeds, network.cracks
    open_at = rows.at_bleed @ network.bleed_sums
    loaded_at = rows.at_crack @ network.crack_sums
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        bleed = x[:, :bleeds] @ open_at.T
        crack = x[:, bleeds : bleeds + cracks] @ loaded_at.T
        opening, port, knee = (np.exp(x[:, k, None]) for k in (-5, -4, -3))
        leak, friction = x[:, -2, None], x[:, -1, None]
        force = np.maximum(rows.force - friction, 0.02 * rows.force)
        root = np.sqrt(force)
        reach = np.hypot(force - crack, knee)
        lift = 0.5 * opening * (force - crack + reach)
        shape = 1.0 / np.sqrt(1.0 + (lift / port) ** 2)
        valve, by_lift = lift * shape, shape**3
        rise = root * by_lift * lift / reach
        gain = leak + rise + 0.5 * (bleed + valve) / root
        scale = 1.0 / (gain * rows.sigma)
        miss = (leak * force + (bleed + valve) * root - rows.speed) * scale
        slopes = np.empty((len(x), rows.force.size, x.shape[1]))
        slopes[:, :, :bleeds] = (root * scale)[:, :, None] * open_at
        slopes[:, :, bleeds : bleeds + cracks] = (-rise * scale)[:, :, None] * loaded_at
        slopes[:, :, -5] = root * by_lift * lift * scale
        slopes[:, :, -4] = root * lift * (lift / port) ** 2 * by_lift * scale
        slopes[:, :, -3] = root * by_lift * 0.5 * opening * knee**2 / reach * scale
        slopes[:, :, -2] = force * scale
        slopes[:, :, -1] = -gain * scale
        spread = np.sqrt(1.0 + (miss / INFLUENCE) ** 2)
        pull = slopes / spread[:, :, None]
        off = x @ beliefs.rows.T - beliefs.values
        cost = np.sum(2.0 * miss**2 / (spread + 1.0), axis=1) + np.sum(off**2, axis=1)
        gradient = np.einsum("snp,sn->sp", pull, miss) + off @ beliefs.rows
        curvature = np.swapaxes(pull, 1, 2) @ slopes
    cost[~np.isfinite(cost)] = np.inf
    return cost, gradient, curvature
