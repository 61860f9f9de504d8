"""Clicks: how a crew counts them, what an adjuster acts on, and the two laws without a sheet.

The third law, measured positions, is `force_model.ForceModel`. Inside the program a position is
always clicks from full hard; `from_full_hard` and `as_counted` are the only conversion.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, Protocol

import numpy as np

from trackside.damper.flow import FlowPath, force_at
from trackside.errors import BadNumber, NoEstimate

Counted = Literal["hard", "soft"]
Acts = Literal["bleed", "preload"]
Direction = Literal["bump", "rebound"]

_ACTS: dict[tuple[str, str], Acts] = {
    ("bump_bleed", "bump"): "bleed",
    ("rebound_bleed", "rebound"): "bleed",
    ("both_bleed", "bump"): "bleed",
    ("both_bleed", "rebound"): "bleed",
    ("bump_preload", "bump"): "preload",
    ("rebound_preload", "rebound"): "preload",
}


def from_full_hard(count: float, clicks: float | None, counted_from: str) -> float:
    """Clicks from full hard for a count as the crew reads it.

    `clicks` is the whole travel of the adjuster; it may be unknown (None) if counted from hard.
    Raises BadNumber for an unknown convention, NoEstimate if the travel is needed and unknown.
    """
    if counted_from == "hard":
        return count
    if counted_from != "soft":
        raise BadNumber(
            f"clicks counted from “{counted_from}”", "say from full hard or from full soft"
        )
    if clicks is None:
        raise NoEstimate(
            "clicks are counted from full soft, and how many this adjuster has is not written down",
            "count them once from full hard to full soft and enter the number",
        )
    return clicks - count


def as_counted(from_hard: float, clicks: float | None, counted_from: str) -> float:
    """The crew's own count for clicks from full hard: the inverse of `from_full_hard`."""
    return from_full_hard(from_hard, clicks, counted_from)


def turned(count: float, harder: float, clicks: float | None, counted_from: str) -> float:
    """The count after turning so many clicks harder; softer below zero. Stops are not minded.

    Worked example: 8 from full hard, 2 harder, is 6; 10 of 16 from full soft, 2 harder, is 12.
    """
    hard = from_full_hard(count, clicks, counted_from) - harder
    return as_counted(hard, clicks, counted_from)


def harder_by(before: float, after: float, clicks: float | None, counted_from: str) -> float:
    """How many clicks harder `after` is than `before`, both as counted; softer is below zero."""
    was, now = (from_full_hard(count, clicks, counted_from) for count in (before, after))
    return was - now


def acts_on(adjuster: str, direction: str) -> Acts | None:
    """What an adjuster ("bump_bleed", "both_bleed", "rebound_preload" …) does to one direction."""
    return _ACTS.get((adjuster, direction))


class ClickLaw(Protocol):
    """Carries the flow path known at one position to another."""

    def path_at(
        self, path: FlowPath, anchor: float, position: float, acts: Acts = "bleed"
    ) -> FlowPath:
        """`path` stands at `anchor` clicks from full hard; the path at `position`."""


@dataclass(frozen=True)
class ForceSteps:
    """Each click takes the same share of the full-hard force at one reference speed.

    share 0.06 is 6 % a click; reference_speed m/s. The share is the shop's own
    figure; that shares are equal is our own law, no source. All other speeds follow from the flow
    network.
    """

    share: float
    reference_speed: float

    def __post_init__(self) -> None:
        if not (0.0 < self.share < 1.0 and 0.0 < self.reference_speed < np.inf):
            raise BadNumber(
                "even force steps need a share between 0 and 1 and a reference speed above zero",
                "enter for example 6 % a click at 50 mm/s",
            )

    def path_at(
        self, path: FlowPath, anchor: float, position: float, acts: Acts = "bleed"
    ) -> FlowPath:
        """The path with the bleed, or crack, that gives the stepped force; numbers only.

        Raises NoEstimate where the steps would leave no force, or ask for more than a closed
        adjuster can give.
        """
        if position == anchor:
            return path
        left, now = 1.0 - self.share * position, 1.0 - self.share * anchor
        if left <= 0.0 or now <= 0.0:
            raise NoEstimate(
                f"{self.share:.0%} a click leaves no force at {max(position, anchor):g} clicks",
                "enter a smaller share, or measure the damper at this position",
            )
        force = float(force_at(self.reference_speed, path)) * left / now
        if not np.isfinite(force):
            raise NoEstimate("no oil passes at full hard", "enter a base bleed or a crack force")
        return _with_force(path, self.reference_speed, force, acts)


def _with_force(path: FlowPath, speed: float, force: float, acts: Acts) -> FlowPath:
    """`path` with its bleed, or crack, changed so that `force` stands at `speed`."""
    leak, bleed, crack, opening, port, knee = (
        float(np.asarray(value))
        for value in (path.leak, path.bleed, path.crack, path.opening, path.port, path.knee)
    )
    total = (speed - leak * force) / np.sqrt(force)
    lift = opening * 0.5 * (force - crack + np.hypot(force - crack, knee))
    if acts == "bleed":
        valve = lift / np.sqrt(1.0 + (lift / port) ** 2)
        if total < valve:
            raise NoEstimate(
                "even with the bleed shut the piston passes more oil than this step allows",
                "enter a smaller share, or measure the damper nearer full hard",
            )
        return replace(path, bleed=total - valve)
    valve = total - bleed
    if not (0.0 < valve < port and opening > 0.0):
        raise NoEstimate(
            "at the reference speed the preload does not decide the force",
            "take a higher reference speed for this adjuster",
        )
    lift = valve / np.sqrt(1.0 - (valve / port) ** 2)
    over = lift / opening - knee**2 * opening / (4.0 * lift)  # x + √(x² + knee²) = 2·lift/opening
    return replace(path, crack=max(force - over, 0.0))


@dataclass(frozen=True)
class AreaSteps:
    """Each click opens the same orifice: `step` in (m/s)/√N, from `flow_coefficient`."""

    step: float

    def __post_init__(self) -> None:
        if not 0.0 < self.step < np.inf:
            raise BadNumber("an even area step must be above zero", "enter the area of one click")

    def path_at(
        self, path: FlowPath, anchor: float, position: float, acts: Acts = "bleed"
    ) -> FlowPath:
        """The path with `step` more bleed for each click opened; only a bleed has an area."""
        if position == anchor:
            return path
        if acts != "bleed":
            raise NoEstimate(
                "a preload adjuster opens no area", "give it even force steps, or measure it"
            )
        bleed = np.asarray(path.bleed, float) + self.step * (position - anchor)
        if np.any(bleed < 0.0):
            raise NoEstimate(
                f"the bleed is shut before {position:g} clicks from full hard",
                "enter a smaller area for one click, or count again",
            )
        return replace(path, bleed=bleed)
