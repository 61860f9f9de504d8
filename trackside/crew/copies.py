"""A damper or a car entered as a copy of one that is on record: what is the same by design is
copied, and never what was measured on that one.

Nothing is written here: each function gives the writes, to be kept in one step of undo.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from trackside.analysis.plausible_ranges import figure_mark
from trackside.crew.cell_text import spread
from trackside.crew.forms import entries
from trackside.errors import BadInput
from trackside.logbook import Logbook, Write, put
from trackside.logbook.dampers import builds_of, damper_of
from trackside.logbook.rows import text
from trackside.records.fields import CORNERS
from trackside.units import one_line

DAMPER_COPIED: Final = (
    *("model", "least_charge"),
    *("service_runs", "service_laps", "service_time"),
)
DAMPER_LEFT: Final = ("serial", "place", "words")
BUILD_COPIED: Final = (
    *("piston_diameter", "rod_diameter", "stroke"),
    *("adjusters", "shop_rules"),
    *("oil", "oil_viscosity_40", "oil_viscosity_100", "oil_grade", "oil_index", "oil_expansion"),
    *("piston", "bump_stack", "rebound_stack", "preload", "bleed", "needle", "family"),
    *("bump_parts", "rebound_parts"),
)
BUILD_LEFT: Final = ("damper", "version", "date", "entered", "gas_pressure", "sheet", "work")
"""A charge is read on one damper, and a dyno sheet is that of one damper."""
CAR_COPIED: Final = ("wheelbase", "track_front", "track_rear", "stops")
CAR_LEFT: Final = ("name", "number", "words")
CORNER_COPIED: Final = (
    *("unsprung_mass", "motion_ratio", "motion_table", "spring_ratio", "spring_rate"),
    *("tyre_rate", "stop_gap"),
)
CORNER_LEFT: Final = ("mass",)
"""Read on the scales, of one car."""


@dataclass(frozen=True)
class Copies:
    """What is to be written so that `names` are on record as `of` is; the fields that were copied,
    and those that `of` has and that are its own. A corner's field is named without its corner.
    `writes` have nothing of what is `doubtful`."""

    of: str
    names: tuple[str, ...]
    writes: tuple[Write, ...]
    copied: tuple[str, ...]
    left: tuple[str, ...]
    doubtful: tuple[str, ...] = ()
    """Those that would be copied, but that cannot be right."""


def next_serial(logbook: Logbook, serial: str) -> str:
    """The next serial that is free, the number at the end counted up; empty where it does not end
    in a number."""
    found = re.fullmatch(r"(.*?)([0-9]{1,15})", serial)
    if found is None:
        return ""
    taken = {text(body.get("serial")).casefold() for _, body in logbook.all("damper")}
    number = int(found[2]) + 1
    while (proposed := f"{found[1]}{number:0{len(found[2])}d}").casefold() in taken:
        number += 1
    return proposed


def names_in(typed: str) -> tuple[str, ...]:
    """The names in a line, parted by commas or semicolons."""
    return tuple(name for part in re.split("[,;\n]", typed) if (name := one_line(part)))


def damper_design(logbook: Logbook, serial: str) -> Copies:
    """What a copy of that damper, in its present build, would take along. BadInput where the damper
    is not on record."""
    return _design(logbook, serial)[0]


def copied_damper(logbook: Logbook, serial: str, serials: Iterable[str]) -> Copies:
    """That damper, with its present build, entered again under these serials. BadInput where none
    was typed, one is taken or stands there twice, or the damper is not on record."""
    design, damper, inside = _design(logbook, serial)
    names = _free(serials, "serial", "type it as engraved", lambda n: bool(damper_of(logbook, n)))
    first = {"version": "A"}
    reason = f"copied from {design.of}"
    writes = []
    for name in names:
        writes.append(put("damper", {"serial": name, **damper}, reason=reason))
        writes.append(put("build", {"damper": name, **first, **inside}, reason=reason))
    return replace(design, names=names, writes=tuple(writes))


def _design(logbook: Logbook, serial: str) -> tuple[Copies, dict[str, Any], dict[str, Any]]:
    """The copy without names, and what it says of the damper and of its build."""
    entity = damper_of(logbook, serial)
    body = logbook.state(entity) if entity else None
    if body is None:
        raise BadInput(f"{one_line(serial)} is not in the shed", "name a damper that is")
    builds = builds_of(logbook, serial)
    build = builds[-1][1] if builds else {}
    odd = _doubtful("damper", "build", build)
    damper, inside = _of(body, DAMPER_COPIED), _of(build, BUILD_COPIED)
    doubtful = tuple(name for name in inside if name in odd)
    inside = {name: value for name, value in inside.items() if name not in odd}
    left = (*_of(body, DAMPER_LEFT[1:]), *_of(build, ("gas_pressure", "work")))
    copied = (*damper, *inside)
    return Copies(text(body.get("serial")), (), (), copied, left, doubtful), damper, inside


def _doubtful(form: str, kind: str, body: Mapping[str, Any]) -> set[str]:
    """The fields of that body of which a figure cannot be right; of a corner's, with its corner."""
    found, values = set(), spread(body)
    for entry in entries(form).values():
        value = values.get(entry.path) if entry.kind == kind and entry.quantity else None
        if value is not None and figure_mark(kind, entry.path, value, entry.quantity or "", body):
            found.add(entry.path if entry.path[:2] in CORNERS else entry.path.partition(".")[0])
    return found


