"""What cannot be right on a run sheet, of a car or a build: each mark is a fact, the value itself
stays. `reports.mark_words` puts them in words.

Every judgement of what was written down is made here, from records as the logbook has them, so it
is the same by whatever door a value came in: screen, command line, import, bundle, hub. Limits
(records/fields.py, records/limits.py) and relations are our own, no source; the maker's figures
come first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from trackside.analysis.build_oil import grade_problem
from trackside.analysis.fitted_elsewhere import Elsewhere
from trackside.analysis.fuel import fuel_gained, fuel_used
from trackside.analysis.lap_figures import best_contradicted, count_contradicted
from trackside.analysis.shed import Shed
from trackside.errors import BadRecord
from trackside.records import Reading, Session
from trackside.records.fields import (
    ADJUSTERS,
    CORNER_FIELDS,
    CORNERS,
    OTHER_SIDE,
    SESSION_FIELDS,
    field_of,
)
from trackside.records.figure import si_of
from trackside.records.laps import lap_of
from trackside.records.limits import limits_of
from trackside.units import QUANTITIES

SCALES_APART = 2.0
"""Between the two wheels of an axle."""
TREAD_SPREAD = 45.0
"""K across one tread."""

MarkKind = Literal[
    "outside", "unreadable", "no choice", "no figure", "no record", "no lap time", "lap",
    "no adjuster", "position", "unknown damper", "damper twice", "damper elsewhere",
    "cold above hot", "tread spread", "all unsprung", "oil not thinner", "no such oil",
    "clamp as wide", "not the best", "not so many", "scale odd", "fuel gained", "fuel thirst",
    "last day first",
]  # fmt: skip
"""Why something cannot be right:

- outside: `values` has the reading, `limits` what it may be (in base units).
- unreadable: `values` has the reading; nobody can tell what it means.
- no choice: `values` has the word; it is none of the field's choices.
- no figure, no record: what another laptop wrote there is no number; of the second, `values` says
  why.
- no lap time, lap: `values` has the lap's number and what was typed, or its reading.
- no adjuster: that damper has no such knob. position: `values` has the adjuster and the count that
  it cannot stand at.
- unknown damper, damper twice, damper elsewhere: `values` has the serial; of the second, then each
  other corner, of the third the other car's run.
- cold above hot: of the tyre's two pressures. tread spread: more than TREAD_SPREAD across it.
- all unsprung: as much unsprung mass as the scales say. oil not thinner: at 100 °C than at 40 °C.
  no such oil: none has that grade and index, `values` says why. clamp as wide: as the seat.
- not the best, not so many: `values` has what was typed, and what the lap times say.
- scale odd: more than SCALES_APART times the other wheel of the axle, or less than that part of it.
- fuel gained: more at the end than at the start. fuel thirst: `values` has what a lap used.
- last day first: an event's last day is before its first.
"""


@dataclass(frozen=True)
class Mark:
    """One value that cannot be right, at its `path`. `quantity` is that of its reading."""

    kind: MarkKind
    path: str
    values: tuple[Any, ...] = ()
    limits: tuple[float | None, float | None] = (None, None)
    quantity: str | None = None


def mark_at(
    path: str, session: Session, shed: Shed, elsewhere: Elsewhere | None = None
) -> Mark | None:
    """Why the value at `path` of a run sheet cannot be right; None when nothing says so.
    `elsewhere` are the dampers of the other cars (see `fitted_elsewhere`)."""
    if path.startswith("items."):
        return None
    if path == "lap_times":
        return _lap_mark(session)
    value = session.value(path)
    if value is None:
        return None
    corner, _, name = path.partition(".")
    if corner not in CORNERS:
        return value_mark(path, value) or _by_the_laps(path, value, session)
    return (
        _position_mark(name, value, session, corner, shed)
        or value_mark(path, value)
        or _relation_mark(name, session, corner)
        or _damper_mark(name, value, session, corner, shed, elsewhere)
    )


def marks_of(session: Session, shed: Shed, elsewhere: Elsewhere | None = None) -> dict[str, Mark]:
    """Every mark of a session, by path."""
    paths = [
        *SESSION_FIELDS,
        "lap_times",
        *(f"{c}.{name}" for c in CORNERS for name in CORNER_FIELDS),
    ]
    found = ((path, mark_at(path, session, shed, elsewhere)) for path in paths)
    return {path: mark for path, mark in found if mark is not None}


def reading_mark(
    path: str, value: Reading, quantity: str, limits: tuple[float | None, float | None]
) -> Mark | None:
    """Whether the reading says something, and within its limits, ends included. One in another
    base than the quantity's first unit (toe in degrees, fuel in kilograms) is held against none."""
    if value.si is None:
        unreadable = bool(value.why_unread(quantity))
        return Mark("unreadable", path, (value,), limits, quantity) if unreadable else None
    low, high = limits
    if value.base(quantity) != QUANTITIES[quantity].units[0].base:
        return None
    outside = (low is not None and value.si < low) or (high is not None and value.si > high)
    return Mark("outside", path, (value,), limits, quantity) if outside else None


