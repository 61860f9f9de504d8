"""What a search for a build gives: facts in SI."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Final

import numpy as np

from trackside.analysis.estimate import Floats
from trackside.analysis.valve_stock import Part, Slots, Stacked
from trackside.analysis.valve_target import Target
from trackside.damper.curve import DiscLimits, Prediction
from trackside.records import Build
from trackside.records.discs import stack_text

SHOWN: Final = 20
"""So many builds are shown at most."""


@dataclass(frozen=True)
class Valve:
    """What a build has in one direction; lengths in m."""

    stack: Stacked
    clamp: float
    spacers: tuple[float, ...]
    slots: Slots

    @property
    def spacer(self) -> float:
        """All spacers together."""
        return sum(self.spacers)


@dataclass(frozen=True)
class Side:
    """One direction of an answer. position: as the crew counts, None without an adjuster; met_at:
    every position at which the target is met; missing: force over the wanted one, less one, at the
    target's speeds; others: clamp, spacer and bleed disc changed."""

    target: Target
    valve: Valve
    position: float | None
    from_hard: float
    met_at: tuple[float, ...]
    preload: float
    forecast: Prediction
    missing: Floats
    limits: DiscLimits
    needs: Counter[Part]
    frees: Counter[Part]
    others: int

    @property
    def worst(self) -> float:
        """The largest share that is missing, either way."""
        return float(np.max(np.abs(self.missing)))

    @property
    def over_stressed(self) -> bool:
        """Whether the wanted forces go beyond what the discs are safe for."""
        return bool(self.target.force[-1] > self.limits.safe_to)


@dataclass(frozen=True)
class Answer:
    """A build: one side, or both of one piston."""

    sides: tuple[Side, ...]
    within: float

    @property
    def changed(self) -> int:
        """How many discs are changed."""
        return sum(side.valve.stack.changed for side in self.sides)

    @property
    def others(self) -> int:
        """How many other parts are."""
        return sum(side.others for side in self.sides)

    @property
    def worst(self) -> float:
        """The largest share that is missing anywhere."""
        return max(side.worst for side in self.sides)

    @property
    def rms(self) -> float:
        """Root of the mean square of all shares that are missing."""
        missing = np.concatenate([side.missing for side in self.sides])
        return float(np.sqrt(np.mean(np.square(missing))))

    @property
    def strained(self) -> bool:
        """Whether a wanted force is beyond what its discs are safe for."""
        return any(side.over_stressed for side in self.sides)

    @property
    def met(self) -> bool:
        """Whether every force is as near as was asked for."""
        return self.worst <= self.within


@dataclass(frozen=True)
class SearchResult:
    """What a search gave: up to `SHOWN` builds, how many stacks and combinations were held against
    the target, and whether it was stopped before the end. lacking: where nothing meets the target,
    the parts that the box lacks of the first build that would; None where none of the sizes that
    shops keep would."""

    targets: tuple[Target, ...]
    answers: tuple[Answer, ...]
    stacks: int
    combinations: int
    stopped: bool
    from_bench: bool
    lacking: Counter[Part] | None = None
    left_out: tuple[Part, ...] = ()
    """Discs of the box that no stack takes: wider than the widest that is in there today, or with a
    hole as wide as every clamp disc."""


def rebuilt(build: Build, direction: str, valve: Valve) -> Build:
    """The build with that valve in one direction."""
    parts = build.parts(direction)
    assert parts is not None
    count, width, depth = valve.slots
    new = parts.model_copy(
        update={
            "clamp": valve.clamp,
            "spacer": valve.spacer,
            "slot_count": count,
            "slot_width": width or None,
            "slot_depth": depth or None,
        }
    )
    update = {f"{direction}_stack": stack_text(valve.stack.discs), f"{direction}_parts": new}
    return build.model_copy(update=update)
