"""Finding what was run before: the outing before this one, and set-ups worth bringing back.

Works on the logbook's plain lines and bodies, so that a search needs neither models nor arrays.
"""

from __future__ import annotations

import operator
import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Any

from trackside.errors import BadInput, UnknownRecord
from trackside.logbook.rows import si_of
from trackside.logbook.rows import text as words_of
from trackside.units import QUANTITIES, from_si, one_line, read

if TYPE_CHECKING:
    from trackside.logbook import Logbook, SessionLine
    from trackside.records import Session

COLD_BELOW, HOT_ABOVE = 15.0, 28.0
"""Air in °C that a crew calls cold, or hot (our own, no source)."""


def outing_before(logbook: Logbook, session: str) -> str | None:
    """The newest earlier session of the same car and driver that ran; None when there is none.

    `session` itself may still be planned; one that is only planned is nobody's outing. With no
    driver entered, the car's outing before; without a car, an outing that names none either.
    """
    line = logbook.session_line(session)
    earlier = logbook.each_session(car=line.car, driver=line.driver or None, before=session)
    return next((other.entity for other in earlier if other.ran), None)


def last_two(logbook: Logbook, *, driver: str = "", car: str = "") -> tuple[str, str]:
    """The sessions that `changes` compares unless others are named: (from, to).

    `to` is the newest session that ran and has an outing before it by the same driver in the
    same car; only where nothing that ran has one, the newest planned session that has: a crew that
    asks what changed means what was felt, not what may still be altered.
    """

    def lines() -> Iterator[SessionLine]:
        return logbook.each_session(driver=driver or None, car=car or None)

    for line in chain((n for n in lines() if n.ran), (n for n in lines() if not n.ran)):
        before = outing_before(logbook, line.entity)
        if before is not None:
            return before, line.entity
    raise UnknownRecord(
        "no driver has two outings in the same car yet", "name the two sessions to compare"
    )


def ordered_sessions(logbook: Logbook, car: str) -> list[tuple[str, Session]]:
    """Every session of a car (its entity) with its record, oldest first."""
    return logbook.session_records(reversed(logbook.session_entities(car)))


def car_named(logbook: Logbook, name: str | None = None) -> tuple[str, str]:
    """A car's entity and name, by name or number; without one, the newest session's car."""
    if name is None:
        for line in logbook.each_session():
            if line.car:
                return line.car, line.car_name
        raise UnknownRecord("no session says which car ran", "write one down first")
    wanted, known = _fold(one_line(name)), []
    for entity, body in logbook.once("car"):
        own, number = words_of(body.get("name")), words_of(body.get("number"))
        if wanted in (_fold(own), _fold(number), entity):
            return entity, own
        known.append(own)
    names = ", ".join(known)
    raise UnknownRecord(f"there is no car “{name}”", f"there are: {names}" if known else "")


@dataclass(frozen=True)
class Recalled:
    """A kept set-up, a driver's note or an engineer's reason that a search brought back.

    `air` and `track` in °C, None where unknown; `matched` is what each word hit.
    """

    entity: str
    kind: str
    session: str
    title: str
    why: str
    result: str
    venue: str
    date: str
    driver: str
    car: str
    surface: str
    air: float | None
    track: float | None
    matched: tuple[Match, ...] = ()


@dataclass(frozen=True)
class Match:
    """What a word of a search hit: the `words` of the field `label`, or a number (base unit of
    `quantity`, read in the unit `asked`) that is as the word says; `than` is what it was compared
    with, as typed: `> 20`."""

    label: str
    words: str = ""
    value: float | None = None
    quantity: str = ""
    asked: str = ""
    than: str = ""


UnitOf = Callable[[str], str]
"""The unit in which a bare number of that quantity is read."""


def first_unit(quantity: str) -> str:
    """The quantity's own first unit."""
    return QUANTITIES[quantity].units[0].symbol


