"""A run that was written down once, read from its text: for a rebuild, which reads all of them.

Most of a run's text are readings of one shape. To make a dictionary of each, take it apart for the
tables and spell it again costs more than all else in a rebuild. Here the readings are cut out of
the text, and only what is left is read as JSON. That is done where the text is proved to be
spelled as this program spells (see `canonical`): what was cut out by its pattern and its numbers,
the rest because spelling it again gives the same. Of any other text nothing is said.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import chain, repeat
from typing import Any, Final, NamedTuple

from trackside.errors import BadRecord
from trackside.logbook import rows
from trackside.logbook.canonical import canonical
from trackside.logbook.fold import State, is_reading
from trackside.logbook.revisions import Body, Revision, is_suspect

Written = tuple[str, str]
"""The name of a revision, and its envelope."""

_UNKNOWN: Final = "an unknown value is left out of what stands"
MOST_NUMBERS: Final = 20_000
"""How many numbers a rebuild remembers."""
_PUT: Final = '"kind":"session","op":"put","parents":[]'
_BODY, _DEVICE = '"body":', ',"device":"'
_HOLE: Final = "\x7f"
"""What stands where a reading was cut out: no text that is read here has it (see `is_suspect`)."""
_CORNER: Final = "\x80"
"""What stands where a section of nothing but holes was cut out; it is in no such text either."""
_SECTION: Final = re.compile(f'({{(?:"[^"]*":"{_HOLE}",?)+}})')
MOST_SECTIONS: Final = 1000
"""How many of them are remembered: sheets of one car are filled in alike."""
_READING: Final = re.compile(r'\{"si":([^,"]+),"typed":"([^"]*)","unit":"([^"]*)"\}')


class PlainSheet(NamedTuple):
    """A run that one revision put down.

    In `state` and `latest`, a corner holds the names of its readings, not their values. `body` is
    what stands, as it is kept; `readings` are the values of its rows, sorted, row after row.
    """

    latest: Revision
    state: State
    body: str
    readings: list[Any]


class Numbers(dict[str, float | None]):
    """What the numbers of readings are by their text, gathered as they come: most come often.

    ValueError for a number that is not spelled as this program spells it.
    """

    def __missing__(self, text: str) -> float | None:
        si = None
        if text != "null":
            si = float(text)
            if text == "-0" or repr(si) not in (text, f"{text}.0"):
                raise ValueError(text)
            si = rows.within(si)
        if len(self) >= MOST_NUMBERS:
            self.clear()
        self[text] = si
        return si


@lru_cache(MOST_SECTIONS)
def _names(section: str) -> dict[str, str]:
    """The names in such a section, each with a hole; ValueError where it is not spelled as this
    program spells it, or may be a reading."""
    names: dict[str, str] = json.loads(section)
    if canonical(names) != section or is_reading(names):
        raise ValueError(section)
    return names


def plain_sheet(number: int, written: Written, numbers: Numbers) -> PlainSheet | None:
    """The run in that revision, for the row `number`; None where it is to be read at length."""
    rev, envelope = written
    if _PUT not in envelope or "\\" in envelope or is_suspect(envelope):
        return None
    parts = _READING.split(envelope)
    pieces = _SECTION.split(f'"{_HOLE}"'.join(parts[::4]))
    rest = f'"{_CORNER}"'.join(pieces[::2])
    try:
        sections = map(_names, pieces[1::2])
        cut = _Cut(iter(parts[2::4]), iter(parts[3::4]), map(numbers.__getitem__, parts[1::4]))
        found = json.loads(rest)
        if canonical(found) != rest:
            return None
        latest = Revision.of(rev, found)
        readings = _rows(number, latest.body, cut, sections)
        if any(True for _ in chain(cut.typed, sections)):  # one that is deeper, or not in the body
            return None
    except (BadRecord, KeyError, TypeError, ValueError):
        return None
    if (latest.kind, latest.op, latest.parents) != ("session", "put", ()):
        return None
    begun, ended = envelope.index(_BODY) + len(_BODY), envelope.rindex(_DEVICE)
    return PlainSheet(latest, State(latest.body, (rev,), {}), envelope[begun:ended], readings)


class _Cut(NamedTuple):
    """What was cut out of a text, in its order."""

    typed: Iterator[str]
    units: Iterator[str]
    si: Iterator[float | None]


def _rows(number: int, body: Body, cut: _Cut, sections: Iterator[dict[str, str]]) -> list[Any]:
    """The values of `rows.reading_rows`, sorted, of a body with holes, which are filled but at
    the corners; ValueError where a value is unknown."""
    of_car: list[tuple | None] = []
    at_corners: list[Any] = []
    for head, value in body.items():
        if value == _HOLE:
            typed, unit, si = next(cut.typed), next(cut.units), _known(next(cut.si))
            of_car.append((number, "", head, typed, unit, si))
            body[head] = {"typed": typed, "unit": unit, "si": si}
        elif value == _CORNER:
            corner = rows.place_of(head)[0]
            if not corner:
                raise ValueError("a line of the pit board may show it")
            body[head] = names = next(sections)
            at_corners += chain.from_iterable(zip(repeat(number), repeat(corner), names, *cut))
        elif type(value) is not dict or is_reading(value):
            if type(value) is dict and None in value.values():
                raise ValueError(_UNKNOWN)
            of_car.append(rows.reading_row(number, "", head, _known(value)))
        else:
            found = _mixed(number, head, value, cut)
            if rows.place_of(head)[0]:
                at_corners += chain.from_iterable(found)
            else:
                of_car += found
    return [*chain.from_iterable(sorted(filter(None, of_car))), *at_corners]


def _mixed(number: int, head: str, section: Body, cut: _Cut) -> list[tuple]:
    """The rows of one section, not all of whose values are readings."""
    corner, before = rows.place_of(head)
    names = [before + name for name, value in section.items() if value == _HOLE]
    if names and not corner:
        raise ValueError("a line of the pit board may show it")
    found = list(zip(repeat(number), repeat(corner), names, *cut))
    for name, value in section.items():
        if value != _HOLE and (
            row := rows.reading_row(number, corner, before + name, _known(value))
        ):
            found.append(row)
    return sorted(found)


def _known(value: Any) -> Any:
    if value is None:
        raise ValueError(_UNKNOWN)
    return value
