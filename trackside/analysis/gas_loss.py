"""Gas that went missing: two readings of one damper's charge, beyond what temperature explains."""

from __future__ import annotations

from trackside.analysis.gauges import UNLIKELY, is_unlikely
from trackside.analysis.last_read import LastReadings, reading
from trackside.damper.gas import charge_lost
from trackside.errors import BadNumber
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.records.fields import CORNERS
from trackside.units import show


def lost_charge(
    before: Session | None, after: Session, corner: str, preferences: Preferences
) -> str:
    """A sentence when the corner's damper holds less gas than at the reading before, or when the
    two cannot be compared; else empty.

    Told only for the same damper in the same build, with both readings and their temperatures.
    """
    if before is None:
        return ""
    was, now = before.corner(corner), after.corner(corner)
    if not was.damper or (was.damper, was.build) != (now.damper, now.build):
        return ""
    readings = [
        sheet.si(name) for sheet in (was, now) for name in ("gas_pressure", "gas_temperature")
    ]
    first, first_C, second, second_C = readings
    if first is None or first_C is None or second is None or second_C is None:
        return ""
    if any(is_unlikely(sheet, "gas_pressure", "gas_temperature") for sheet in (was, now)):
        return f"{corner} gas: not compared with the reading before, {UNLIKELY}"
    try:
        loss = charge_lost(first, first_C, second, second_C)
    except BadNumber as error:
        return f"{corner} gas: not compared with the reading before, {error}"
    if not loss.beyond_doubt:
        return ""
    unit = preferences.unit("pressure")
    missing, expected = (
        show(pressure, "pressure", unit, with_unit=True)
        for pressure in (loss.missing, loss.expected)
    )
    return (
        f"{corner} gas: {missing} less than the {expected} that temperature explains: "
        "a leak, or gas let out by the gauge?"
    )


def charge_before(last: LastReadings, entity: str, session: Session, corner: str) -> Session | None:
    """The session with the charge of that corner's damper as it was last read before; None where
    nobody read it with its temperature."""
    path = f"{corner}.gas_pressure"
    found, taken_at = (look(entity, session, path) for look in (last.at, last.taken_at))
    if found is None or taken_at is None:
        return None
    before = session.with_value(path, reading(found))
    return before.with_value(f"{corner}.gas_temperature", reading(taken_at))


def lost_charges(before: Session, after: Session, preferences: Preferences) -> list[str]:
    """Every corner's sentence."""
    found = (lost_charge(before, after, corner, preferences) for corner in CORNERS)
    return [sentence for sentence in found if sentence]
