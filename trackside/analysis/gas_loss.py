"""Gas that went missing: two readings of one damper's charge, beyond what temperature explains."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.analysis.gauges import UNLIKELY, is_unlikely
from trackside.analysis.last_read import LastReadings, reading
from trackside.damper.gas import charge_lost
from trackside.errors import BadNumber
from trackside.records import Session
from trackside.records.fields import CORNERS


@dataclass(frozen=True)
class LostCharge:
    """A corner whose damper holds `missing` less (Pa) than the `expected` gauge pressure (Pa) that
    temperature makes of the reading before. Where the two cannot be compared, both are None and
    `why` is `gauges.UNLIKELY`, or what an error says."""

    corner: str
    missing: float | None = None
    expected: float | None = None
    why: str = ""


def lost_charge(before: Session | None, after: Session, corner: str) -> LostCharge | None:
    """What the corner's damper lost since the reading before, or that the two cannot be compared;
    None where nothing is missing.

    Told only for the same damper in the same build, with both readings and their temperatures.
    """
    if before is None:
        return None
    was, now = before.corner(corner), after.corner(corner)
    if not was.damper or (was.damper, was.build) != (now.damper, now.build):
        return None
    readings = [
        sheet.si(name) for sheet in (was, now) for name in ("gas_pressure", "gas_temperature")
    ]
    first, first_C, second, second_C = readings
    if first is None or first_C is None or second is None or second_C is None:
        return None
    if any(is_unlikely(sheet, "gas_pressure", "gas_temperature") for sheet in (was, now)):
        return LostCharge(corner, why=UNLIKELY)
    try:
        loss = charge_lost(first, first_C, second, second_C)
    except BadNumber as error:
        return LostCharge(corner, why=str(error))
    if not loss.beyond_doubt:
        return None
    return LostCharge(corner, float(loss.missing), float(loss.expected))


def charge_before(last: LastReadings, entity: str, session: Session, corner: str) -> Session | None:
    """The session with the charge of that corner's damper as it was last read before; None where
    nobody read it with its temperature."""
    path = f"{corner}.gas_pressure"
    found, taken_at = (look(entity, session, path) for look in (last.at, last.taken_at))
    if found is None or taken_at is None:
        return None
    before = session.with_value(path, reading(found))
    return before.with_value(f"{corner}.gas_temperature", reading(taken_at))


def lost_charges(before: Session, after: Session) -> list[LostCharge]:
    """Every corner's."""
    found = (lost_charge(before, after, corner) for corner in CORNERS)
    return [one for one in found if one]
