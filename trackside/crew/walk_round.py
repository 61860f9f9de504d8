"""The walk round the car with a gauge: what is read, in which order, when a value is whole, and
what is empty yet."""

from __future__ import annotations

from collections.abc import Sequence

from trackside.preferences import Preferences
from trackside.records import Session
from trackside.records.fields import field_of
from trackside.units import QUANTITIES, read

WALK_FIELDS = {
    "inner": "tread_inner",
    "middle": "tread_middle",
    "outer": "tread_outer",
    "hot": "hot_pressure",
    "body": "body_temperature",
    "gas": "gas_pressure",
    "gas_at": "gas_temperature",
}
"""What can be part of the walk, as the preference `walk_parts` calls it, and its field."""
_AT_THE_DAMPER = ("body", "gas", "gas_at")
_ROUNDING = 1e-6


def paths(preferences: Preferences) -> tuple[str, ...]:
    """What is read, corner by corner in the crew's order: tyres first, since treads cool; then, in
    a second lap, what is read at the dampers."""
    parts = preferences.walk_parts
    laps = (
        [part for part in parts if part not in _AT_THE_DAMPER],
        [part for part in parts if part in _AT_THE_DAMPER],
    )
    return tuple(
        f"{corner}.{WALK_FIELDS[part]}"
        for lap in laps
        for corner in preferences.walk_round
        for part in lap
    )


def empty(session: Session, walk: Sequence[str]) -> tuple[str, ...]:
    """Those of the walk's values that nobody has read yet, in its order."""
    return tuple(path for path in walk if not session.value(path))


def is_whole(path: str, text: str, preferences: Preferences) -> bool:
    """Whether no digit can follow that could be right: after 88 °C, 880 is beyond the limit.

    Never where the crew's unit is told with decimals, as in bar and psi: a point may follow there.
    """
    field = field_of(path)
    if field.quantity is None or field.high is None or not (text.isascii() and text.isdigit()):
        return False
    unit = QUANTITIES[field.quantity].unit(preferences.unit(field.quantity))
    if unit.decimals:
        return False
    return read(f"{text}0", field.quantity, unit.symbol).si > field.high + _ROUNDING