def find(
    logbook: Logbook,
    text: str,
    *,
    venue: str = "",
    shelf_only: bool = True,
    limit: int = 50,
    unit: UnitOf = first_unit,
    kept: KeptSetUps | None = None,
) -> list[Recalled]:
    """Kept set-ups that every word of `text` fits, the best first; then notes and reasons.

    A word fits at the start of any word of title, why, result, venue, event, driver or car, or
    as a condition: dry, damp, wet, cold, hot, winner, `air<15`, `track>=30`, `humidity>70`.
    Set-ups kept at `venue` (where the crew is today) stand first. No words: the whole shelf.
    A bare number is read in the `unit` of its quantity; BadInput for a comparison without one.
    `kept` spares reading the kept set-ups again.
    """
    wanted = [_test(word, unit) for word in _words(text)]
    scored: list[tuple[bool, int, str, Recalled]] = []
    for subject in (kept or KeptSetUps.read(logbook)).subjects:
        hits = _hits(subject, wanted)
        if hits is not None:
            found = subject.recalled(hits)
            here = bool(venue) and _fold(found.venue) == _fold(venue)
            scored.append((here, sum(hit.weight for hit in hits), found.date, found))
    scored.sort(key=lambda item: item[:3], reverse=True)
    shelf = [found for *_, found in scored]
    if shelf_only or not wanted:
        return shelf[:limit]
    return [*shelf, *_said(logbook, text, unit)][:limit]


@dataclass(frozen=True)
class KeptSetUps:
    """Every kept set-up as a search looks at it: read once, searched at every letter typed."""

    subjects: tuple[_Subject, ...]

    @classmethod
    def read(cls, logbook: Logbook) -> KeptSetUps:
        """The shelf as it stands."""
        kept = (_subject(logbook, entity, "kept", body) for entity, body in logbook.all("kept"))
        return cls(tuple(subject for subject in kept if subject))


@dataclass(frozen=True)
class _Hit:
    """What a word fitted, and how much that counts for the order."""

    match: Match
    weight: int


@dataclass(frozen=True)
class _Subject:
    """One thing that a search looks at: its words by field, and its session's conditions."""

    recalled_as: Recalled
    fields: tuple[tuple[str, str, int], ...]
    session: dict[str, Any]

    def recalled(self, hits: list[_Hit]) -> Recalled:
        base = vars(self.recalled_as) | {"matched": tuple(hit.match for hit in hits)}
        return Recalled(**base)

    def si(self, name: str, quantity: str, base: str) -> float | None:
        """The number at `name`; None when it is unknown, or of another base unit."""
        value = self.session.get(name) or {}
        si = si_of(value)
        if si is None:
            return None
        units = QUANTITIES[quantity].units
        read_in = next((u for u in units if u.symbol == value.get("unit")), units[0])
        return si if read_in.base == base else None


_Test = Callable[[_Subject], _Hit | None]


def _hits(subject: _Subject, wanted: list[_Test]) -> list[_Hit] | None:
    """What each word hit; None when one of them hit nothing."""
    hits = []
    for test in wanted:
        hit = test(subject)
        if hit is None:
            return None
        hits.append(hit)
    return hits


def _said(logbook: Logbook, text: str, unit: UnitOf) -> Iterator[Recalled]:
    """Notes and reasons: words through the logbook's index, comparisons on their session."""
    words = _words(text)
    plain = [word for word in words if not _COMPARISON.fullmatch(word)]
    tests = [_test(word, unit) for word in words if _COMPARISON.fullmatch(word)]
    if not plain:
        return
    for found in logbook.search(" ".join(plain)):
        body = logbook.state(found.entity)
        if found.kind not in ("note", "change") or body is None:
            continue
        subject = _subject(logbook, found.entity, found.kind, body)
        hits = _hits(subject, tests) if subject else None
        if subject and hits is not None:
            yield subject.recalled([*(_Hit(Match("", word), 1) for word in plain), *hits])


def _subject(logbook: Logbook, entity: str, kind: str, body: dict[str, Any]) -> _Subject | None:
    said = {name: value for name in _SAID if isinstance(value := body.get(name), str)}
    stray = [name for name in _SAID if body.get(name) is not None and name not in said]
    if stray:
        reasons = [f"{name}: it is no text" for name in stray]
        logbook.unread.take(kind, entity, body, reasons, whole=False)
    of = said.get("session", "")
    session = logbook.state(of)
    if session is None:
        return None
    line = logbook.session_line(of)
    event = logbook.state(line.event) if line.event else None
    title = said.get("title") or said.get("what") or said.get("phase") or ""
    why = said.get("why") or said.get("words") or said.get("reason") or ""
    result = said.get("result") or said.get("verdict") or line.result
    recalled = Recalled(
        entity, kind, of, title, why, result, line.venue, line.start or line.event_date,
        line.driver, line.car_name, words_of(session.get("surface")),
        si_of(session.get("air_temperature")), si_of(session.get("track_temperature")),
    )  # fmt: skip
    fields = (
        ("title", title, 3),
        ("venue", line.venue, 3),
        ("result", result, 2),
        ("event", words_of((event or {}).get("title")), 1),
        ("date", recalled.date, 1),
        ("driver", line.driver, 1),
        ("car", line.car_name, 1),
        ("session", line.kind, 1),
        ("tyre set", words_of(session.get("tyre_set")), 1),
        ("rear set", words_of(session.get("rear_set")), 1),
        ("why", why, 1),
        ("surface", words_of(session.get("surface")), 2),
    )
    return _Subject(recalled, fields, session)


