"""The walk round the tyres: in which order they are read, and when a value is whole."""

from __future__ import annotations

from trackside.preferences import Preferences
from trackside.records.fields import field_of
from trackside.units import QUANTITIES, read

WALK_FIELDS = ("tread_inner", "tread_middle", "tread_outer", "hot_pressure")
_ROUNDING = 1e-6


def paths(preferences: Preferences) -> tuple[str, ...]:
    """Treads, then the hot pressure, corner by corner in the crew's order."""
    return tuple(f"{corner}.{name}" for corner in preferences.walk_round for name in WALK_FIELDS)


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
