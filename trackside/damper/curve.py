"""Answers on the damper's curve: forces with a band, and differences with a narrower one."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from numpy.typing import ArrayLike

from trackside.damper.basis import Basis
from trackside.damper.flow import Floats, FlowPath


@dataclass(frozen=True)
class Prediction:
    """Force (N) at each speed (m/s); [low, high] should hold 95 % of new bench points."""

    speed: Floats
    force: Floats
    low: Floats
    high: Floats
    basis: Basis


@dataclass(frozen=True)
class Difference:
    """Force b less force a at each speed, in N and in % of force a.

    [low, high] (N) is the 95 % band of the true change: what both curves share cancels,
    and the bench's scatter from stroke to stroke is left out.
    """

    speed: Floats
    change: Floats
    percent: Floats
    low: Floats
    high: Floats
    basis: Basis


class DiscRemark(StrEnum):
    """What about a stack the figures of its parts do not follow."""

    SECOND_STAGE = "second stage"
    """The discs behind a small one, the stack's second stage, are left out."""
    STANDING_OFF = "standing off"
    """The spacer is thicker than the seat step: the discs stand off their seat."""


@dataclass(frozen=True)
class DiscLimits:
    """Forces (N) above which a disc bends more than half its thickness, where plate theory ends and
    the true force is higher, and above which it may take a set; inf without discs."""

    linear_to: float
    safe_to: float
    remarks: tuple[DiscRemark, ...] = ()


class Curve(Protocol):
    """One direction of a damper, whatever its force is known from: a fit of bench rows, sisters,
    the bench of another build, the shop's rule, the parts. Positions and preloads are clicks from
    full hard, speeds m/s, forces N."""

    @property
    def positions(self) -> tuple[float, ...]:
        """Measured positions of the bleed adjuster; none where no bench is behind it."""

    @property
    def preloads(self) -> tuple[float, ...]:
        """Measured positions of the preload adjuster; none where no bench is behind it."""

    @property
    def takes_preload(self) -> bool:
        """Whether it knows what the preload adjuster does."""

    @property
    def limits(self) -> DiscLimits | None:
        """How far the theory behind it holds; None where a bench measured it, or a rule says it."""

    def basis(self, position_from_hard: float, preload_from_hard: float | None = None) -> Basis:
        """How a force at this position is known."""

    def predict(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Prediction:
        """Force at speeds; oil at other temperatures has other ratios than one."""

    def force(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
    ) -> Floats:
        """Force (n,) of `predict`, without its band: what a search over many positions asks for."""

    def difference(
        self,
        position_a: float,
        position_b: float,
        speeds: ArrayLike,
        preload_a: float | None = None,
        preload_b: float | None = None,
    ) -> Difference:
        """Force at b less force at a; what both share cancels."""

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The flow path at a position."""