_SAID = (
    *("session", "title", "what", "phase", "why", "words", "reason"),
    *("result", "verdict"),
)
"""What a search reads of a kept set-up, a note or a reason."""


_COMPARISON = re.compile(r"(?P<name>[^\W\d]+)(?P<sign><=|>=|<|>|=)(?P<number>.*)", re.DOTALL)
_MEASURES = {
    "air": ("air_temperature", "temperature"),
    "track": ("track_temperature", "temperature"),
    "humidity": ("humidity", "share"),
    "laps": ("laps", "count"),
    "fuel": ("fuel", "fuel"),
}
_SIGNS: dict[str, Callable[[float, float], bool]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "=": operator.eq,
}
_WINNERS = re.compile(r"\b(won|win|winner|victory|p1|1st|first)\b")


def _words(text: str) -> list[str]:
    """The words of a search; a comparison with its number and unit is one."""
    joined = re.sub(r"\s*(<=|>=|[<>=])\s*", r"\1", one_line(text))
    return re.sub(r"([<>=][-−\d.,]+)\s+(°?[CFK]|%|L|l|kg|lb)(?!\w)", r"\1\2", joined).split()


def _test(word: str, unit: UnitOf) -> _Test:
    """What a word asks of a subject."""
    comparison = _COMPARISON.fullmatch(word)
    if comparison:
        return _comparison(word, unit, **comparison.groupdict())
    folded = _fold(word)
    start = re.compile(rf"(?<!\w){re.escape(folded)}")

    def fits(subject: _Subject) -> _Hit | None:
        for label, words, weight in subject.fields:
            if words and start.search(_fold(words)):
                return _Hit(Match(label, one_line(words)[:60]), weight)
        return _condition(folded, subject)

    return fits


def _condition(word: str, subject: _Subject) -> _Hit | None:
    """cold, hot, winner: words that stand in no field."""
    air = subject.si("air_temperature", "temperature", "°C")
    limits = {"cold": -1.0, "hot": 1.0}
    if word in limits and air is not None:
        limit = COLD_BELOW if word == "cold" else HOT_ABOVE
        if (air - limit) * limits[word] > 0:
            return _Hit(Match(word, value=air, quantity="temperature", asked="°C"), 2)
    if word in ("winner", "winning", "won", "win"):
        result = subject.recalled_as.result
        if _WINNERS.search(_fold(result)):
            return _Hit(Match("result", result), 2)
    return None


def _comparison(word: str, unit: UnitOf, name: str, sign: str, number: str) -> _Test:
    measure = _MEASURES.get(name.casefold())
    if measure is None or not number.strip():
        raise BadInput(
            f"“{word}” cannot be searched for",
            f"compare one of {', '.join(_MEASURES)} with a number, as in air<15",
        )
    path, quantity = measure
    limit = read(number, quantity, unit(quantity))
    asked = limit.unit

    def as_shown(si: float) -> float:
        return round(from_si(si, quantity, asked.symbol), asked.decimals if sign == "=" else 9)

    def fits(subject: _Subject) -> _Hit | None:
        value = subject.si(path, quantity, asked.base)
        if value is None or not _SIGNS[sign](as_shown(value), as_shown(limit.si)):
            return None
        than = f"{sign} {number}"
        return _Hit(Match(name.casefold(), "", value, quantity, asked.symbol, than), 2)

    return fits


def _fold(text: str) -> str:
    spread = unicodedata.normalize("NFKD", text)
    return "".join(c for c in spread if not unicodedata.combining(c)).casefold()
