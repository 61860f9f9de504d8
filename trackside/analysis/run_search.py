"""Runs found by words and by conditions on what is on record of them, with the values that fit.

The columns are read once, and looked through in memory at every letter typed. What is shown of a
run that was found is compared with the revisions then (`Logbook.run_value`, `Logbook.state`).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf, nan
from operator import itemgetter

from trackside.analysis.run_query import Condition, Query, folded
from trackside.logbook import Logbook
from trackside.logbook.rows import text as words_of
from trackside.logbook.run_columns import RunWords, Said, Value
from trackside.records.fields import CORNER_FIELDS, CORNERS, SESSION_FIELDS
from trackside.units import QUANTITIES, one_line

WORDS_AT_CORNERS = tuple(n for n, f in CORNER_FIELDS.items() if f.quantity is None)
WORDS_OF_THE_CAR = tuple(
    name
    for name, field in SESSION_FIELDS.items()
    if field.quantity is None and name not in RunWords._fields
)
_OF_LAPS = ("best_lap", "laps")
_NEAR = 1e-9
"""So near to an end, as a share of it, a value is there: a conversion of units leaves as much."""
_AROUND = 8
"""Letters of a text that are shown before the word that was found."""


@dataclass(frozen=True)
class Hit:
    """A value that fits. `path` is its cell on the run sheet, empty where it has none; `words` what
    it says, or `si`, `typed` and `unit` as of a reading; `kind` says what words are of: a field of
    the line, `note`, `reason`, `kept`, `job`."""

    path: str
    kind: str
    words: str = ""
    typed: str = ""
    unit: str | None = None
    si: float | None = None


@dataclass(frozen=True)
class FoundRun:
    """A run that fits, with its words, and the first value that fits each thing asked for."""

    run: RunWords
    hits: tuple[Hit, ...]


@dataclass(frozen=True)
class _Column:
    """The values of one field, and at which place in the order of the runs each belongs; numbers
    in the base unit, NaN where there is none. In the order of the file's numbers."""

    values: Sequence[Value]
    places: list[int]
    si: list[float]

    @classmethod
    def of(cls, values: Sequence[Value], places: dict[int, int]) -> _Column:
        here = [value for value in values if value[0] in places]
        si = [nan if value[5] is None else value[5] for value in here]
        return cls(here, [places[value[0]] for value in here], si)

    def at(self, place: int, number_in_file: int) -> _Column:
        """The values of the run at that place alone."""
        first = bisect_left(self.values, number_in_file, key=itemgetter(0))
        last = bisect_right(self.values, number_in_file, lo=first, key=itemgetter(0))
        return _Column(self.values[first:last], self.places[first:last], self.si[first:last])


