"""What is asked of the runs on record: words, and conditions on what their pages show.

`rebound > 8`, `hot fl between 1.8 and 1.95 bar`, `driver = Mara`, `date > 2026-05`, `"steps out"`:
a field goes by its label or its name, a corner before or behind it, several conditions side by
side, words beside them. Nothing is read from the logbook here.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from trackside.errors import BadInput, BadNumber
from trackside.records.fields import (
    ADJUSTER_WORDS,
    CORNER_FIELDS,
    CORNER_NAMES,
    CORNERS,
    SESSION_FIELDS,
    Field,
)
from trackside.units import QUANTITIES, from_si, one_line, read

SIGNS: Final = ("<=", ">=", "<", ">", "=")
OF_THE_LINE: Final = ("venue", "date", "event", "car", "note", "reason")
"""What may be asked of beside the fields of the run sheet: words."""
_ALIASES: Final = {
    "pressure": ("cold_pressure", "hot_pressure"),
    "tyre pressure": ("cold_pressure", "hot_pressure"),
    "tread": ("tread_inner", "tread_middle", "tread_outer"),
    "preload": ("bump_preload", "rebound_preload"),
    "serial": ("damper",),
    "bump": ("bump_bleed", "both_bleed"),
    "rebound": ("rebound_bleed", "both_bleed"),
    "tyres": ("tyre_set", "rear_set"),
    "lap": ("best_lap",),
}
_AXLES: Final = {
    **{corner.casefold(): (corner,) for corner in CORNERS},
    **{words: (corner,) for corner, words in CORNER_NAMES.items()},
    "front": ("FL", "FR"),
    "rear": ("RL", "RR"),
    "left": ("FL", "RL"),
    "right": ("FR", "RR"),
}
_TOKEN: Final = re.compile(r'"[^"]*"?|“[^”]*”?|<=|>=|[<>=≤≥]|[^\s<>=≤≥"“”]+')
_DAY: Final = re.compile(r"\d{4}(?:-\d{2}(?:-\d{2})?)?")
_LONGEST_NAME: Final = 5
"""Words of a name with its corner."""
_LONGEST_VALUE: Final = 3
"""Words of a number with its unit: `1 000 US gal` is written without the blank."""


_UNITS: Final = {unit.symbol for quantity in QUANTITIES.values() for unit in quantity.units} - {
    "",
    "in",
    "m",
    "s",
}
"""Every unit that is not a word too: behind a number it is meant as one."""


@dataclass(frozen=True)
class Condition:
    """What is asked of one value. `fields` answer to the name, at these `corners` (empty: of the
    whole car). A number is compared with `low` and `high`, both in `unit`: None is an open end, an
    end counts as within unless the sign is `<` or `>`. A word, folded, is the start of any word.
    `days` are compared with as many figures of a date as they have."""

    said: str
    fields: tuple[str, ...]
    corners: tuple[str, ...]
    sign: str
    quantity: str | None = None
    unit: str = ""
    low: float | None = None
    high: float | None = None
    word: str = ""
    days: tuple[str, ...] = ()

    def has_day(self, date: str) -> bool:
        """Whether that date (YYYY-MM-DD) is among those that are asked for."""
        first, last = self.days[0], self.days[-1]
        if not date:
            return False
        from_first, to_last = date[: len(first)] >= first, date[: len(last)] <= last
        return {
            "<": not from_first, "<=": to_last, ">": not to_last, ">=": from_first,
        }.get(self.sign, from_first and to_last)  # fmt: skip


@dataclass(frozen=True)
class Query:
    """Words, folded, each to be at the start of a word somewhere; and conditions."""

    words: tuple[str, ...] = ()
    conditions: tuple[Condition, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing is asked."""
        return not self.words and not self.conditions


class HalfTyped(BadInput):
    """A condition that is not typed to its end yet."""


def folded(text: str) -> str:
    """The words of a text as they are compared: small letters without accents, one blank before
    each, without the signs between them."""
    spread = unicodedata.normalize("NFKD", text)
    plain = "".join(c for c in spread if not unicodedata.combining(c)).casefold()
    return " " + " ".join(_BETWEEN_WORDS.sub(" ", plain).split())


