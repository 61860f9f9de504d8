"""A number as a person wrote it down: the text, the unit, and what it means.

The text is never replaced. When it cannot be read, `si` is None and `why_unread` says why; an
unknown value has no Reading at all.
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field as NumberField

from trackside.errors import BadNumber
from trackside.records.base import Line, Record
from trackside.units import QUANTITIES, Unit, from_si, one_line, read, show


class Reading(Record):
    """`typed` as it was typed, `unit` the unit it was read in, `si` its value in the base unit."""

    typed: Line
    unit: str = ""
    si: Annotated[float | None, NumberField(allow_inf_nan=False)] = None

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

    def base(self, quantity: str) -> str:
        """The base unit that `si` is in: toe may be a length or an angle, fuel a volume or mass."""
        return self.own_unit(quantity).base

    def shown(self, quantity: str, unit: str = "") -> str:
        """As typed when it was typed in `unit` (or in any unit spelled out), else converted; with
        its own unit behind it where it cannot be converted."""
        kind = QUANTITIES[quantity]
        preferred = kind.unit(unit) if unit else kind.units[0]
        if self.si is None or self.unit == preferred.symbol or has_unit(self.typed):
            return self.typed
        if self.base(quantity) != preferred.base:
            return self.in_words(quantity)
        return show(self.si, quantity, preferred.symbol)

    def in_words(self, quantity: str, unit: str = "") -> str:
        """The value with its unit: `unit`, or its own without one and where it cannot be converted.

        A bare number that rounding would change stays as typed; so does what cannot be read.
        """
        if self.si is None:
            return self.typed
        own = self.own_unit(quantity)
        wanted = QUANTITIES[quantity].unit(unit) if unit else own
        if wanted.base != own.base:
            wanted = own
        number = from_si(self.si, quantity, wanted.symbol)
        rounded = round(number, own.decimals)
        if wanted == own and not has_unit(self.typed) and not _close(rounded, number):
            return f"{self.typed} {own.symbol}".rstrip()
        return show(self.si, quantity, wanted.symbol, with_unit=True)

    def same(self, other: Reading, quantity: str) -> bool:
        """Whether both say the same, however they were typed."""
        if self.si is None or other.si is None:
            return self.typed == other.typed
        return self.base(quantity) == other.base(quantity) and _close(self.si, other.si)

    def own_unit(self, quantity: str) -> Unit:
        """The unit it was read in; one of another quantity counts as the first."""
        kind = QUANTITIES[quantity]
        try:
            return kind.unit(self.unit) if self.unit else kind.units[0]
        except BadNumber:
            return kind.units[0]

    def number(self, quantity: str, unit: str = "") -> float | None:
        """The value in `unit`, or None when the text cannot be read."""
        return None if self.si is None else from_si(self.si, quantity, unit)

    def why_unread(self, quantity: str) -> str:
        """Why nobody can tell what the text means, as an error says it; empty where it is read."""
        if self.si is not None:
            return ""
        try:
            read(self.typed, quantity, self.unit)
        except BadNumber as error:
            return str(error)
        return ""


def has_unit(typed: str) -> bool:
    """Whether the text spells a unit out."""
    return any(character.isalpha() or character in "\"'°′″%" for character in typed)


def _close(a: float, b: float) -> bool:
    return abs(a - b) <= 1e-9 * max(abs(a), abs(b), 1e-6)


def in_words(value: Reading | str | None, quantity: str | None, unit: str = "") -> str:
    """Any value of a sheet with its unit, see `Reading.in_words`; unknown is an en dash."""
    if isinstance(value, Reading):
        return value.in_words(quantity, unit) if quantity else value.typed
    return value or "–"


def same(was: Reading | str | None, now: Reading | str | None, quantity: str | None) -> bool:
    """Whether two values of a field say the same."""
    if isinstance(was, Reading) and isinstance(now, Reading) and quantity:
        return was.same(now, quantity)
    return was == now
