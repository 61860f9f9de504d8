"""Fitting a dyno sheet: one direction's positions together, with bands on every coefficient.

Leak, opening and port are shared; the bleed has one value for each adjuster position and never
falls as the adjuster opens, the crack one for each position of a preload adjuster. Residuals are
weighted by bench scatter (relative and absolute) and the network's own misfit, and bounded in
influence (soft-L1), so one bad row does not bend the curve. Weak beliefs of our own, without a
source, hold a coefficient that the sheet cannot tell; its band shows that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper import misfit
from trackside.damper.flow import Floats
from trackside.damper.law import MeasuredLaw
from trackside.damper.network import Network
from trackside.damper.sheet import Side
from trackside.damper.solver import Beliefs, Minimum, minimise

RELATIVE = 0.015  # bench scatter as a share of force, before the sheet's own residuals speak
ABSOLUTE = 2.0  # N
_PRIOR_ROWS = 6.0  # how many rows the assumed scatter is worth against the residuals

# mean and standard deviation, scaled to the sheet's largest force and speed
_OPENING = (np.log(1.0), 1.5)
_PORT = (np.log(4.0), 1.2)
_KNEE = (np.log(0.02), 1.0)
_LEAK = (0.0, 0.15)
_CRACK = (0.2, 0.4)  # at the softest preload
_CRACK_STEP = (0.0, 0.4)
_BLEED = (0.0, 3.0)
_FRICTION = 20.0  # N


@dataclass(frozen=True)
class Found:
    """What a fit found: free numbers, their covariance, and the scatter of the rows.

    scatter: the bench's standard deviation as a multiple of the assumed one, from residuals and
    assumption together; freedom: degrees of freedom behind it; residuals: measured less fitted, N.
    """

    network: Network
    free: Floats
    covariance: Floats
    scatter: float
    freedom: float
    residuals: Floats


def fit_side(side: Side, friction_in: bool) -> tuple[MeasuredLaw, MeasuredLaw, Found]:
    """Fit one direction: the bleed law, the preload law and the numbers found."""
    bleed_law = MeasuredLaw(tuple(np.unique(side.position).tolist()))
    crack_law = MeasuredLaw(tuple(np.unique(side.preload).tolist()))
    network = Network(
        len(bleed_law.nodes),
        len(crack_law.nodes),
        float(side.force.max()),
        float(side.speed.max()),
    )
    v, f = side.speed / network.speed, side.force / network.force
    at_bleed = (side.position[:, None] == np.asarray(bleed_law.nodes)) * 1.0
    at_crack = (side.preload[:, None] == np.asarray(crack_law.nodes)) * 1.0
    bench = np.hypot(RELATIVE * f, ABSOLUTE / network.force)

    def model(free: Floats, sigma: Floats = bench) -> tuple[Floats, Floats]:
        point = network.at(free, v, at_bleed, at_crack)
        return (point.force - f) / sigma, point.slopes / sigma[:, None]

    low = np.zeros(network.size)
    low[-5:-2] = -np.inf
    starts = [
        _start(network, v, f, at_bleed, at_crack, knee, friction_in) for knee in (0.05, 0.25, 0.5)
    ]
    rough = [
        minimise(
            model, start, low, _beliefs(network, start, bleed_law, crack_law, friction_in), 6, 1e-2
        )
        for start in starts
    ]
    best = min(rough, key=lambda minimum: minimum.cost)
    beliefs = _beliefs(network, best.x, bleed_law, crack_law, friction_in)
    bleeds, cracks = network.nodes(best.x)
    rough_point = network.at(best.x, v, at_bleed, at_crack)
    sigma = np.hypot(bench, misfit.size(rough_point, at_bleed @ bleeds, at_crack @ cracks))
    minimum = minimise(lambda free: model(free, sigma), best.x, low, beliefs)
    misses = -minimum.residuals * sigma * network.force
    found = _found(network, minimum, beliefs, misses)
    part = found.covariance[: network.bleeds, : network.bleeds]
    spread = network.bleed_sums @ part @ network.bleed_sums.T
    return bleed_law.told_by(network.nodes(found.free)[0], spread), crack_law, found


def _start(
    network: Network,
    v: Floats,
    f: Floats,
    at_bleed: Floats,
    at_crack: Floats,
    knee: float,
    friction_in: bool,
) -> Floats:
    """A first guess: bleeds from the slow rows, crack at `knee` × force at half speed."""
    crack = knee * float(np.interp(0.5, np.sort(v), np.sort(f)))
    slow = v / np.sqrt(np.maximum(f, 1e-6))
    bleed = np.array([np.min(slow[column > 0.0]) for column in at_bleed.T])
    bleed = np.maximum.accumulate(0.95 * bleed)
    top = int(np.argmax(f))
    rest = max(v[top] / np.sqrt(f[top]) - float(at_bleed[top] @ bleed), 0.05)
    free = np.empty(network.size)
    free[: network.bleeds] = np.diff(bleed, prepend=0.0)
    free[network.bleeds :] = 0.0
    free[network.bleeds + network.cracks - 1] = crack
    free[-5] = np.log(rest / max(f[top] - crack, 0.1))
    free[-4:] = _PORT[0], _KNEE[0], 0.01, 0.0
    if friction_in:
        free[-1] = min(0.5 * _FRICTION / network.force, 0.5 * float(f.min()))
    return free


def _beliefs(
    network: Network,
    free: Floats,
    bleed_law: MeasuredLaw,
    crack_law: MeasuredLaw,
    friction_in: bool,
) -> Beliefs:
    """What is believed before the rows speak; departures are scaled to the change in `free`."""
    bleeds, cracks = network.nodes(free)
    mean, deviation = believed(network, friction_in)
    rows = [np.diag(1.0 / deviation)]
    for law, values, sums, first in (
        (bleed_law, bleeds, network.bleed_sums, 0),
        (crack_law, cracks, network.crack_sums, network.bleeds),
    ):
        bend = np.zeros((len(law.departure), network.size))
        size = max(float(np.ptp(values)), 1e-3)
        bend[:, first : first + len(values)] = law.departure @ sums / size
        rows.append(bend)
    stacked = np.vstack(rows)
    values = np.zeros(len(stacked))
    values[: network.size] = mean / deviation
    return Beliefs(stacked, values)


def believed(network: Network, friction_in: bool) -> tuple[Floats, Floats]:
    """Mean and standard deviation of each free number before the rows speak."""
    wide = [_BLEED] * network.bleeds + [_CRACK_STEP] * (network.cracks - 1) + [_CRACK]
    friction = (_FRICTION if friction_in else 1e-6) / network.force
    wide += [_OPENING, _PORT, _KNEE, _LEAK, (0.0, friction)]
    mean, deviation = np.array(wide).T
    return mean, deviation


def _found(network: Network, minimum: Minimum, beliefs: Beliefs, misses: Floats) -> Found:
    """Covariance from the curvature at the minimum, scatter from its residuals."""
    seen = (minimum.slopes.T * minimum.weights) @ minimum.slopes
    inverse = np.linalg.inv(seen + beliefs.rows.T @ beliefs.rows)
    spent = float(np.trace(inverse @ seen))
    squares = float(np.sum(minimum.weights * minimum.residuals**2))
    freedom = minimum.residuals.size - spent + _PRIOR_ROWS
    scatter = np.sqrt((squares + _PRIOR_ROWS) / freedom)
    return Found(network, minimum.x, inverse * scatter**2, float(scatter), freedom, misses)