def value_mark(path: str, value: Reading | str | None) -> Mark | None:
    """Why that value cannot be right at `path` of any run sheet, whatever stands beside it."""
    field = field_of(path)
    if isinstance(value, Reading) and field.quantity is not None:
        return reading_mark(path, value, field.quantity, (field.low, field.high))
    if isinstance(value, str) and field.choices and value.casefold() not in field.choices:
        return Mark("no choice", path, (value,))
    return None


def _lap_mark(session: Session) -> Mark | None:
    """Of the first lap time that cannot be right."""
    field = SESSION_FIELDS["best_lap"]
    limits = field.low, field.high
    for number, lap in enumerate(session.lap_times, 1):
        seconds, _, is_read = lap_of(lap)
        if not is_read:
            return Mark("no lap time", "lap_times", (number, lap))
        if seconds is None:
            continue
        reading = Reading.of_si(seconds, "lap time")
        if reading_mark("lap_times", reading, "lap time", limits):
            return Mark("lap", "lap_times", (number, reading), limits, "lap time")
    return None


def _by_the_laps(path: str, value: Reading | str, session: Session) -> Mark | None:
    """Where the lap times say another best lap, or another number of laps, or the fuel at the start
    speaks against that at the end."""
    if path == "best_lap":
        best = best_contradicted(session)
        return None if best is None else Mark("not the best", path, (value, best))
    if path == "laps":
        count = count_contradicted(session)
        return None if count is None else Mark("not so many", path, (value, count))
    if path == "fuel_end":
        used = fuel_used(session)
        if fuel_gained(session):
            return Mark("fuel gained", path)
        return Mark("fuel thirst", path, (used,)) if used and used.is_implausible else None
    return None


def _position_mark(
    name: str, value: Reading | str, session: Session, corner: str, shed: Shed
) -> Mark | None:
    if name not in ADJUSTERS or not isinstance(value, Reading) or value.si is None:
        return None
    build = shed.build_at(session, corner)
    if build is None:
        return None
    adjuster = build.adjuster(name)
    if adjuster is None:
        return Mark("no adjuster", f"{corner}.{name}")
    if adjuster.problem(value.si):
        return Mark("position", f"{corner}.{name}", (adjuster, value.si))
    return None


def _damper_mark(
    name: str,
    value: Reading | str,
    session: Session,
    corner: str,
    shed: Shed,
    elsewhere: Elsewhere | None,
) -> Mark | None:
    if name != "damper" or not isinstance(value, str):
        return None
    path, serial = f"{corner}.damper", value.casefold()
    others = [c for c in CORNERS if c != corner]
    twice = [c for c in others if (session.corner(c).damper or "").casefold() == serial]
    if twice:
        return Mark("damper twice", path, (value, *twice))
    if elsewhere and serial in elsewhere:
        return Mark("damper elsewhere", path, (value, elsewhere[serial]))
    return Mark("unknown damper", path, (value,)) if shed.damper(value) is None else None


