"""What gauges read twice: whether gas or air was changed, or only the day.

A reading is not a change. The same filling reads lower on a colder day; a difference counts as
set only when the readings' own error and the temperature cannot explain it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from trackside.analysis.plausible_ranges import value_mark
from trackside.corner.tyres import pressure_at
from trackside.damper.gas import charge_lost, pressure_at_20
from trackside.errors import BadNumber
from trackside.records import CornerSheet, Reading, Session, same
from trackside.records.fields import CORNERS

TYRE_GAUGE = 1.5e3
"""Two readings of one tyre by one gauge lie within this (Pa): our own choice."""

UNLIKELY, OTHER_HARDWARE, NO_TEMPERATURE = "unlikely", "other hardware", "no temperature"
"""Why two readings are not compared: the run sheet marks one of them; the gas is that of another
damper or build; nobody wrote down how warm it was."""

_CHARGE = ("gas_pressure", "gas_temperature")

Verdict = Literal["set", "same", "unknown"]


@dataclass(frozen=True)
class GaugeChange:
    """Two readings (gauge Pa) of one corner that differ.

    `verdict`: "set" when gas or air was let in or out, "same" when temperature explains it,
    "unknown" when they cannot be compared, for the reason `why`: one of the three above, or what an
    error says. Of a damper's gas, `before` and `after` are at 20 °C where they compare.
    """

    corner: str
    before: float
    after: float
    verdict: Verdict
    why: str = ""


def charges(before: Session, after: Session) -> Iterator[GaugeChange]:
    """Each corner's damper gas, where it was read in both sessions and reads differently."""
    for corner in CORNERS:
        was, now = before.corner(corner), after.corner(corner)
        first, second = was.si("gas_pressure"), now.si("gas_pressure")
        first_C, second_C = was.si("gas_temperature"), now.si("gas_temperature")
        if first is None or second is None or (first, first_C) == (second, second_C):
            continue
        if not same_hardware(was, now):
            yield GaugeChange(corner, first, second, "unknown", OTHER_HARDWARE)
        elif is_unlikely(was, *_CHARGE) or is_unlikely(now, *_CHARGE):
            yield GaugeChange(corner, first, second, "unknown", UNLIKELY)
        elif first_C is None or second_C is None:
            if first != second:
                yield GaugeChange(corner, first, second, "unknown", NO_TEMPERATURE)
        else:
            yield _charge(corner, first, first_C, second, second_C)


def _charge(
    corner: str, first: float, first_C: float, second: float, second_C: float
) -> GaugeChange:
    try:
        loss = charge_lost(first, first_C, second, second_C)
        at_20 = float(pressure_at_20(first, first_C)), float(pressure_at_20(second, second_C))
    except BadNumber as error:
        return GaugeChange(corner, first, second, "unknown", error.cause)
    return GaugeChange(corner, *at_20, "set" if abs(loss.missing) > loss.doubt else "same")


def is_unlikely(sheet: CornerSheet, *names: str) -> bool:
    """Whether one of those readings lies outside its limits: typed in another unit or field, or
    with a digit too many, most likely."""
    return any(
        isinstance(value := sheet.value(name), Reading)
        and value_mark(f"FL.{name}", value) is not None
        for name in names
    )


def same_hardware(was: CornerSheet, now: CornerSheet) -> bool:
    """Whether the run sheets name the same damper and build; False where no damper is named."""
    names = [((s.damper or "").casefold(), (s.build or "").casefold()) for s in (was, now)]
    return bool(names[0][0]) and names[0] == names[1]


def cold_pressures(before: Session, after: Session) -> tuple[GaugeChange, ...]:
    """Each corner's cold tyre pressure, where it was written down in both sessions and differs.

    "same" only when every one of them serves the same hot target, or is what the change of the
    air's temperature makes of the one before (p ∝ T at constant volume).
    """
    found, unlikely = [], []
    air = before.si("air_temperature"), after.si("air_temperature")
    explained = True
    for corner in CORNERS:
        was, now = before.corner(corner), after.corner(corner)
        first, second = was.si("cold_pressure"), now.si("cold_pressure")
        if (
            first is None
            or second is None
            or same(was.cold_pressure, now.cold_pressure, "pressure")
        ):
            continue
        if is_unlikely(was, "cold_pressure") or is_unlikely(now, "cold_pressure"):
            unlikely.append(GaugeChange(corner, first, second, "unknown", UNLIKELY))
            continue
        found.append((corner, first, second))
        targets = was.hot_target, now.hot_target
        aims_alike = targets[0] is not None and same(*targets, "pressure")
        explained = explained and (aims_alike or _by_the_day(first, second, *air))
    return (*(GaugeChange(*one, "same" if explained else "set") for one in found), *unlikely)


def _by_the_day(first: float, second: float, air_then: float | None, air_now: float | None) -> bool:
    if air_then is None or air_now is None:
        return False
    try:
        expected = float(pressure_at(first, air_then, air_now))
    except BadNumber:
        return False
    moved = expected - first
    return abs(moved) > TYRE_GAUGE and abs(second - expected) <= TYRE_GAUGE
