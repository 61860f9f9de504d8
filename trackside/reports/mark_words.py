"""Why a value cannot be right, in one sentence, with figures in the crew's units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from trackside.analysis.fitted_elsewhere import Elsewhere
from trackside.analysis.plausible_ranges import (
    TREAD_SPREAD,
    Mark,
    figure_mark,
    mark_at,
    marks_of,
    record_marks,
)
from trackside.analysis.shed import Shed
from trackside.crew.cell_text import spread
from trackside.crew.forms import Entry, entries
from trackside.preferences import Preferences
from trackside.records import Build, Reading, Session
from trackside.records.fields import ADJUSTERS, field_of
from trackside.records.reading import has_unit
from trackside.reports.fuel_words import a_lap
from trackside.reports.lap_words import not_so_many, not_the_best
from trackside.units import QUANTITIES, from_si, show, show_span

_WORDS = {
    "no figure": "this is no figure",
    "cold above hot": "the cold pressure is above the hot one: swapped?",
    "all unsprung": "unsprung is as much as the scales say: swapped?",
    "oil not thinner": "the oil is not thinner at 100 °C than at 40 °C: swapped?",
    "scale odd": "over twice the other wheel of the axle, or under half: right unit, zeroed?",
    "fuel gained": "more fuel at the end than at the start: swapped, or filled up in between?",
    "last day first": "the last day is before the first: a typo in one of them?",
    "clamp as wide": "the clamp disc is as wide as the seat: swapped?",
}


def mark_words(mark: Mark, preferences: Preferences, unit: str = "") -> str:
    """The sentence; `unit` is that in which a bare number is told, the crew's where it is empty."""
    if mark.kind in _WORDS:
        return _WORDS[mark.kind]
    if mark.kind in ("outside", "unreadable"):
        return _limits_words(mark, preferences, unit)
    if mark.kind == "lap":
        return f"lap {mark.values[0]}: {_limits_words(mark, preferences, unit)}"
    if mark.kind == "no lap time":
        number, typed = mark.values
        return f"lap {number}, “{typed}”, is no lap time: type it like 1:35.2"
    if mark.kind == "not the best":
        typed, best = mark.values
        return not_the_best(typed.typed, best)
    if mark.kind == "not so many":
        typed, count = mark.values
        return not_so_many(typed.typed, count)
    if mark.kind == "fuel thirst":
        return f"{a_lap(mark.values[0], preferences)} used a lap: right unit, right number of laps?"
    if mark.kind == "no choice":
        choices = ", ".join(field_of(mark.path).choices)
        return f"“{mark.values[0]}” is none of {choices}: saved as typed"
    if mark.kind == "no adjuster":
        return f"this damper has no {ADJUSTERS[mark.path.partition('.')[2]].lower()} adjuster"
    if mark.kind == "position":
        adjuster, position = mark.values
        return str(adjuster.problem(position))
    if mark.kind == "unknown damper":
        return f"{mark.values[0]} is not in the damper shed: a new damper, or a typo?"
    if mark.kind == "damper twice":
        serial, *corners = mark.values
        return f"{serial} is entered at {' and '.join(corners)} too: which corner has it?"
    if mark.kind == "damper elsewhere":
        serial, there = mark.values
        return f"{serial} is on {there.car} too, in {there.title}: which car has it?"
    if mark.kind == "tread spread":
        across = show_span(TREAD_SPREAD, "temperature", preferences.unit("temperature"))
        return f"more than {across} across one tread: unit or probe?"
    return str(mark.values[0])  # what an error said


def _limits_words(mark: Mark, preferences: Preferences, unit: str) -> str:
    assert mark.quantity is not None
    reading: Reading = mark.values[-1]
    if reading.si is None:
        return reading.why_unread(mark.quantity)
    told_in = unit or preferences.unit(mark.quantity)
    return _outside(reading, reading.si, mark.quantity, mark.limits, told_in)


def _outside(
    reading: Reading, si: float, quantity: str, limits: tuple[float | None, float | None], unit: str
) -> str:
    """A bare number and its limits are given in `unit`, one with a unit of its own in that."""
    own = reading.own_unit(quantity)
    wanted = QUANTITIES[quantity].unit(unit) if unit else own
    if not has_unit(reading.typed) and wanted.base == own.base:
        own = wanted
    ends = [show(at, quantity, own.symbol) for at in limits if at is not None]
    shown, exact = show(si, quantity, own.symbol), from_si(si, quantity, own.symbol)
    if shown.lstrip("-−").isdigit() and abs(exact) < 10:  # 1.9 is not rounded to 2
        shown = f"{exact:.3g}"
    if shown in ends:  # 160.4 is not rounded to a limit of 160
        shown = f"{exact:.9g}"
    given = f"{shown} {own.symbol}".rstrip()
    symbol = own.symbol if reading.unit else ""
    outside = f"{given} is outside {' to '.join(ends)} {symbol}".rstrip()
    return f"{outside}: right unit, right field?"


def problem_at(
    path: str,
    session: Session,
    shed: Shed,
    preferences: Preferences,
    elsewhere: Elsewhere | None = None,
) -> str:
    """Why the value at `path` of a run sheet cannot be right; empty when nothing says so.
    `elsewhere` are the dampers of the other cars in its session."""
    mark = mark_at(path, session, shed, elsewhere)
    return mark_words(mark, preferences) if mark else ""


def problems(
    session: Session, shed: Shed, preferences: Preferences, elsewhere: Elsewhere | None = None
) -> dict[str, str]:
    """Every mark of a session: path → sentence."""
    found = marks_of(session, shed, elsewhere)
    return {path: mark_words(mark, preferences) for path, mark in found.items()}


def figure_problem(entry: Entry, body: Mapping[str, Any], preferences: Preferences) -> str:
    """Why the figure that stands in that cell of a form cannot be right; else empty."""
    value = spread(body).get(entry.path)
    if value is None:
        return ""
    if entry.quantity is None:
        odd = record_marks(entry.kind, body).get(entry.path)
        return mark_words(odd, preferences) if odd else ""
    mark = figure_mark(entry.kind, entry.path, value, entry.quantity, body)
    return mark_words(mark, preferences, entry.unit_in(preferences)) if mark else ""


_FIGURES = {
    "gas_pressure": "gas",
    "piston_diameter": "piston ⌀",
    "rod_diameter": "rod ⌀",
    "stroke": "stroke",
    "oil_viscosity_40": "oil at 40 °C",
    "oil_viscosity_100": "oil at 100 °C",
}


def build_problems(build: Build, preferences: Preferences) -> list[str]:
    """What cannot be right of a build's figures, a sentence each that names it: as its own page
    marks them."""
    body = build.body()
    asked = (entry for entry in entries("damper").values() if entry.kind == "build")
    found = ((entry.path, figure_problem(entry, body, preferences)) for entry in asked)
    return [f"{_figure_named(path)}: {problem}" for path, problem in found if problem]


def _figure_named(path: str) -> str:
    return _FIGURES.get(path) or path.replace(".", " ").replace("_", " ")