class Runs:
    """Every run as a search looks at it."""

    def __init__(self, logbook: Logbook) -> None:
        """Read the lines and the words; a column of numbers when it is first asked for."""
        self._logbook = logbook
        self.runs, self._said, self._items = logbook.run_table()
        self._places = {run.number_in_file: n for n, run in enumerate(self.runs)}
        self._by_entity = {run.entity: n for n, run in enumerate(self.runs)}
        self._events = {
            entity: words_of(body.get("title")) for entity, body in logbook.all("event")
        }
        self._columns: dict[str, _Column] = {}
        self._folded: dict[str, str] = {}
        self._said_of: dict[str, list[Said]] = {}
        for one in self._said:
            self._said_of.setdefault(one.session, []).append(one)
        self._told = self._all_told()

    @cached_property
    def items(self) -> tuple[str, ...]:
        """The names of what belongs to whole cars."""
        names = (value.field.partition(".")[2] for value in self._items)
        return tuple(dict.fromkeys(names))

    def _all_told(self) -> list[str]:
        """The words of each run, folded: of its line, its sheet, its notes."""
        told = [[*_line_words(run), self._events.get(run.event, "")] for run in self.runs]
        for name in (*WORDS_AT_CORNERS, *WORDS_OF_THE_CAR):
            column = self._column(name)
            for place, value in zip(column.places, column.values, strict=True):
                told[place].append(value.typed)
        for value in self._items:
            if value.number_in_file in self._places:
                words = [value.field.partition(".")[2], value.typed]
                told[self._places[value.number_in_file]] += words
        for one in self._said:
            if one.session in self._by_entity:
                told[self._by_entity[one.session]].append(one.text)
        return ["".join(self._fold(text) for text in texts if text) for texts in told]

    def _fold(self, text: str) -> str:
        """The same words are on most runs: each text is folded once."""
        found = self._folded.get(text)
        if found is None:
            found = self._folded[text] = folded(text)
        return found

    def _column(self, name: str) -> _Column:
        if name not in self._columns:
            if name.startswith("items."):
                values = [value for value in self._items if value.field == name]
            else:
                values = self._logbook.run_column(name, name in CORNER_FIELDS)
            if name in _OF_LAPS:
                typed = {value.number_in_file for value in values}
                more = self._logbook.run_laps()
                values += [v for v in more if v.field == name and v.number_in_file not in typed]
                values.sort(key=itemgetter(0))
            self._columns[name] = _Column.of(values, self._places)
        return self._columns[name]

    # ── looking ─────────────────────────────────────────────────────────────────────────────

    def places(self, query: Query) -> list[int]:
        """The places of the runs that everything fits, newest first."""
        fit = set(range(len(self.runs)))
        for condition in query.conditions:
            fit &= self._fitting(condition)
        places, told = sorted(fit), self._told
        for word in query.words:
            places = [place for place in places if word in told[place]]
        return places

    def _fitting(self, condition: Condition) -> set[int]:
        if condition.days:
            known: dict[str, bool] = {}
            dates = enumerate(run.date[:10] for run in self.runs)
            return {n for n, date in dates if _once(condition.has_day, date, known)}
        found: set[int] = set()
        for name in condition.fields:
            if condition.quantity is None and (words := self._line_column(name)):
                fold, word = self._fold, condition.word
                found |= {n for n, text in enumerate(words) if word in fold(text)}
            elif name in ("note", "reason"):
                found |= self._said_fitting(name, condition.word)
            else:
                column = self._column(name)
                found |= {column.places[n] for n in _fitting(column, condition)}
        return found

    def _said_fitting(self, name: str, word: str) -> set[int]:
        kind = {"reason": "change"}.get(name, name)
        found = (one for one in self._said if one.kind == kind and word in self._fold(one.text))
        return {self._by_entity[one.session] for one in found if one.session in self._by_entity}

    def _line_column(self, name: str) -> list[str]:
        if name == "event":
            return [self._events.get(run.event, "") for run in self.runs]
        attribute = {"car": "car_name"}.get(name, name)
        if attribute not in _OF_A_LINE:
            return []
        return [getattr(run, attribute) for run in self.runs]

    # ── what is shown of one ────────────────────────────────────────────────────────────────

    def found(self, place: int, query: Query) -> FoundRun:
        """The run at that place with the values that fit, each as the revisions have it."""
        run = self.runs[place]
        hits = [self._hit(place, run, condition) for condition in query.conditions]
        hits += [self._word_hit(run, word) for word in query.words]
        known = [hit for hit in hits if hit is not None]
        return FoundRun(run, tuple(dict.fromkeys(known)))

    def _hit(self, place: int, run: RunWords, condition: Condition) -> Hit | None:
        if condition.days:
            return Hit("start", "date", run.date)
        for name in condition.fields:
            if name == "event":
                return Hit("event", "event", self._events.get(run.event, ""))
            attribute = {"car": "car_name"}.get(name, name)
            if condition.quantity is None and attribute in _OF_A_LINE:
                return Hit(_PATHS.get(name, name), name, getattr(run, attribute))
            if name in ("note", "reason"):
                return self._said_hit(run, condition.word, (name,))
            mine = self._column(name).at(place, run.number_in_file)
            for n in _fitting(mine, condition):
                if hit := self._proved(run, mine.values[n]):
                    return hit
        return None

    def _proved(self, run: RunWords, value: Value) -> Hit | None:
        name = value.field
        path = f"{value.corner}.{name}" if value.corner else name
        if name in _OF_LAPS and not value.typed:
            return Hit("lap_times", name, "", "", value.unit, value.si)
        true = self._logbook.run_value(run.entity, value)
        if true is None:
            return None
        typed, unit, si = true
        if unit is None:
            return Hit(path, name.partition(".")[2] or name, typed)
        return Hit(path, name, "", typed, unit, si)

    def _word_hit(self, run: RunWords, word: str) -> Hit | None:
        for name in _OF_A_LINE:
            text = getattr(run, name)
            if text and word in folded(text):
                shown = {"car_name": "car", "event_date": "date"}.get(name, name)
                return Hit(_PATHS.get(shown, shown), shown, text)
        if word in folded(title := self._events.get(run.event, "")):
            return Hit("event", "event", title)
        for name in (*WORDS_AT_CORNERS, *WORDS_OF_THE_CAR):
            for value in self._values_of(run, name):
                if word in folded(value.typed) and (hit := self._proved(run, value)):
                    return hit
        first = bisect_left(self._items, run.number_in_file, key=itemgetter(0))
        last = bisect_right(self._items, run.number_in_file, lo=first, key=itemgetter(0))
        for value in self._items[first:last]:
            if word in folded(f"{value.field.partition('.')[2]} {value.typed}"):
                return self._proved(run, value)
        return self._said_hit(run, word, ("note", "reason", "kept", "job", "session"))

    def _values_of(self, run: RunWords, name: str) -> Sequence[Value]:
        return self._column(name).at(self._places[run.number_in_file], run.number_in_file).values

    def _said_hit(self, run: RunWords, word: str, names: Sequence[str]) -> Hit | None:
        kinds = [{"reason": "change"}.get(name, name) for name in names]
        for one in self._said_of.get(run.entity, ()):
            if one.kind in kinds and word in self._fold(one.text):
                return Hit("", {"change": "reason", "session": "notes"}.get(one.kind, one.kind),
                           _excerpt(self._quoted(one, word), word))  # fmt: skip
        return None

    def _quoted(self, one: Said, word: str) -> str:
        """Of a note its own words, where they have it; else all that is looked through."""
        words = (self._logbook.state(one.entity) or {}).get("words") if one.kind == "note" else None
        return words if isinstance(words, str) and word in self._fold(words) else one.text


