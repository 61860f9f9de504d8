"""What a search of the runs found: the run, and the value that fits, with where it is."""

from __future__ import annotations

from trackside.analysis.run_search import FoundRun, Hit
from trackside.logbook.pitboard import title_of
from trackside.logbook.run_columns import RunWords
from trackside.preferences import Preferences
from trackside.records.fields import CORNER_FIELDS, SESSION_FIELDS, words_for
from trackside.units import one_line


def run_words(run: RunWords) -> tuple[str, str, str, str, str]:
    """Day, venue, session, car and driver."""
    title = title_of(run.kind, run.number, run.run)
    return run.date[:10], run.venue, title, run.car_name, run.driver


def hits_words(found: FoundRun, preferences: Preferences) -> str:
    """Each value that fits, with where it is: `FL rebound 9 · note “Nose stays down.”`."""
    return " · ".join(hit_words(hit, preferences) for hit in found.hits)


def hit_words(hit: Hit, preferences: Preferences) -> str:
    """`FL hot 1.91 bar`, `driver Teo Vannick`, `note “Nose stays down.”`."""
    if hit.kind in ("note", "reason", "kept", "notes"):
        return f"{hit.kind} “{one_line(hit.words)}”"
    place = "of its laps " if hit.path == "lap_times" else ""
    field = CORNER_FIELDS.get(hit.kind) or SESSION_FIELDS.get(hit.kind)
    label = words_for(hit.path) if field and not place else place + hit.kind.replace("_", " ")
    if field is None or field.quantity is None or hit.words:
        return one_line(f"{label} {hit.words}")
    from trackside.records import Reading  # a search of words alone needs no models

    value = Reading(typed=hit.typed, unit=hit.unit or "", si=hit.si)
    shown = value.in_words(field.quantity, preferences.unit(field.quantity))
    return one_line(f"{label} {shown}")
