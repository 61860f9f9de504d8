"""Least squares with a lower bound, straight-line beliefs and bounded influence of each row.

Minimises Σ 2k²(√(1 + (r/k)²) − 1) + |B·x − b|² over x ≥ low: Levenberg's and Marquardt's step,
projected on the bound; numbers that the bound holds are left out of the step. The loss is the
soft-L1 loss, from memory; tests compare the minimum with scipy.optimize.least_squares.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from trackside.damper.flow import Floats

_BLOCK = 64  # a triangle of more rows is worth halving
INFLUENCE = 2.5  # k: a residual of this many standard deviations starts to lose weight


@dataclass(frozen=True)
class Priors:
    """Rows B (q, p) and b (q,): B·x − b is standard normal before any measurement."""

    rows: Floats
    values: Floats


@dataclass(frozen=True)
class Minimum:
    """x (p,); cost; residuals (n,) and their slopes (n, p) there; row weights in (0, 1]."""

    x: Floats
    cost: float
    residuals: Floats
    slopes: Floats
    weights: Floats


def minimise(
    model: Callable[[Floats], tuple[Floats, Floats]],
    start: Floats,
    low: Floats,
    beliefs: Priors,
    steps: int = 60,
    tolerance: float = 1e-6,
    influence: float = INFLUENCE,
) -> Minimum:
    """The minimum near `start`; `model(x)` gives residuals (n,) and slopes (n, p).

    influence: k; infinite for plain least squares.
    """
    now = _at(model, np.maximum(start, low), beliefs, influence)
    damping = 1e-2
    for _ in range(steps):
        pull = now.slopes.T * now.weights
        off = beliefs.rows @ now.x - beliefs.values
        gradient = pull @ now.residuals + beliefs.rows.T @ off
        curvature = pull @ now.slopes + beliefs.rows.T @ beliefs.rows
        free = (now.x > low) | (gradient < 0.0)
        inner = curvature[np.ix_(free, free)]
        ridge = np.diag(np.diag(inner) + 1e-12)
        before = now.cost
        for _ in range(12):
            x = now.x.copy()
            x[free] -= np.linalg.solve(inner + damping * ridge, gradient[free])
            new = _at(model, np.maximum(x, low), beliefs, influence)
            if new.cost < now.cost:
                damping = max(damping / 5.0, 1e-9)
                now = new
                break
            damping *= 4.0
        if before - now.cost <= tolerance * before:
            break
    return now


def _at(
    model: Callable[[Floats], tuple[Floats, Floats]], x: Floats, beliefs: Priors, influence: float
) -> Minimum:
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        residuals, slopes = model(x)  # a step too far gives a cost that is no number: not taken
    root = np.sqrt(1.0 + (residuals / influence) ** 2)
    off = beliefs.rows @ x - beliefs.values
    # 2r²/(√ + 1) is 2k²(√ − 1) without the difference of near equals
    cost = float(np.sum(2.0 * residuals**2 / (root + 1.0)) + off @ off)
    return Minimum(x, cost, residuals, slopes, 1.0 / root)


def lower_inverse(low: Floats) -> Floats:
    """Inverse of a lower triangular matrix (n, n), by halves: what lies above is never touched."""
    if len(low) <= _BLOCK:
        return np.asarray(np.linalg.inv(low), float)
    half = len(low) // 2
    first, last = lower_inverse(low[:half, :half]), lower_inverse(low[half:, half:])
    found = np.zeros_like(low)
    found[:half, :half], found[half:, half:] = first, last
    found[half:, :half] = -last @ (low[half:, :half] @ first)
    return found


def inverse(low: Floats) -> Floats:
    """Inverse (n, n) of the matrix whose Cholesky factor this is."""
    white = lower_inverse(low)
    return np.asarray(white.T @ white)
