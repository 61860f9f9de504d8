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
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import chain
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
_SECTION: Final = re.compile(f'({{(?=[^{{}}]*"{_HOLE}")(?:"[^"]*":"[^"]*",?)+}})')
MOST_SECTIONS: Final = 1000
"""How many of them are remembered: sheets of one car are filled in alike."""
_READING: Final = re.compile(r'\{"si":([^,"]+),"typed":"([^"]*)","unit":"([^"]*)"\}')
MOST_SHAPES: Final = 200
"""How many ways of filling in a sheet are remembered."""
_UNQUOTED: Final = re.compile("[^'\0]*")

MOST_PLACES: Final = 1000
"""Three values each, of the 32,766 that SQLite takes in a statement (the default since 3.32;
sqlite.org/limits.html, from memory)."""

Place = tuple[str, str, bool]
"""Corner and field of a value, and whether it is words."""
Row = tuple[int, str, str, str, str | None, float | None]


class PlainSheet(NamedTuple):
    """A run that one revision put down.

    In `state` and `latest`, a corner holds its words and the names of its readings, not their
    values. `body` is what stands, as it is kept. `places` say what its rows are of, readings first;
    `values` are the row's number, then what was typed in each of them, their units, their numbers,
    and the words: all that differs between sheets that are filled in alike.
    """

    latest: Revision
    state: State
    body: str
    places: tuple[Place, ...]
    values: list[Any]

    def rows(self) -> list[Row]:
        """As `rows.reading_rows` gives them, sorted."""
        number, *values = self.values
        of = self.places
        read = sum(not words for *_, words in of)
        typed, units, numbers = (values[at * read : (at + 1) * read] for at in range(3))
        words = values[3 * read :]
        readings = zip(typed, units, numbers, strict=True)
        values_of = chain(readings, ((text, None, None) for text in words))
        return sorted(
            (number, corner, field, *value)
            for (corner, field, _), value in zip(of, values_of, strict=True)
        )


def statement_of(places: Sequence[Place]) -> str:
    """What writes the rows of sheets that are filled in so, their `values` bound to it, in the
    order of the table. "" where there are none, too many, or a name that cannot stand in it."""
    if not 0 < len(places) <= MOST_PLACES:
        return ""
    read = sum(not words for *_, words in places)
    found = []
    for at, (corner, field, words) in enumerate(places, 2):
        if not _UNQUOTED.fullmatch(field):
            return ""
        value = f"?{at + 2 * read}, NULL, NULL"
        if not words:
            value = f"?{at}, ?{at + read}, ?{at + 2 * read}"
        found.append((corner, field, f"(?1, '{corner}', '{field}', {value})"))
    return "INSERT INTO reading VALUES " + ", ".join(row for *_, row in sorted(found))


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


class _Section(NamedTuple):
    """The names in a section, each with its words or a hole."""

    names: dict[str, str]
    read: tuple[str, ...]
    """Those with a hole, in their order."""
    said: tuple[str, ...]
    """Those whose words are a row."""
    words: tuple[str, ...]
    """Their words."""


@lru_cache(MOST_SECTIONS)
def _section(text: str) -> _Section:
    """That section; ValueError where it is not spelled as this program spells it, or may be a
    reading."""
    names: dict[str, str] = json.loads(text)
    if canonical(names) != text or is_reading(names):
        raise ValueError(text)
    read = tuple(name for name, value in names.items() if value == _HOLE)
    said = {
        name: value
        for name, value in names.items()
        if value != _HOLE and rows.reading_row(0, "", name, value)
    }
    return _Section(names, read, tuple(said), tuple(said.values()))


def plain_sheet(number: int, written: Written, numbers: Numbers) -> PlainSheet | None:
    """The run in that revision, for the row `number`; None where it is to be read at length."""
    rev, envelope = written
    if _PUT not in envelope or "\\" in envelope or is_suspect(envelope):
        return None
    parts = _READING.split(envelope)
    pieces = _SECTION.split(f'"{_HOLE}"'.join(parts[::4]))
    rest = f'"{_CORNER}"'.join(pieces[::2])
    try:
        sections = map(_section, pieces[1::2])
        found = json.loads(rest)
        if canonical(found) != rest:
            return None
        latest = Revision.of(rev, found)
        si = [numbers[text] for text in parts[1::4]]
        cut = _Cut(parts[2::4], parts[3::4], si)
        places, words = _filled(latest.body, cut, sections)
    except (BadRecord, KeyError, TypeError, ValueError):
        return None
    if (latest.kind, latest.op, latest.parents) != ("session", "put", ()):
        return None
    begun, ended = envelope.index(_BODY) + len(_BODY), envelope.rindex(_DEVICE)
    values = [number, *cut.typed, *cut.units, *cut.si, *words]
    state = State(latest.body, (rev,), {})
    return PlainSheet(latest, state, envelope[begun:ended], places, values)


class _Cut(NamedTuple):
    """What was cut out of a text, in its order."""

    typed: list[str]
    units: list[str]
    si: list[float | None]


@lru_cache(MOST_SHAPES)
def _places(
    read: tuple[tuple[str, tuple[str, ...]], ...], said: tuple[tuple[str, tuple[str, ...]], ...]
) -> tuple[Place, ...]:
    """One of each that is read, then of each that is said, at a corner or "" for the car."""
    return (
        *((corner, name, False) for corner, names in read for name in names),
        *((corner, name, True) for corner, names in said for name in names),
    )


def _filled(
    body: Body, cut: _Cut, sections: Iterator[_Section]
) -> tuple[tuple[Place, ...], list[str]]:
    """The places of `rows.reading_rows` of a body with holes, and the words of those that are
    words; the holes are filled but at the corners. ValueError where a value is unknown, or of a
    shape that is to be read at length."""
    read: list[tuple[str, tuple[str, ...]]] = []
    said: list[tuple[str, tuple[str, ...]]] = []
    words: list[str] = []
    at = 0
    for head, value in body.items():
        if value == _HOLE:
            typed, unit, si = cut.typed[at], cut.units[at], cut.si[at]
            if si is None:
                raise ValueError(_UNKNOWN)
            read.append(("", (head,)))
            body[head] = {"typed": typed, "unit": unit, "si": si}
            at += 1
        elif value == _CORNER:
            if not rows.place_of(head)[0]:
                raise ValueError("a line of the pit board may show it")
            section = next(sections)
            body[head] = section.names
            read.append((head, section.read))
            at += len(section.read)
            if section.said:
                said.append((head, section.said))
                words += section.words
        elif type(value) is dict:
            corner, before = rows.place_of(head)
            for name, text in _words_of(value):
                if rows.reading_row(0, corner, before + name, text):
                    said.append((corner, (before + name,)))
                    words.append(text)
        elif value is None:
            raise ValueError(_UNKNOWN)
        elif rows.reading_row(0, "", head, value):
            said.append(("", (head,)))
            words.append(value)
    if at != len(cut.typed) or any(True for _ in sections):
        raise ValueError("one that is deeper, or not in the body")
    return _places(tuple(read), tuple(said)), words


def _words_of(section: Body) -> Iterable[tuple[str, str]]:
    """What a section of words alone says; ValueError for any other: it may hold a reading that is
    spelled otherwise."""
    if is_reading(section) or any(type(value) is not str for value in section.values()):
        raise ValueError("to be read at length")
    return section.items()