def car_design(logbook: Logbook, entity: str) -> Copies:
    """What a copy of that car would take along."""
    return _car_design(logbook, entity)[0]


def copied_car(logbook: Logbook, entity: str, name: str, number: str = "") -> Copies:
    """That car entered again under another name. BadInput where none was typed or it is taken."""
    design, car = _car_design(logbook, entity)
    known = {text(body.get("name")).casefold() for _, body in logbook.all("car")}
    names = _free([name], "name", "type what it is called", lambda n: n.casefold() in known)
    named = {"name": names[0]} | ({"number": one_line(number)} if one_line(number) else {})
    write = put("car", {**named, **car}, reason=f"copied from {design.of}")
    return replace(design, names=names, writes=(write,))


def _car_design(logbook: Logbook, entity: str) -> tuple[Copies, dict[str, Any]]:
    """The copy without a name, and what it says of the car."""
    body = logbook.state(entity) or {}
    odd = _doubtful("car", "car", body)
    car = {name: value for name, value in _of(body, CAR_COPIED).items() if name not in odd}
    copied, left = list(car), list(_of(body, ("words",)))
    for corner in CORNERS:
        sheet = body.get(corner)
        if isinstance(sheet, dict):
            of_corner = _of(sheet, CORNER_COPIED)
            of_corner = {n: v for n, v in of_corner.items() if f"{corner}.{n}" not in odd}
            if of_corner:
                car[corner] = of_corner
            copied += of_corner
            left += _of(sheet, CORNER_LEFT)
    names = (path.rpartition(".")[2] for path in sorted(odd))
    doubtful = [name for name in names if name in (*CAR_COPIED, *CORNER_COPIED)]
    of, *told = text(body.get("name")), *(tuple(dict.fromkeys(n)) for n in (copied, left, doubtful))
    return Copies(of, (), (), *told), car


def _free(
    names: Iterable[str], what: str, how: str, taken: Callable[[str], bool]
) -> tuple[str, ...]:
    """The names on one line each. BadInput where there is none, or one is taken or named twice."""
    found = tuple(name for each in names if (name := one_line(each)))
    if not found:
        raise BadInput(f"no {what} was typed", how)
    seen: set[str] = set()
    for name in found:
        if taken(name):
            raise BadInput(f"{name} is on record already", f"give another {what}")
        if name.casefold() in seen:
            raise BadInput(f"{name} was typed twice", f"give each {what} once")
        seen.add(name.casefold())
    return found


def _of(body: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    """What the body says at these names; what is unknown is left out."""
    return {n: v for n in names if (v := body.get(n)) not in (None, "", [], {}, ())}
