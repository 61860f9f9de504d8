"""What cannot be right on a run sheet, of a car or a build: each mark is one sentence, the value
itself stays.

Limits and relations here are our own, no source; the maker's figures come first.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from trackside.analysis.build_oil import grade_problem
from trackside.analysis.shed import Shed
from trackside.preferences import Preferences
from trackside.records import Build, Reading, Session, problem_of
from trackside.records.fields import ADJUSTERS, CORNER_FIELDS, CORNERS, SESSION_FIELDS, field_of
from trackside.records.figure import si_of
from trackside.records.limits import problem_of_figure
from trackside.units import show_span

_METRIC = Preferences()
_TREAD_SPREAD = 45.0
"""K across one tread."""


def problem_at(path: str, session: Session, shed: Shed, preferences: Preferences = _METRIC) -> str:
    """Why the value at `path` cannot be right, in one sentence, with figures in the crew's units;
    empty when nothing says so."""
    if path.startswith("items."):
        return ""
    if path == "lap_times":
        return _laps_problem(session)
    value = session.value(path)
    if value is None:
        return ""
    corner, _, name = path.partition(".")
    field = field_of(path)
    unit = preferences.unit(field.quantity) if field.quantity else ""
    if corner not in CORNERS:
        return problem_of(value, field, unit)
    return (
        _position_problem(name, value, session, corner, shed)
        or problem_of(value, field, unit)
        or _relation_problem(name, session, corner, preferences)
        or _damper_problem(name, value, session, corner, shed)
    )


def problems(session: Session, shed: Shed, preferences: Preferences = _METRIC) -> dict[str, str]:
    """Every mark of a session: path → sentence."""
    paths = [
        *SESSION_FIELDS,
        "lap_times",
        *(f"{c}.{name}" for c in CORNERS for name in CORNER_FIELDS),
    ]
    found = {path: problem_at(path, session, shed, preferences) for path in paths}
    return {path: problem for path, problem in found.items() if problem}


def _laps_problem(session: Session) -> str:
    """Of the first lap time that cannot be right."""
    field = SESSION_FIELDS["best_lap"]
    for number, lap in enumerate(session.lap_times, 1):
        if isinstance(lap, str):
            return f"lap {number}, “{lap}”, is no lap time: type it like 1:35.2"
        if why := problem_of(Reading.of_si(lap, "lap time"), field):
            return f"lap {number}: {why}"
    return ""


def _position_problem(
    name: str, value: Reading | str, session: Session, corner: str, shed: Shed
) -> str:
    if name not in ADJUSTERS or not isinstance(value, Reading) or value.si is None:
        return ""
    build = shed.build_at(session, corner)
    if build is None:
        return ""
    adjuster = build.adjuster(name)
    if adjuster is None:
        return f"this damper has no {ADJUSTERS[name].lower()} adjuster"
    return adjuster.problem(value.si)


def _damper_problem(
    name: str, value: Reading | str, session: Session, corner: str, shed: Shed
) -> str:
    if name != "damper" or not isinstance(value, str):
        return ""
    if shed.damper(value) is None:
        return f"{value} is not in the damper shed: a new damper, or a typo?"
    serial = value.casefold()
    others = [c for c in CORNERS if c != corner]
    twice = [c for c in others if (session.corner(c).damper or "").casefold() == serial]
    return f"{value} is entered at {' and '.join(twice)} too: which corner has it?" if twice else ""


def _relation_problem(name: str, session: Session, corner: str, preferences: Preferences) -> str:
    sheet = session.corner(corner)
    cold, hot = sheet.si("cold_pressure"), sheet.si("hot_pressure")
    if name in ("cold_pressure", "hot_pressure") and cold and hot and cold > hot:
        return "the cold pressure is above the hot one: swapped?"
    if name.startswith("tread_"):
        others = [sheet.si(n) for n in ("tread_inner", "tread_middle", "tread_outer")]
        known = [t for t in others if t is not None]
        mine = sheet.si(name)
        if mine is not None and len(known) == 3 and max(known) - min(known) > _TREAD_SPREAD:
            spread = show_span(_TREAD_SPREAD, "temperature", preferences.unit("temperature"))
            return f"more than {spread} across one tread: unit or probe?"
    return ""


def record_problems(kind: str, body: Mapping[str, Any]) -> dict[str, str]:
    """What speaks against the figures of a car or a build, by path: how one stands to another.
    Each figure's own limits are in records/limits.py."""
    found: dict[str, str] = {}
    if kind == "car":
        for corner in CORNERS:
            mass, unsprung = _pair(body.get(corner) or {}, "mass", "unsprung_mass")
            if mass and unsprung and unsprung >= mass:
                found[f"{corner}.unsprung_mass"] = "unsprung is as much as the scales say: swapped?"
    if kind == "build":
        cold, hot = _pair(body, "oil_viscosity_40", "oil_viscosity_100")
        if cold and hot and hot >= cold:
            found["oil_viscosity_100"] = "the oil is not thinner at 100 °C than at 40 °C: swapped?"
        grade, index = _pair(body, "oil_grade", "oil_index")
        if grade and index and (why := grade_problem(grade, index)):
            found["oil_index"] = why
        for direction in ("bump", "rebound"):
            at = f"{direction}_parts"
            seat, clamp = _pair(body.get(at) or {}, "seat", "clamp")
            if seat and clamp and clamp >= seat:
                found[f"{at}.clamp"] = "the clamp disc is as wide as the seat: swapped?"
    return found


_BUILD = {
    "gas_pressure": ("gas", "pressure"),
    "piston_diameter": ("piston ⌀", "length"),
    "rod_diameter": ("rod ⌀", "length"),
    "stroke": ("stroke", "length"),
    "oil_viscosity_40": ("oil at 40 °C", "viscosity"),
    "oil_viscosity_100": ("oil at 100 °C", "viscosity"),
}


def build_problems(build: Build, preferences: Preferences) -> list[str]:
    """What cannot be right of a build's own figures, a sentence each that names it."""
    found = {}
    for name, (words, quantity) in _BUILD.items():
        value = getattr(build, name)
        unit = "cSt" if quantity == "viscosity" else preferences.unit(quantity)
        if value is not None and (why := problem_of_figure(name, value, quantity, unit)):
            found[words] = why
    related = record_problems("build", build.body())
    found |= {path.replace("_", " "): why for path, why in related.items()}
    return [f"{words}: {why}" for words, why in found.items()]


def _pair(body: Any, *names: str) -> tuple[Any, ...]:
    """Those figures; None for one that is not there, or is no number: another laptop may have
    written anything."""
    found = (si_of(body.get(name)) for name in names) if isinstance(body, Mapping) else names
    return tuple(
        None if isinstance(v, bool) or not isinstance(v, (int, float)) else v for v in found
    )
