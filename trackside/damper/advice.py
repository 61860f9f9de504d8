"""What a sheet cannot tell, and the one bench run that would help most.

A coefficient is not told if the sheet leaves more than half of what was believed about it before
(`estimation`). A run is one position at a few speeds; its worth is how much narrower the bands of
the whole map, positions by speeds, would become: computed from the fit's covariance before the
run is made (optimal design; a linear look ahead, so a guide and no promise).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper import bands
from trackside.damper.estimation import believed
from trackside.damper.flow import Floats
from trackside.damper.sheet_fit import FARTHEST, DirectionFit

_UNTOLD = 0.5
_SPEEDS = np.array([5, 10, 25, 50, 75, 100, 150, 200, 300, 500, 750]) * 1e-3  # m/s
_BEYOND = 1.5  # a bench run may go this far beyond the sheet's largest speed
MOST_SPEEDS = 3
"""How many speeds of a run are named: our own, no source."""
WORTH = 0.05
"""A run that narrows the bands by less is not named as worth it: our own, no source."""


@dataclass(frozen=True)
class BenchRun:
    """One position (clicks from full hard) at up to `MOST_SPEEDS` speeds (m/s), the one that tells
    most first; bands narrow by `gain`, the mean half band from `before` to `after`, as shares of
    the force. `single` is the gain of the first speed alone."""

    position: float
    speeds: tuple[float, ...]
    gain: float
    before: float
    after: float
    single: float

    @property
    def is_worth(self) -> bool:
        """Whether the bands would narrow by enough to fire up the bench for it."""
        return self.gain >= WORTH


def untold(fit: DirectionFit) -> tuple[str, ...]:
    """Names of the coefficients that the sheet hardly tells, as in `DirectionFit.parameters`."""
    found = fit.found
    net = found.network
    _, before = believed(net, fit.friction_in)
    after = np.sqrt(np.diag(found.covariance))
    names = ["bleed"] * net.bleeds + ["crack"] * net.cracks
    names += ["opening", "port", "knee", "leak", "friction"]
    first = {0, net.bleeds, *range(net.bleeds + net.cracks, net.size)}
    return tuple(names[k] for k in sorted(first) if after[k] > _UNTOLD * before[k])


def best_run(
    fit: DirectionFit,
    clicks: float | None = None,
    used: tuple[tuple[float, ...], tuple[float, ...]] | None = None,
) -> BenchRun:
    """The run that would narrow the map's bands most; `clicks` is the adjuster's whole travel.
    `used`: positions (from full hard) and speeds (m/s) of a crew; then the bands there count alone.

    Without `clicks` the map ends at the outermost measured positions, and never so far beyond them
    that the fit tells nothing. A preload adjuster that was varied is held at the hardest measured
    position.
    """
    nodes = np.array(fit.positions)
    low, high = (nodes[0], nodes[-1]) if clicks is None else (0.0, float(clicks))
    far = FARTHEST * (nodes[-1] - nodes[0])
    low, high = max(low, nodes[0] - far), min(high, nodes[-1] + far)
    places = np.unique([low, high, *nodes, *np.round((nodes[1:] + nodes[:-1]) / 2)])
    asked = [p for p in (used[0] if used else ()) if low <= p <= high]
    places = np.unique([*places, *asked])
    if len(nodes) == 1:  # no law yet: only where it was measured can a run be weighed
        places = nodes
    top = fit.found.network.speed
    speeds = np.unique([*_SPEEDS[top * _BEYOND >= _SPEEDS], *(used[1] if used else ())])
    held = fit.preloads[0]
    curves = [fit.end(float(place), speeds, held) for place in places]
    covariance = bands.covariance(fit.found, fit.laws, curves)
    force = np.concatenate([end.point.force for end in curves])
    here = np.tile(speeds <= top, len(places))
    if used and asked and len(nodes) > 1:
        here = np.repeat(np.isin(places, asked), speeds.size)
        here &= np.tile(np.isin(speeds, used[1]), len(places))
    noise = bands.scatter(fit.found, force) ** 2
    share = here / force / here.sum()
    before = float(np.sqrt(np.diag(covariance)) @ share)
    runs = [
        _at_one_place(covariance, noise, share, range(k * speeds.size, (k + 1) * speeds.size))
        for k in range(len(places))
    ]
    best = min(range(len(runs)), key=lambda k: runs[k][1][-1])
    chosen, after = runs[best]
    reach = bands.reach(fit.found.freedom)
    return BenchRun(
        float(places[best]),
        tuple(float(speeds[n % speeds.size]) for n in chosen),
        1.0 - after[-1] / before,
        reach * before,
        reach * after[-1],
        1.0 - after[0] / before,
    )


def _at_one_place(
    covariance: Floats, noise: Floats, share: Floats, rows: range
) -> tuple[list[int], list[float]]:
    """The rows of one position that are worth most, one after another, each weighed with those
    before it known; and the mean deviation, weighed by `share`, after each."""
    chosen: list[int] = []
    after: list[float] = []
    while len(chosen) < min(MOST_SPEEDS, len(rows)):
        left = [row for row in rows if row not in chosen]
        seen = covariance[:, left] ** 2 / (covariance[left, left] + noise[left])
        deviations = np.sqrt(np.maximum(np.diag(covariance)[:, None] - seen, 0.0))
        means = share @ deviations
        row = left[int(np.argmin(means))]
        chosen.append(row)
        after.append(float(means.min()))
        gain = covariance[:, row] / (covariance[row, row] + noise[row])
        covariance = covariance - np.outer(gain, covariance[row])
    return chosen, after
