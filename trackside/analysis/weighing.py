"""What four scales say of a car: weights, shares, the diagonal; and against the weighing before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from trackside.records import Reading, Weighing
from trackside.records.fields import CORNERS

if TYPE_CHECKING:
    from trackside.logbook import Logbook

FUEL_ALIKE = {"m³": 0.001, "kg": 0.75}
"""Fuel that differs by no more, by base unit, is the same load: our own, no source."""

LoadDoubt = Literal["driver", "driver unknown", "fuel", "fuel unknown"]
"""Why two weighings are not of the same load, or may not be."""


@dataclass(frozen=True)
class Balance:
    """A car on four scales: `corners` has kg at FL, FR, RL, RR. Shares are of the whole, 0 to 1.

    >>> found = Balance({"FL": 293.0, "FR": 288.0, "RL": 305.0, "RR": 300.0})
    >>> found.total, round(found.front, 4), round(found.left, 4), found.cross
    (1186.0, 0.4899, 0.5042, 0.5)
    """

    corners: Mapping[str, float]

    @property
    def total(self) -> float:
        """All four, kg."""
        return sum(self.corners[corner] for corner in CORNERS)

    @property
    def front(self) -> float:
        """The front axle's share."""
        return self._share("FL", "FR")

    @property
    def left(self) -> float:
        """The left side's share."""
        return self._share("FL", "RL")

    @property
    def cross(self) -> float:
        """The share of the diagonal FR + RL: the cross weight."""
        return self._share("FR", "RL")

    def _share(self, *corners: str) -> float:
        return sum(self.corners[corner] for corner in corners) / self.total


@dataclass(frozen=True)
class BalanceChange:
    """From one weighing to the next: kg by corner and in all, shares as differences of shares."""

    corners: Mapping[str, float]
    total: float
    front: float
    left: float
    cross: float
    doubts: tuple[LoadDoubt, ...]
    """Why the load was not the same, or may not have been; empty where it was."""


@dataclass(frozen=True)
class Weighed:
    """A weighing of a car, its name in the logbook, and what the scales say; None while one of the
    four is not read."""

    entity: str
    weighing: Weighing
    balance: Balance | None


def balance_of(weighing: Weighing) -> Balance | None:
    """None while one of the four scales is not read."""
    found = {corner: weighing.mass(corner) for corner in CORNERS}
    known = {corner: mass for corner, mass in found.items() if mass is not None}
    return Balance(known) if len(known) == len(CORNERS) else None


def weighings(logbook: Logbook, car: str) -> list[Weighed]:
    """Those of that car, the newest first."""
    of_car = [one for one in logbook.records(Weighing, "weighing") if one[1].car == car]
    newest_first = sorted(of_car, key=lambda one: (one[1].at, one[0]), reverse=True)
    return [Weighed(entity, weighing, balance_of(weighing)) for entity, weighing in newest_first]


def newest_by(found: Sequence[Weighed], moment: str) -> Weighed | None:
    """The newest with four scales that was read by that moment (YYYY-MM-DD HH:MM, or a day), as far
    as it is known when; of all where the moment is unknown."""
    complete = (one for one in found if one.balance is not None)
    return next((one for one in complete if not moment or "" < one.weighing.at <= moment), None)


def changed_since(before: Weighed, now: Weighed) -> BalanceChange | None:
    """From one to the other; None where one of them lacks a scale."""
    was, here = before.balance, now.balance
    if was is None or here is None:
        return None
    return BalanceChange(
        {corner: here.corners[corner] - was.corners[corner] for corner in CORNERS},
        here.total - was.total,
        here.front - was.front,
        here.left - was.left,
        here.cross - was.cross,
        tuple(_doubts((before.weighing, now.weighing))),
    )


def before_in(found: Sequence[Weighed], entity: str) -> Weighed | None:
    """The weighing with four scales before that one, in a list that has the newest first; one at an
    unknown time was before none."""
    names = [one.entity for one in found]
    older = found[names.index(entity) + 1 :] if entity in names else ()
    return next((one for one in older if one.balance is not None and one.weighing.at), None)


def _doubts(both: Sequence[Weighing]) -> list[LoadDoubt]:
    doubts: list[LoadDoubt] = []
    drivers = {one.driver for one in both}
    if None in drivers:
        doubts.append("driver unknown")
    elif len(drivers) == 2:
        doubts.append("driver")
    alike = _same_fuel([one.fuel for one in both])
    if alike is None:
        doubts.append("fuel unknown")
    elif not alike:
        doubts.append("fuel")
    return doubts


def _same_fuel(fuels: Sequence[Reading | None]) -> bool | None:
    """None where one is unknown, or they are of two kinds."""
    loads: dict[str, list[float]] = {}
    for fuel in fuels:
        if fuel is not None and fuel.si is not None:
            loads.setdefault(fuel.base("fuel"), []).append(fuel.si)
    for base, load in loads.items():
        if len(load) == len(fuels):
            return max(load) - min(load) <= FUEL_ALIKE[base] + 1e-9
    return None
