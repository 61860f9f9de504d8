"""Looking back: who set what, when, what it was before, and why."""

from __future__ import annotations

from datetime import datetime
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any, Final

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say
from trackside.errors import BadInput
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook import Entry, Logbook, SessionLine
    from trackside.preferences import Preferences


@click.command(short_help="Who set what, when and why.")
@click.argument("session")
@click.argument("path", required=False)
@click.option("--at", metavar="TIME", help="The session as recorded by then (local time).")
@scripted
@click.pass_obj
def history(
    context: CommandContext, session: str, path: str | None, at: str | None, as_json: bool
) -> None:
    """The history of a session, newest first, or of one value: PATH is driver, FL.rebound_bleed,
    or a whole corner, FL; notes and reasons are what was said of it. Where two laptops differed,
    (current) is beside the change that set the present value."""
    if at and path:
        raise click.UsageError("--at shows the whole session: leave the value out")
    _refuse_unknown(path or "")
    with context.reader() as logbook:
        line = logbook.session_line(logbook.session(session))
        if path in _SAID:
            _tell_said(logbook, line, _SAID[path], as_json)
            return
        entries = logbook.history(line.entity, path)
        then = logbook.as_of(line.entity, moment(at)) if at else None
        if as_json:
            emit(
                {"id": line.short, "at": at, "recorded": then}
                if at
                else [_body(e) for e in entries]
            )
            return
        from trackside.cli.output import heading

        say(heading(line))
        if at:
            _say_then(then, at, context.preferences, logbook)
        elif not entries:
            say(f"Nothing was ever written at {path}.")
        for entry in () if at else entries:
            _say_entry(entry, context.preferences, logbook)


_SAID: Final = {"notes": "note", "reasons": "change"}
"""What was said of a session, by the kind of its records."""


def _tell_said(logbook: Logbook, line: SessionLine, kind: str, as_json: bool) -> None:
    """The history of every note, or reason, of that session."""
    entities = [entity for entity, _ in logbook.of_session(kind, line.entity)]
    if as_json:
        emit([{"entity": e, **_body(entry)} for e in entities for entry in logbook.history(e)])
        return
    from trackside.cli.output import heading
    from trackside.reports.said_words import past_words

    say(heading(line))
    for entity in entities:
        say(f"{'note' if kind == 'note' else 'reason'} {entity[-6:]}")
        say(*(f"  {said}" for said in past_words(logbook, entity)))


def _refuse_unknown(path: str) -> None:
    """BadInput for what is neither a corner nor a value of a session: a typo has no history."""
    from trackside.records.fields import CORNER_FIELDS, CORNERS, SESSION_FIELDS, field_of

    if not path or path in CORNERS or path == "items" or path in _SAID:
        return
    try:
        field_of(path)
    except KeyError:
        at, _, name = path.partition(".")
        known = CORNER_FIELDS if at in CORNERS else SESSION_FIELDS
        typed = (name or at).lower()
        near = [one for one in known if one.startswith(typed)] or get_close_matches(typed, known)
        like = f"{at}.{near[0]}" if near and at in CORNERS else near[0] if near else ""
        raise BadInput(
            f"“{path}” is no value of a session",
            f"did you mean {like}?" if like else "name a corner (FL), FL.camber or driver",
        ) from None


def moment(text: str) -> datetime:
    """A date and time as typed, by this computer's clock unless it names its zone; BadInput if it
    is none."""
    try:
        return datetime.fromisoformat(text).astimezone()
    except (ValueError, OverflowError) as error:
        raise BadInput(
            f"“{text}” is not a date and time", "write it like 2026-05-09T14:00"
        ) from error


def _body(entry: Entry) -> dict[str, Any]:
    changes = [
        {"path": path, "before": before, "after": after}
        for path, (before, after) in entry.changes.items()
    ]
    return {**entry._asdict(), "changes": changes}


def _say_entry(entry: Entry, preferences: Preferences, logbook: Logbook) -> None:
    from trackside.reports.naming import moment_in_words, value_in_words

    words = [moment_in_words(entry.recorded_at), one_line(entry.author), entry.step or ""]
    words.append("taken off the logbook" if entry.op == "drop" else "kept" if entry.kept else "")
    head = "  ".join(word for word in words if word)
    say(head + (f": {one_line(entry.reason)}" if entry.reason else ""))
    for path, (before, after) in entry.changes.items():
        was, now = (value_in_words(v, path, preferences, logbook) for v in (before, after))
        say(f"  {path:<20} {was} → {now}" + ("  (current)" if path in entry.stands else ""))
    for path in entry.stands:
        if path not in entry.changes:
            say(f"  {path:<20} (current)")


def _say_then(
    body: dict[str, Any] | None, at: str, preferences: Preferences, logbook: Logbook
) -> None:
    from trackside.logbook.fold import leaves
    from trackside.reports.naming import value_in_words

    say(f"as recorded by {at}:" if body else f"nothing was recorded by {at}")
    for parts, value in leaves(body or {}):
        path = ".".join(parts)
        say(f"  {path:<20} {value_in_words(value, path, preferences, logbook)}")
