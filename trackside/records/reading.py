"""A number as a person wrote it down: the text, the unit, and what it means.

The text is never replaced. When it cannot be read, `si` is None and `problem()` says why; an
unknown value has no Reading at all.
"""

from __future__ import annotations

from typing import Self

from trackside.errors import BadNumber
from trackside.records.base import Line, Record
from trackside.records.fields import Field
from trackside.units import QUANTITIES, from_si, one_line, read, show


class Reading(Record):
    """`typed` as it was typed, `unit` the unit it was read in, `si` its value in the base unit."""

    typed: Line
    unit: str = ""
    si: float | None = None

    @classmethod
    def of_text(cls, text: str, quantity: str, unit: str = "") -> Self | None:
        """What `text` says, bare numbers taken in `unit`; None when it is empty (unknown)."""
        typed = one_line(text)
        if not typed or typed in ("–", "-", "?"):
            return None
        try:
            found = read(typed, quantity, unit)
        except BadNumber:
            return cls(typed=typed, unit=unit)
        return cls(typed=typed, unit=found.unit.symbol, si=found.si)

    @classmethod
    def of_si(cls, si: float, quantity: str, unit: str = "") -> Self:
        """A Reading for a value that no hand typed (a stepped click, a computed pressure)."""
        symbol = unit or QUANTITIES[quantity].units[0].symbol
        return cls(typed=show(si, quantity, symbol), unit=symbol, si=si)

    def shown(self, quantity: str, unit: str = "") -> str:
        """As typed when it was typed in `unit` (or in any unit spelled out), else converted."""
        preferred = unit or QUANTITIES[quantity].units[0].symbol
        if self.si is None or self.unit == preferred or not _is_bare(self.typed):
            return self.typed
        return show(self.si, quantity, preferred)

    def number(self, quantity: str, unit: str = "") -> float | None:
        """The value in `unit`, or None when the text cannot be read."""
        return None if self.si is None else from_si(self.si, quantity, unit)

    def problem(self, quantity: str, low: float | None = None, high: float | None = None) -> str:
        """Why this cannot be right, in one sentence; empty when nothing speaks against it.

        `low` and `high` are plausible limits in the base unit of the quantity's first unit.
        """
        if self.si is None:
            try:
                read(self.typed, quantity, self.unit)
            except BadNumber as error:
                return str(error)
            return ""
        kind = QUANTITIES[quantity]
        base = kind.unit(self.unit).base if self.unit else kind.units[0].base
        if base != kind.units[0].base:
            return ""
        if (low is not None and self.si < low) or (high is not None and self.si > high):
            limits = " to ".join(
                show(limit, quantity, self.unit) for limit in (low, high) if limit is not None
            )
            shown = show(self.si, quantity, self.unit, with_unit=True)
            unit = kind.unit(self.unit).symbol if self.unit else ""
            return f"{shown} is outside {limits} {unit}".rstrip() + ": right unit, right field?"
        return ""


def _is_bare(typed: str) -> bool:
    return not any(character.isalpha() or character in "\"'°′″%" for character in typed)


def problem_of(value: Reading | str | None, field: Field) -> str:
    """What speaks against `value` in `field`, in one sentence; empty when nothing does."""
    if field.quantity is None or not isinstance(value, Reading):
        return ""
    return value.problem(field.quantity, field.low, field.high)
