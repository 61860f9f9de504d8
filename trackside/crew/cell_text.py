"""A cell's text to and from its record.

A path names a value: `FL.mass`, `adjusters.rebound_bleed.clicks`. Knobs and shop rules are
kept whole or not at all: a count of clicks says nothing until it is known from which end it
counts. Emptying the count, or the full-hard force, takes the knob or rule away.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from trackside.analysis.plausible_ranges import is_before_first
from trackside.crew.forms import FORMS, LISTS, Entry, entries
from trackside.crew.moments import read_day, read_moment
from trackside.errors import BadInput, BadRecord
from trackside.logbook.fold import is_reading, patched
from trackside.preferences import Preferences
from trackside.records import KINDS, Reading
from trackside.records.ratios import at_ride, is_table, read_ratios
from trackside.records.reading import has_unit
from trackside.records.stops import read_stops
from trackside.units import from_si, one_line, read

MOMENTS = ("at", "since")
"""Places that hold a day, or a day and a time."""
_NEEDED = {
    "adjusters": {
        "clicks": "how many clicks it has",
        "counted_from": "from which end it counts: hard or soft",
    },
    "shop_rules": {
        "full_hard_force": "the force at full hard",
        "reference_speed": "the rod speed of that force",
    },
}


def spread(body: Mapping[str, Any]) -> dict[str, Any]:
    """The values of a body by path, knobs and rules taken apart."""
    found: dict[str, Any] = {}
    for name, value in body.items():
        if name in LISTS and isinstance(value, (list, tuple)):
            named = LISTS[name]
            for item in value:
                if isinstance(item, Mapping):  # of another laptop it may be anything
                    at = f"{name}.{item.get(named)}"
                    found |= {f"{at}.{key}": inner for key, inner in item.items() if key != named}
        elif isinstance(value, dict) and not is_reading(value):
            found |= {f"{name}.{key}": inner for key, inner in value.items()}
        else:
            found[name] = value
    return {path: value for path, value in found.items() if value is not None}


def text_of(entry: Entry, body: Mapping[str, Any], preferences: Preferences) -> str:
    """What the cell shows: words; a number as it was typed in the label's unit, or with a unit of
    its own; else in the label's unit, to the six digits kept."""
    if entry.key == "build.date" and body.get("entered") == body.get("date"):
        return ""  # the day of entry, which nobody typed
    value, unit = spread(body).get(entry.path), entry.unit_in(preferences)
    if value is None or entry.quantity is None:
        return one_line(str(value)) if value is not None else ""
    if isinstance(value, dict):
        try:
            reading = Reading.checked(value)
        except BadRecord:  # of another laptop: as it is
            return one_line(str(value.get("typed", value)))
        if reading.si is None or reading.shown(entry.quantity, unit) == reading.typed:
            return reading.typed
        value = reading.si
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return one_line(str(value))
    return f"{from_si(value, entry.quantity, unit):.6g}"


def describe_value(kind: str, path: str, value: Any, preferences: Preferences) -> str:
    """A value of such a record as a person reads it, whatever form it is on."""
    if value is None:
        return "empty"
    for form in FORMS:
        entry = entries(form).get(f"{kind}.{path}")
        if entry:
            head, _, name = path.partition(".")
            text = text_of(entry, {head: {name: value} if name else value}, preferences)
            unit = "" if has_unit(text) else entry.unit_in(preferences)
            return f"{text} {unit}".strip()
    if (kind, path) == ("build", "sheet"):
        return "the one chosen"
    if path in LISTS and (items := _items_told(kind, path, value, preferences)):
        return items
    if path == "files" and (named := _files_told(value)):
        return named
    return f"{len(value)} of them" if isinstance(value, (list, dict)) else one_line(str(value))


def _files_told(files: Any) -> str:
    """Each file of a note by its name and the start of its hash; empty where one is none."""
    from trackside.records.note import NamedFile

    try:
        found = [NamedFile.checked(file) for file in files]
    except (BadRecord, TypeError):
        return ""
    return ", ".join(f"{file.name} ({file.sha256[:8]})" for file in found)