_BETWEEN_WORDS: Final = re.compile(r"[\s!-/:-@\[-`{-~–—…“”‘’·°]+")


def read_query(text: str, unit: Callable[[str], str], items: Iterable[str] = ()) -> Query:
    """What `text` asks; a bare number is read in the `unit` of its quantity. `items` are the names
    of what belongs to whole cars. BadInput says what was expected where a condition is none."""
    tokens = _TOKEN.findall(one_line(text).replace("≤", "<=").replace("≥", ">="))
    names = _names(items)
    words: list[str] = []
    conditions: list[Condition] = []
    pending: list[str] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        if token in SIGNS or (token.casefold() == "between" and _named(pending, names)):
            fields, corners, spent = _name_before(pending, token, names)
            words += pending[: len(pending) - spent]
            name = " ".join(pending[len(pending) - spent :])
            condition, at = _condition(name, fields, corners, token, tokens, at + 1, unit)
            conditions.append(condition)
            pending = []
        else:
            pending.append(token)
            at += 1
    words += pending
    plain = [folded(word) for word in words if not (conditions and word.casefold() == "and")]
    return Query(tuple(word for word in plain if word.strip()), tuple(conditions))


def _names(items: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Every name that a condition may begin with, folded, to its fields."""
    names: dict[str, tuple[str, ...]] = {}
    for fields in (CORNER_FIELDS, SESSION_FIELDS):
        for field in fields.values():
            for name in (field.label, field.name.replace("_", " "), ADJUSTER_WORDS.get(field.name)):
                if name:
                    names.setdefault(folded(name).strip(), (field.name,))
    names |= _ALIASES | {name: (name,) for name in OF_THE_LINE}
    names.setdefault("session", ("kind",))
    for item in items:
        names.setdefault(folded(item).strip(), (f"items.{item}",))
    return names


def _named(
    words: Sequence[str], names: Mapping[str, tuple[str, ...]]
) -> tuple[tuple[str, ...], tuple[str, ...], int] | None:
    """The fields and corners that the last of these words name, and how many words that takes."""
    for many in range(min(len(words), _LONGEST_NAME), 0, -1):
        said = folded(" ".join(words[-many:])).strip()
        if said in names:
            return names[said], (), many
        for corner, corners in _AXLES.items():
            for rest in (said.removeprefix(f"{corner} "), said.removesuffix(f" {corner}")):
                found = names.get(rest) if rest != said else None
                if found and all(field in CORNER_FIELDS for field in found):
                    return found, corners, many
    return None


def _name_before(
    words: Sequence[str], sign: str, names: Mapping[str, tuple[str, ...]]
) -> tuple[tuple[str, ...], tuple[str, ...], int]:
    found = _named(words, names)
    if found:
        return found
    if not words:
        raise BadInput(f"“{sign}” has no field before it", "write it like rebound > 8")
    last = words[-1]
    near = difflib.get_close_matches(folded(last).strip(), names, n=3, cutoff=0.6)
    if near:
        raise BadInput(f"“{last}” is no field", f"did you mean {', '.join(near)}?")
    raise BadInput(
        f"“{last}” is no field",
        "name it as the run sheet does: rebound, spring, hot, air, best lap, driver, date",
    )


def _condition(
    name: str,
    fields: tuple[str, ...],
    corners: tuple[str, ...],
    sign: str,
    tokens: Sequence[str],
    at: int,
    unit: Callable[[str], str],
) -> tuple[Condition, int]:
    first = CORNER_FIELDS.get(fields[0]) or SESSION_FIELDS.get(fields[0])
    quantity = first.quantity if first else None
    if first and first.name in CORNER_FIELDS and not corners:
        corners = CORNERS
    between = sign.casefold() == "between"
    example = _example(name, first, fields[0], between)
    if fields[0] == "date":
        return _of_date(name, sign, tokens, at, example)
    if quantity is None:
        if sign != "=":
            raise BadInput(f"{name} is words, so “{sign}” does not fit", f"write it like {example}")
        value, at = _text(tokens, at, example)
        said = f"{name} = {value}"
        return Condition(said, fields, corners, sign, word=folded(value)), at
    low, at = _number(tokens, at, quantity, unit(quantity), example)
    if not between:
        number, symbol, typed = low
        said = f"{name} {sign} {typed}"
        lowest = None if sign in ("<", "<=") else number
        highest = None if sign in (">", ">=") else number
        return Condition(said, fields, corners, sign, quantity, symbol, lowest, highest), at
    if at >= len(tokens) or tokens[at].casefold() != "and":
        raise HalfTyped(f"“{name} between {low[2]}” has one end", f"write it like {example}")
    high, at = _number(tokens, at + 1, quantity, unit(quantity), example)
    said, symbol = f"{name} between {low[2]} and {high[2]}", high[1]
    first_end = low[0]
    if not _is_bare(low[2]) and low[1] != symbol:
        first_end = from_si(read(low[2], quantity).si, quantity, symbol)
    least, most = sorted((first_end, high[0]))
    return Condition(said, fields, corners, "between", quantity, symbol, least, most), at


def _is_bare(typed: str) -> bool:
    return not any(c.isalpha() or c in "°%\"'′″" for c in typed)


def _example(name: str, field: Field | None, called: str, between: bool) -> str:
    if called == "date":
        value = "2026-05-01 and 2026-06-30" if between else "2026-05-01"
    elif field is None or field.quantity is None:
        return f"{name} = {(field.choices if field and field.choices else ('words',))[0]}"
    else:
        symbol = QUANTITIES[field.quantity].units[0].symbol
        few = {"lap time": ("1:32.5", "1:35"), "clicks": ("4", "8")}
        low, high = few.get(field.quantity, ("1.5", "2"))
        value = f"{low} and {high} {symbol}" if between else f"{high} {symbol}"
        value = value.removesuffix(" s") if field.quantity == "lap time" else value
    return f"{name} {'between' if between else '>'} {value}".strip()


def _text(tokens: Sequence[str], at: int, example: str) -> tuple[str, int]:
    value = tokens[at].strip('"“”').strip() if at < len(tokens) else ""
    if not folded(value).strip():
        raise HalfTyped("a condition ends without its words", f"write it like {example}")
    return value, at + 1


def _number(
    tokens: Sequence[str], at: int, quantity: str, unit: str, example: str
) -> tuple[tuple[float, str, str], int]:
    """The number that begins there, with as many words as its unit takes: its value, the unit
    it was read in, and as typed; and where the next word is."""
    if at >= len(tokens):
        raise HalfTyped("a condition ends without its number", f"write it like {example}")
    first: BadNumber | None = None
    for many in range(min(_LONGEST_VALUE, len(tokens) - at), 0, -1):
        typed = " ".join(tokens[at : at + many])
        try:
            found = read(typed, quantity, unit)
        except BadNumber as error:
            first = error
            continue
        after = tokens[at + many] if at + many < len(tokens) else ""
        if many == 1 and _is_bare(typed) and after in _UNITS:
            raise BadInput(
                f"“{after}” is not a unit of {QUANTITIES[quantity].name}",
                f"write it like {example}",
            )
        number = from_si(found.si, quantity, found.unit.symbol)
        return (number, found.unit.symbol, typed), at + many
    assert first is not None
    if tokens[at] in ("-", "−", "+"):
        raise HalfTyped("a condition ends without its number", f"write it like {example}")
    raise BadInput(first.cause, f"write it like {example}; {first.remedy}")


def _of_date(
    name: str, sign: str, tokens: Sequence[str], at: int, example: str
) -> tuple[Condition, int]:
    """Days go by as many of their figures as were typed: 2026, 2026-05, 2026-05-09."""
    days: list[str] = []
    for n in range(2 if sign.casefold() == "between" else 1):
        if n:
            if at >= len(tokens) or tokens[at].casefold() != "and":
                raise HalfTyped(
                    f"“{name} between {days[0]}” has one end", f"write it like {example}"
                )
            at += 1
        typed = tokens[at] if at < len(tokens) else ""
        if not _DAY.fullmatch(typed):
            kind = HalfTyped if re.fullmatch(r"[\d-]{0,9}", typed) else BadInput
            raise kind(f"“{typed}” is not a date", f"write it like {example}")
        days.append(typed)
        at += 1
    said = f"{name} {sign} {' and '.join(days)}"
    return Condition(said, ("date",), (), sign.casefold(), days=tuple(sorted(days))), at
