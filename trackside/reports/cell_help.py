"""What a cell of the run sheet means, in words."""

from __future__ import annotations

from trackside.preferences import Preferences
from trackside.records import Adjuster, Reading
from trackside.records.fields import field_of
from trackside.units import QUANTITIES, show

_BESIDE = {
    "bar": ("psi",),
    "psi": ("bar",),
    "kPa": ("bar", "psi"),
    "MPa": ("bar", "psi"),
    "°C": ("°F",),
    "°F": ("°C",),
    "N/mm": ("lbf/in",),
    "lbf/in": ("N/mm",),
    "kgf/mm": ("N/mm",),
}


def of_text(
    text: str, path: str, preferences: Preferences, adjuster: Adjuster | None = None
) -> str:
    """What is being typed would mean, or why it cannot be read."""
    quantity = field_of(path).quantity
    reading = Reading.of_text(text, quantity, preferences.unit(quantity)) if quantity else None
    if reading is None or quantity is None:
        return ""
    if reading.si is None:
        return reading.why_unread(quantity)
    return of_value(reading, path, adjuster, preferences)


def of_value(
    value: Reading | str | None, path: str, adjuster: Adjuster | None, preferences: Preferences
) -> str:
    """What is kept there means; a count of clicks says of how many and from which end. An empty one
    says what can be counted there."""
    quantity = field_of(path).quantity
    if value is None and quantity == "clicks" and adjuster:
        return f"0 to {adjuster.clicks} clicks from full {adjuster.counted_from}"
    if not isinstance(value, Reading) or quantity is None or value.si is None:
        return value if isinstance(value, str) else ""
    if quantity != "clicks":
        return _in_units(value, quantity, preferences)
    of = f" of {adjuster.clicks} from full {adjuster.counted_from}" if adjuster else ""
    return f"{value.si:g} click{'' if value.si == 1 else 's'}{of}"


def _in_units(reading: Reading, quantity: str, preferences: Preferences) -> str:
    """`20.68 bar = 300.0 psi`: in the crew's unit first, then as read, and in the others that
    crews use."""
    assert reading.si is not None
    crews = QUANTITIES[quantity].unit(preferences.unit(quantity))
    units = [reading.unit, *_BESIDE.get(reading.unit, ())]
    if crews.base == reading.base(quantity):
        units.insert(0, crews.symbol)
    return " = ".join(
        show(reading.si, quantity, unit, with_unit=True) for unit in dict.fromkeys(units)
    )