def _relation_mark(name: str, session: Session, corner: str) -> Mark | None:
    sheet = session.corner(corner)
    cold, hot = sheet.si("cold_pressure"), sheet.si("hot_pressure")
    if name in ("cold_pressure", "hot_pressure") and cold and hot and cold > hot:
        return Mark("cold above hot", f"{corner}.{name}")
    if name.startswith("tread_"):
        others = [sheet.si(n) for n in ("tread_inner", "tread_middle", "tread_outer")]
        known = [t for t in others if t is not None]
        mine = sheet.si(name)
        if mine is not None and len(known) == 3 and max(known) - min(known) > TREAD_SPREAD:
            return Mark("tread spread", f"{corner}.{name}")
    return None


def figure_mark(
    kind: str, path: str, value: Any, quantity: str, body: Mapping[str, Any]
) -> Mark | None:
    """Why the figure at `path` of a car's or a build's `body` cannot be right: by its own limits,
    else by how it stands to another; None when nothing says so."""
    try:
        figure = Reading.checked(value) if isinstance(value, dict) else value
    except BadRecord as error:
        return Mark("no record", path, (str(error),))
    if isinstance(figure, bool) or not isinstance(figure, (Reading, int, float)):
        return Mark("no figure", path)
    return _limit_mark(path, figure, quantity) or record_marks(kind, body).get(path)


def _limit_mark(path: str, figure: Reading | float, quantity: str) -> Mark | None:
    reading = figure if isinstance(figure, Reading) else Reading.of_si(figure, quantity)
    return reading_mark(path, reading, quantity, limits_of(path.rpartition(".")[2]))


def record_marks(kind: str, body: Mapping[str, Any]) -> dict[str, Mark]:
    """What speaks against the figures of a car or a build, by path: how one stands to another.
    Each figure's own limits are in records/limits.py."""
    found: list[Mark] = []
    if kind == "car":
        for corner in CORNERS:
            mass, unsprung = _pair(body.get(corner) or {}, "mass", "unsprung_mass")
            if mass and unsprung and unsprung >= mass:
                found.append(Mark("all unsprung", f"{corner}.unsprung_mass"))
    if kind == "event" and is_before_first(body):
        found.append(Mark("last day first", "last_day"))
    if kind == "weighing":
        found += _odd_scales(body)
    if kind == "build":
        cold, hot = _pair(body, "oil_viscosity_40", "oil_viscosity_100")
        if cold and hot and hot >= cold:
            found.append(Mark("oil not thinner", "oil_viscosity_100"))
        grade, index = _pair(body, "oil_grade", "oil_index")
        if grade and index and (why := grade_problem(grade, index)):
            found.append(Mark("no such oil", "oil_index", (why,)))
        for direction in ("bump", "rebound"):
            at = f"{direction}_parts"
            seat, clamp = _pair(body.get(at) or {}, "seat", "clamp")
            if seat and clamp and clamp >= seat:
                found.append(Mark("clamp as wide", f"{at}.clamp"))
    return {mark.path: mark for mark in found}


def is_before_first(event: Mapping[str, Any]) -> bool:
    """Whether the event's last day is before its first."""
    first, last = event.get("date"), event.get("last_day")
    return isinstance(first, str) and isinstance(last, str) and "" < last < first


def _odd_scales(body: Mapping[str, Any]) -> list[Mark]:
    """A wheel that weighs more than twice, or less than half, what the other of its axle does."""
    masses = {corner: _pair(body.get(corner) or {}, "mass")[0] for corner in CORNERS}
    return [
        Mark("scale odd", f"{corner}.mass")
        for corner in CORNERS
        if (mine := masses[corner])
        and (other := masses[OTHER_SIDE[corner]])
        and not 1 / SCALES_APART <= mine / other <= SCALES_APART
    ]


def _pair(body: Any, *names: str) -> tuple[Any, ...]:
    """Those figures; None for one that is not there, or is no number: another laptop may have
    written anything."""
    found = (si_of(body.get(name)) for name in names) if isinstance(body, Mapping) else names
    return tuple(
        None if isinstance(v, bool) or not isinstance(v, (int, float)) else v for v in found
    )
