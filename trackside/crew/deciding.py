"""A value typed by hand for a place of a record, whatever its kind: for deciding a conflict."""

from __future__ import annotations

from typing import Any

from trackside.errors import BadInput
from trackside.preferences import Preferences
from trackside.records.base import Record
from trackside.units import clean

PICK = "take one of the sides"


def value_typed(
    kind: str, path: str, text: str, body: dict[str, Any], preferences: Preferences
) -> Any:
    """What `text` means at `path` of that record, as the logbook keeps it; None when empty.

    BadInput where it cannot be read, or where nothing can be typed: whether a record stands at
    all, a list, a kind that needs a newer trackside.
    """
    if not path:
        raise BadInput("this asks whether to keep it or take it off", PICK)
    if kind == "session":
        return _of_session(path, text, preferences)
    if kind in ("note", "change", "kept"):
        return _said(kind, path, text, body)
    return _of_form(kind, path, text, body, preferences)


def _of_session(path: str, text: str, preferences: Preferences) -> Any:
    from trackside.records import read_value, value_body
    from trackside.records.fields import field_of
    from trackside.records.session import read_laps

    if path == "lap_times":
        return list(read_laps(text)) or None
    try:
        field = field_of(path)
    except KeyError:
        raise BadInput(f"{path} cannot be typed here", PICK) from None
    unit = preferences.unit(field.quantity) if field.quantity else ""
    return value_body(read_value(field, text, unit))


def _said(kind: str, path: str, text: str, body: dict[str, Any]) -> Any:
    from trackside.records import KINDS

    value: Any = clean(text).strip() or None
    if path in ("balance", "rating") and value is not None:
        value = int(value) if value.lstrip("+-").isdigit() else value
    checked: type[Record] = KINDS[kind]
    checked.checked({**body, path: value})
    return value


def _of_form(
    kind: str, path: str, text: str, body: dict[str, Any], preferences: Preferences
) -> Any:
    from trackside.crew.cell_text import change
    from trackside.crew.forms import FORMS, entries

    for form in FORMS:
        entry = entries(form).get(f"{kind}.{path}")
        if entry is not None:
            return change(kind, body, {entry: text}, preferences)[path]
    raise BadInput(f"{path} of a {kind} cannot be typed here", PICK)
