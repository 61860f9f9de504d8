"""A wanted curve: forces at rod speeds, said against the curve as it is today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import Estimate, Floats, Setting, estimate_at
from trackside.analysis.shed import Shed


@dataclass(frozen=True)
class Wish:
    """What one direction is to do at one rod speed (m/s): a force (N), or a change of today's as a
    share of it (0: the same)."""

    direction: str
    speed: float
    force: float | None = None
    share: float = 0.0


@dataclass(frozen=True)
class Target:
    """One direction: forces (n,) N wanted at rod speeds (n,) m/s, rising; `today` is the curve as
    the damper is now, at the same speeds."""

    direction: str
    speed: Floats
    force: Floats
    today: Estimate

    @property
    def share(self) -> Floats:
        """The change that is wanted, as a share of today's force."""
        now = self.today.force
        return np.divide(self.force - now, now, out=np.full_like(now, np.nan), where=now > 0.0)

    @property
    def falls_after(self) -> int | None:
        """The place of the first force above that of the next faster speed, or of a speed that is
        there twice; None where the target rises."""
        wrong = (np.diff(self.speed) <= 0.0) | (np.diff(self.force) <= 0.0)
        return int(np.argmax(wrong)) if wrong.any() else None


def target_of(wishes: Sequence[Wish], today: Setting, shed: Shed) -> Target:
    """The wishes of one direction against today's curve, the slowest first. NoEstimate where nobody
    knows that curve."""
    mine = sorted((w for w in wishes if w.direction == today.direction), key=lambda w: w.speed)
    speeds = np.array([wish.speed for wish in mine])
    now = estimate_at(today, shed, speeds)
    force = np.array([
        wish.force if wish.force is not None else was * (1.0 + wish.share)
        for wish, was in zip(mine, now.force, strict=True)
    ])  # fmt: skip
    return Target(today.direction, speeds, force, now)


def like_another(other: Setting, speeds: Sequence[float], shed: Shed) -> list[Wish]:
    """Wishes that are another damper's curve, at its own setting."""
    found = estimate_at(other, shed, speeds)
    return [
        Wish(other.direction, float(v), float(f))
        for v, f in zip(found.speed, found.force, strict=True)
    ]