_OF_A_LINE = (
    *("venue", "event_date", "start", "kind", "number", "run", "driver", "car_name", "surface"),
    *("status", "result", "short"),
)
"""Columns of the line that are words; `date` is asked for by its own."""
_PATHS = {
    "venue": "event", "event": "event", "car": "car", "date": "start", "short": "", "status":
    "status",
}  # fmt: skip
"""The cell of the run sheet on which it is, where that has another name."""


def _line_words(run: RunWords) -> tuple[str, ...]:
    words = tuple(getattr(run, name) for name in _OF_A_LINE if name != "run")
    return (*words, f"run {run.run}" if run.run else "")


def _once(fits: Callable[[str], bool], text: str, known: dict[str, bool]) -> bool:
    """Whether it fits, worked out once for each text."""
    if text not in known:
        known[text] = fits(text)
    return known[text]


def _fitting(column: _Column, condition: Condition) -> list[int]:
    """Which values of the column fit, by their number."""
    values = column.values
    if condition.quantity is None:
        known: dict[str, bool] = {}
        found = [
            n
            for n, value in enumerate(values)
            if _once(lambda text: condition.word in folded(text), value[3], known)
        ]
    else:
        low, high, bases = _ends(condition)
        found = [n for n, si in enumerate(column.si) if low <= si <= high]
        if bases:
            found = [n for n in found if values[n][4] in bases]
    if condition.corners and set(condition.corners) != set(CORNERS):
        found = [n for n in found if values[n][1] in condition.corners]
    return found


def _ends(condition: Condition) -> tuple[float, float, frozenset[str]]:
    """Between which numbers of the base unit a value fits, both within; and the units that a value
    may have, where its quantity is one of two kinds: toe is a length or an angle, fuel a volume or
    a mass. An equal number is one that is shown as that."""
    kind = QUANTITIES[condition.quantity or "plain"]
    asked = kind.unit(condition.unit) if condition.unit else kind.units[0]
    exact = condition.sign == "="
    ends = []
    for end, outward, is_open in (
        (condition.low, -1, condition.sign == ">"), (condition.high, 1, condition.sign == "<"),
    ):  # fmt: skip
        if end is None:
            ends.append(outward * inf)
            continue
        near = 0.5 * 10.0**-asked.decimals if exact else _NEAR * max(1.0, abs(end))
        number = end + outward * (-near if is_open else near)
        ends.append(number * asked.factor + asked.offset)
    own = frozenset(unit.symbol for unit in kind.units if unit.base == asked.base)
    return ends[0], ends[1], frozenset() if len(own) == len(kind.units) else own


def _excerpt(text: str, word: str) -> str:
    """The words around the one that was found."""
    text = one_line(text)
    before, found, _ = text.casefold().partition(word.split()[0])
    start = before[:-_AROUND].rfind(" ") + 1 if found else 0
    return ("…" if start else "") + text[start : start + 120]