def _items_told(kind: str, name: str, items: Any, preferences: Preferences) -> str:
    """Each knob, or shop rule, with its figures; empty where they are not what a form asks."""
    found: dict[str, list[str]] = {}
    for form in FORMS.values():
        for section in (section for sections in form.values() for section in sections):
            for entry in section.entries:
                if not entry.key.startswith(f"{kind}.{name}."):
                    continue
                if text := text_of(entry, {name: items}, preferences):
                    unit = "" if has_unit(text) else entry.unit_in(preferences)
                    said = f"{entry.label.lower()} {text} {unit}".strip()
                    found.setdefault(section.title.lower(), []).append(said)
    return "; ".join(f"{title}: {', '.join(said)}" for title, said in found.items())


def parse_value(entry: Entry, text: str, preferences: Preferences) -> Any:
    """What `text` means in the entry's record; None when empty. BadInput says why it cannot be."""
    text = one_line(text)
    if not text:
        if entry.required:
            raise BadInput(f"{entry.label} cannot be empty", "type what it is")
        return None
    if entry.choices:
        word = text.casefold().removeprefix("full ").removeprefix("from full ")
        found = [choice for choice in entry.choices if choice.casefold().startswith(word)]
        if len(found) != 1:
            raise BadInput(f"“{text}” is not known here", f"type {' or '.join(entry.choices)}")
        return found[0]
    if entry.path in ("date", "last_day"):
        return read_day(text)
    if entry.path in MOMENTS:
        return read_moment(text, date.today().isoformat())
    if entry.path == "stops":
        read_stops(text)
    if entry.quantity is None:
        return text
    if entry.path.endswith(".motion_ratio") and is_table(text):
        return Reading(typed=text, si=at_ride(read_ratios(text))).body()
    number = read(text, entry.quantity, entry.unit_in(preferences))
    if entry.quantity == "count":
        if number.si != int(number.si):
            raise BadInput(f"“{text}” is not a whole number", "count full clicks")
        return int(number.si)
    return Reading(typed=text, unit=number.unit.symbol, si=number.si).body()


def unreadable(texts: Mapping[Entry, str], preferences: Preferences) -> dict[Entry, BadInput]:
    """Which of these texts cannot be read as what their entries are, each with why."""
    found = {}
    for entry, text in texts.items():
        try:
            parse_value(entry, text, preferences)
        except BadInput as error:
            found[entry] = error
    return found


def change(
    kind: str, body: dict[str, Any], texts: Mapping[Entry, str], preferences: Preferences
) -> dict[str, Any]:
    """The patch that keeps these texts of one group. BadInput says what cannot be kept, or what
    is still missing."""
    given = {entry.path: parse_value(entry, text, preferences) for entry, text in texts.items()}
    values = spread(body) | given
    group = next(iter(texts)).group
    name = group.partition(".")[0]
    if name not in LISTS:
        patch = given | ({"entered": None} if kind == "build" and "date" in given else {})
    else:
        mine = {path: v for path, v in values.items() if path.rpartition(".")[0] == group}
        first, *_ = needed = [f"{group}.{key}" for key in _NEEDED[name]]
        if first in given and given[first] is None:
            values |= dict.fromkeys(mine)
        elif any(v is not None for v in mine.values()):
            missing = [path for path in needed if mine.get(path) is None]
            if missing:
                words = [_NEEDED[name][path.rpartition(".")[2]] for path in missing]
                raise BadInput("not saved yet", f"say also {' and '.join(words)}")
        patch = {name: _gathered(name, values)}
    try:
        KINDS[kind].checked(patched(body, patch))
    except BadRecord as error:
        raise BadInput(error.cause.partition(": ")[2] or error.cause, error.remedy) from error
    if kind == "event" and patch.keys() & {"date", "last_day"}:
        _refuse_days_turned(patched(body, patch))
    return patch


def _refuse_days_turned(event: Mapping[str, Any]) -> None:
    if is_before_first(event):
        raise BadInput(
            f"the last day {event['last_day']} is before the first, {event['date']}",
            "type a later last day, or empty it where there is only one day",
        )


def _gathered(name: str, values: Mapping[str, Any]) -> list[dict[str, Any]]:
    items: dict[str, dict[str, Any]] = {}
    for path, value in values.items():
        head, _, rest = path.partition(".")
        if head == name and value is not None:
            which, _, key = rest.partition(".")
            items.setdefault(which, {LISTS[name]: which})[key] = value
    return list(items.values())


def siblings(entry: Entry, among: Iterable[Entry]) -> list[Entry]:
    """The entries that are kept together with this one, itself included."""
    return [e for e in among if e.kind == entry.kind and e.group == entry.group]
