"""Deciding a conflict: for one of its versions, or for a value typed by hand, at any place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trackside.errors import BadInput
from trackside.preferences import Preferences
from trackside.records.base import Record
from trackside.units import clean, one_line

if TYPE_CHECKING:
    from trackside.logbook import Conflict, Logbook, Revision

PICK = "take one of the versions"


class Decision(NamedTuple):
    """What a person decided: the `verdict` as `Logbook.settle` takes it, and the `value` that holds
    then. `second` is the name of the second of two things that were taken for one."""

    dispute: Conflict
    verdict: Any
    value: Any
    second: str = ""


def for_version(dispute: Conflict, place: int) -> Decision:
    """For the version at that place, counted from 0; of what was entered twice, it takes what only
    the other has. BadInput where there is no such version."""
    if not 0 <= place < len(dispute.versions):
        raise BadInput(f"there is no version {place + 1}", PICK)
    return Decision(dispute, dispute.verdict(place), dispute.versions[place].value)


def for_text(logbook: Logbook, dispute: Conflict, text: str, preferences: Preferences) -> Decision:
    """For what is typed: another value than any version's; of what was entered twice, that they are
    two things, the second of that name. BadInput where it cannot be read."""
    if dispute.twins:
        name = one_line(text)
        return Decision(dispute, name, {}, name)
    body = logbook.state(dispute.entity) or {}
    value = value_typed(dispute.kind, dispute.path, text, body, preferences)
    return Decision(dispute, value, value)


def settle(logbook: Logbook, decision: Decision, why: str) -> Revision:
    """Write the decision down, with its reason; every version stays in the history. BadInput where
    nothing is in dispute, or another version has come in since."""
    dispute = decision.dispute
    between = [version.rev for version in dispute.versions]
    values = {dispute.path: decision.verdict}
    revision, *_ = logbook.settle(dispute.entity, values, one_line(why), between=between)
    return revision


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
    if kind in ("note", "change", "kept", "job"):
        return _said(kind, path, text, body)
    return _of_form(kind, path, text, body, preferences)


def _of_session(path: str, text: str, preferences: Preferences) -> Any:
    from trackside.records import read_value, value_body
    from trackside.records.fields import field_of
    from trackside.records.laps import read_laps

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
    left = {name: said for name, said in body.items() if name != path}
    checked.checked(left if value is None else {**left, path: value})
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
