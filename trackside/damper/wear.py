"""Two fitted sheets of one direction held against each other: the force gained or lost.

The earlier curve is carried to the later oil with what of its flow follows viscosity (`viscous`),
which both sheets together say more of; a loss that thinner oil could explain as well is so in the
band. Runs scatter as a whole and row by row; how far, the positions' own spread says, with a
scatter that is usual (our own, no source) worth four runs beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper.flow import Floats
from trackside.damper.oil import EXPANSION
from trackside.damper.sheet_fit import DirectionFit
from trackside.damper.viscous import Viscous, carried, learned, usual_ratio

RUN, ROW = 0.011, 0.009
"""Standard deviation of ln of the force of two runs at one position, as a whole and row by row."""
SEAL = 2.0
"""Standard deviation (N) of what seal and bench may differ by at any force."""
_RUNS = 4.0
_TEMPERATURE = 8.0  # K, standard deviation between two sheets whose oil nobody read


@dataclass(frozen=True)
class Gain:
    """`share` of the force gained at each speed (n,), mean over positions; ln of what was gained at
    all speeds alike, and its standard deviation; the viscous part as both sheets tell it."""

    share: Floats
    log: float
    deviation: float
    viscous: Viscous


def gained(
    was: DirectionFit,
    now: DirectionFit,
    positions: tuple[float, ...],
    ring: float,
    speed: Floats,
    oil: tuple[float, float] | None,
) -> Gain:
    """From the earlier sheet to the later, at positions and speeds (m/s, (n,)) that both have.

    oil: viscosity and density ratio from the earlier oil to the later; None where a temperature is
    not known. Source of the estimate: generalised least squares (textbook).
    """
    viscosity, density = oil or (1.0, 1.0)
    seen = np.concatenate([np.log(now.predict(p, speed, ring).force) for p in positions])

    def carry(viscous: Viscous, ratios: tuple[float, float]) -> tuple[Floats, Floats]:
        found = [
            carried(lambda v, p=p: was.predict(p, v, ring).force, speed, *ratios, viscous)  # type: ignore[misc]
            for p in positions
        ]
        return np.concatenate([f.logs for f in found]), np.vstack([f.slopes for f in found])

    start = was.viscous
    first = (seen - carry(start, (viscosity, density))[0]).reshape(len(positions), -1)
    own = 1.0 / ((SEAL * np.exp(-seen)) ** 2 + ROW**2).reshape(first.shape)
    means = np.sum(own * first, axis=1) / np.sum(own, axis=1)
    runs = _RUNS + len(positions) - 1.0
    run = (_RUNS * RUN**2 + float(np.sum((means - means.mean()) ** 2))) / runs
    one = np.eye(len(positions))
    every = np.ones((len(positions), len(positions)))
    near = np.exp(-0.5 * (np.log(speed)[:, None] - np.log(speed)[None, :]) ** 2)
    noise = run * np.kron(one, np.ones_like(near)) + ROW**2 * np.eye(seen.size)
    noise += ROW**2 * (np.kron(one, near) + 0.5 * np.kron(every, near))
    seal = SEAL * np.exp(-seen)
    noise += np.outer(seal, seal) * 0.5 * (np.kron(one + every, np.ones_like(near)))
    noise += np.diag(seal**2)
    if oil is None or viscosity == 1.0 != density:
        warmer = _TEMPERATURE if oil is None else (density - 1.0) / EXPANSION
        usual = usual_ratio(warmer), 1.0 + EXPANSION * warmer if oil is None else density
        off = carry(start, usual)[0] - carry(start, (viscosity, density))[0]
        noise += np.outer(off, off)
    viscous, log, deviation = learned(
        seen, lambda what: carry(what, (viscosity, density)), noise, start
    )
    left = seen - carry(viscous, (viscosity, density))[0]
    off = left - log
    misses = float(off @ np.linalg.solve(noise, off)) / off.size
    share = np.expm1(left.reshape(len(positions), -1)).mean(axis=0)
    return Gain(share, log, deviation * np.sqrt(max(misses, 1.0)), viscous)
