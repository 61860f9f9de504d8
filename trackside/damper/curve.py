"""Answers on the damper's curve: forces with a band, and differences with a narrower one."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.damper.basis import Basis
from trackside.damper.flow import Floats


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
