"""The curve with the damper warm: the same setting at the body temperature of the run.

The sheet's oil temperature is the reference. The body temperature stands for the oil's, which
is our own simplification, no source: the oil inside is warmer than the body after a short run.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from trackside.analysis.build_oil import oil_of
from trackside.analysis.estimate import Estimate, Speeds, ground
from trackside.analysis.shed import Shed
from trackside.damper.oil import OilData, ratios
from trackside.errors import BadNumber, NoEstimate
from trackside.records import Build, Session


@dataclass(frozen=True)
class Warm:
    """The estimate at `at_C`, from a sheet run at `sheet_C`; `oil` is what is known of
    the oil beside its density: nothing, its two viscosities, or its grade and index."""

    estimate: Estimate
    sheet_C: float
    at_C: float
    oil: Literal["nothing", "viscosities", "grade"]


def warm_estimate(cold: Estimate, session: Session, shed: Shed, speeds: Speeds) -> Warm:
    """`cold` at the corner's body temperature. NoEstimate says what is missing: the body
    temperature, the sheet's oil temperature, or a dyno sheet at all."""
    at = cold.setting
    at_C = session.corner(at.corner).si("body_temperature")
    if at_C is None:
        raise NoEstimate(
            f"the body temperature at {at.corner} is not entered", "read it after the run"
        )
    stands_on = ground(at.build, at.direction, shed)
    bench = stands_on.bench
    if bench is None:
        raise NoEstimate("warm oil needs a dyno sheet to start from", "add one in the damper shed")
    sheet_C = bench.oil_C
    if sheet_C is None:
        raise NoEstimate("the sheet does not say its oil temperature", "add the column oil_C")
    try:
        oil = oil_of(at.build)
        viscosity, density = (float(ratio) for ratio in ratios(oil, sheet_C, at_C))
    except BadNumber as error:
        raise NoEstimate(error.cause, error.remedy) from error
    v = np.asarray(speeds, float)
    found = stands_on.curve.predict(at.from_hard, v, stands_on.ring(at), viscosity, density)
    estimate = replace(cold, speed=found.speed, force=found.force, low=found.low, high=found.high)
    return Warm(estimate, sheet_C, at_C, _known(at.build, oil))


def _known(build: Build, oil: OilData | None) -> Literal["nothing", "viscosities", "grade"]:
    if oil is None:
        return "nothing"
    both = build.oil_viscosity_40 is not None and build.oil_viscosity_100 is not None
    return "viscosities" if both else "grade"
