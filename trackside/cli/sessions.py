"""Looking up: the list of sessions, one of them, and what was kept or said before."""

from __future__ import annotations

from contextlib import suppress
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.history import moment
from trackside.cli.output import emit, heading, say, table
from trackside.errors import BadRecord, UnknownRecord
from trackside.reports.run_state import state_words
from trackside.reports.when_words import when_words
from trackside.units import show_lap

if TYPE_CHECKING:
    from trackside.analysis.gas_loss import LostCharge
    from trackside.logbook import Logbook, SessionLine
    from trackside.preferences import Preferences
    from trackside.records import Reading, Session


@click.command("list", short_help="The runs, newest first.")
@click.option("--limit", type=click.IntRange(min=1), metavar="N", help="Only the newest N.")
@click.option("--driver", metavar="NAME", help="Only this driver's.")
@scripted
@click.pass_obj
def list_(context: CommandContext, limit: int | None, driver: str | None, as_json: bool) -> None:
    """The runs, newest first, event by event."""
    with context.reader() as logbook:
        lines = logbook.session_lines(limit=limit, driver=driver)
        total = logbook.session_count(driver=driver)
    if as_json:
        emit({"total": total, "sessions": [session_body(line) for line in lines]})
        return
    if not lines:
        say("No runs yet.")
    for (venue, date), of_event in groupby(lines, key=lambda line: (line.venue, line.event_date)):
        say(f"{venue or 'no event'} {date}".rstrip())
        table((_cells(line) for line in of_event), right=(5, 6), indent=2)
    if len(lines) < total:
        say(f"{total - len(lines)} older ones are not shown.")


def session_body(line: SessionLine) -> dict[str, Any]:
    """A session's line as JSON speaks of it; unknown is null."""
    body = {name: (None if value == "" else value) for name, value in line._asdict().items()}
    body["id"] = body.pop("short")
    return {"id": body.pop("id"), **body}


def _cells(line: SessionLine) -> tuple[str, ...]:
    timed = f"{line.timed_laps} timed" if line.timed_laps else ""
    laps = timed if line.laps is None else f"{line.laps} laps"
    worked_out = "" if line.best_timed_s is None else f"{show_lap(line.best_timed_s)} of the laps"
    best = worked_out if line.best_lap_s is None else show_lap(line.best_lap_s)
    marks = [line.surface if line.wet else "", "kept" if line.kept else "", line.result]
    state = "" if line.status.casefold() == "done" else state_words(line.status, line.ran)
    return (
        line.short,
        when_words(line),
        line.car_name,
        line.title,
        line.driver,
        laps,
        best,
        ", ".join(mark for mark in (state, *marks) if mark),
    )


def record_of(logbook: Logbook, entity: str, at: str | None = None) -> Session:
    """The session's record; with `at` (local time), as it was recorded by then. UnknownRecord when
    there was none yet."""
    if at is None:
        return logbook.session_record(entity)
    body = logbook.as_of(entity, moment(at))
    if body is None:
        raise UnknownRecord(f"nothing of this session was recorded by {at}", "name a later time")
    return logbook.session_record(entity, body)


def _said(
    logbook: Logbook, kind: str, session: str, at: str | None
) -> list[tuple[str, dict[str, Any]]]:
    """The notes, reasons or kept set-ups of a session, each as it stands in the logbook; with `at`,
    those recorded by then that still belong to it."""
    found = logbook.of_session(kind, session)
    if at is None:
        return found
    then = ((entity, logbook.as_of(entity, moment(at))) for entity, _ in found)
    return [(entity, body) for entity, body in then if body]


def _readable(
    logbook: Logbook, kind: str, said: list[tuple[str, dict[str, Any]]]
) -> list[dict[str, Any]]:
    """Those of them that can be read, without the values that cannot."""
    found = []
    for entity, body in said:
        with suppress(BadRecord):
            found.append(logbook.as_record(kind, entity, body).body())
    return found


@click.command(short_help="One session, whole.")
@click.argument("session")
@click.option("--as-of", "at", metavar="TIME", help="As it was recorded by then (local time).")
@scripted
@click.pass_obj
def show(context: CommandContext, session: str, at: str | None, as_json: bool) -> None:
    """One session: what each corner ran, conditions, notes, reasons; what cannot be right, and gas
    lost since the session before.

    With --as-of 2026-05-09T14:00 as it stood in the logbook at that time, whatever was corrected
    since.
    """
    from trackside.analysis.fitted_elsewhere import fitted_elsewhere
    from trackside.analysis.shed import Shed
    from trackside.cli.garage_book import beside_body
    from trackside.logbook.attached import folder_of
    from trackside.reports.beside_run import beside_lines
    from trackside.reports.gas_words import lost_charge_words
    from trackside.reports.mark_words import problems

    with context.reader() as logbook:
        line = logbook.session_line(logbook.session(session))
        record = record_of(logbook, line.entity, at)
        elsewhere = {} if at else fitted_elsewhere(logbook, line.entity)
        marks = problems(record, Shed.of(logbook), context.tell_in(as_json), elsewhere)
        missing = _lost_charges(logbook, line.entity, record, at)
        lost = [lost_charge_words(one, context.tell_in(as_json)) for one in missing]
        beside = [] if at else beside_lines(logbook, line.entity, record, context.preferences)
        book = {} if at or not as_json else beside_body(logbook, line.entity, record)
        kinds = (("notes", "note"), ("reasons", "change"), ("kept", "kept"))
        stored = {name: _said(logbook, kind, line.entity, at) for name, kind in kinds}
        said = {name: _readable(logbook, kind, stored[name]) for name, kind in kinds}
        folder = folder_of(logbook.path)
        jobs = [] if at else _jobs(logbook, line.entity)
    if as_json:
        body = {"session": session_body(line), **_record_body(record), "marks": marks}
        body |= {"lost_charge": lost, "ran": record.ran, "jobs": jobs, **book}
        body |= {name: [{"id": e, **b} for e, b in found] for name, found in stored.items()}
        emit({"as_of": at, **body} if at else body)
        return
    say(heading(line))
    if at:
        say(f"as recorded by {at}:")
    _say_session(record, context.preferences)
    _say_corners(record, context.preferences)
    for sentence in beside:
        say(sentence)
    for path, why in marks.items():
        say(f"! {path}: {why}")
    for sentence in lost:
        say(f"! {sentence}")
    _say_words(record, said, folder)
    _say_jobs(jobs)


def _jobs(logbook: Logbook, session: str) -> list[dict[str, Any]]:
    """The jobs on the sheet of that run."""
    from trackside.cli.jobs import job_body
    from trackside.crew.jobs import Jobs

    jobs = Jobs(logbook)
    return [job_body(jobs, job) for job in jobs.on_sheet(session)]


def _say_jobs(jobs: list[dict[str, Any]]) -> None:
    for job in jobs:
        state = "done" if job["done"] else "to do"
        say(": ".join(part for part in (f"job {state}", job["words"], job["who"]) if part))


def _lost_charges(
    logbook: Logbook, entity: str, record: Session, at: str | None
) -> list[LostCharge]:
    """Gas that went missing since the damper's charge was last read, as the run sheet marks it;
    with `at`, since the car's session before as it was recorded by then."""
    from trackside.analysis.gas_loss import charge_before, lost_charge, lost_charges
    from trackside.analysis.last_read import LastReadings
    from trackside.records.fields import CORNERS

    if at is None:
        last = LastReadings(logbook)
        befores = {c: charge_before(last, entity, record, c) for c in CORNERS}
        found = (lost_charge(before, record, c) for c, before in befores.items())
        return [one for one in found if one]
    older = logbook.session_lines(car=record.car, before=entity, limit=1) if record.car else []
    try:
        before = record_of(logbook, older[0].entity, at) if older else None
    except UnknownRecord:  # recorded later
        before = None
    return [] if before is None else lost_charges(before, record)


def _record_body(record: Session) -> dict[str, Any]:
    """The session's values by path, each reading with the unit of its SI number."""
    from trackside.records.fields import CORNER_FIELDS, CORNERS, SESSION_FIELDS

    def values(names: Any, prefix: str = "") -> dict[str, Any]:
        found = {name: record.value(prefix + name) for name in names}
        return {name: _value_body(value, names[name]) for name, value in found.items()}

    return {
        "values": values(SESSION_FIELDS),
        "corners": {corner: values(CORNER_FIELDS, f"{corner}.") for corner in CORNERS},
        "items": record.items,
        "lap_times_s": list(record.lap_times),
        "from_lap_times": from_laps(record),
        "fuel_use": fuel_use(record),
        "words": record.words,
    }


def from_laps(record: Session) -> dict[str, Any]:
    """What the lap times give, whatever was typed beside them."""
    from trackside.records.laps import timed

    laps = timed(record.lap_times)
    return {"timed_laps": len(laps), "best_lap_s": min(laps, default=None)}


def fuel_use(record: Session) -> dict[str, Any] | None:
    """What the run burnt, in SI; null where the two readings do not give it."""
    from trackside.analysis.fuel import fuel_used

    found = fuel_used(record)
    if found is None:
        return None
    laps = found.laps
    return {
        "used": found.used,
        "per_lap": found.per_lap,
        "si_unit": found.base,
        "laps": laps.number if laps else None,
        "laps_from_lap_times": laps.from_laps if laps else None,
    }


def _value_body(value: Reading | str | None, field: Any) -> Any:
    from trackside.records import Reading as ReadingRecord
    from trackside.units import QUANTITIES

    if not isinstance(value, ReadingRecord):
        return value or None
    unit = QUANTITIES[field.quantity].unit(value.unit) if value.unit else None
    base = (unit or QUANTITIES[field.quantity].units[0]).base
    return {"typed": value.typed, "unit": value.unit, "si": value.si, "si_unit": base}


def _say_session(record: Session, preferences: Preferences) -> None:
    from trackside.records.fields import SESSION_FIELDS
    from trackside.reports import formatting
    from trackside.reports.fuel_words import fuel_words
    from trackside.reports.lap_words import from_laps_words

    for group in ("weather", "run"):
        told = [
            f"{field.label.lower()} {formatting.value(found, field.quantity, preferences)}"
            for name, field in SESSION_FIELDS.items()
            if field.group == group and (found := record.value(name))
        ]
        if told:
            say(", ".join(told))
    if worked_out := from_laps_words(record):
        say(f"lap times: {worked_out}")
    if used := fuel_words(record, preferences):
        say(used)
    if record.items:
        say(", ".join(f"{name} {text}" for name, text in record.items.items()))
    state = state_words(record.status, record.ran, at_length=True)
    if state.casefold() not in ("", "done"):
        say(f"status: {state}")


def _say_corners(record: Session, preferences: Preferences) -> None:
    from trackside.records.fields import CORNER_FIELDS, CORNERS
    from trackside.reports import formatting

    rows: list[tuple[str, ...]] = [("", *CORNERS)]
    for name, field in CORNER_FIELDS.items():
        found = [record.corner(corner).value(name) or None for corner in CORNERS]
        if any(found):
            cells = (formatting.value(value, field.quantity, preferences) for value in found)
            rows.append((field.label, *cells))
    if len(rows) > 1:
        say("")
        table(rows, right=range(1, 5))


def _say_words(record: Session, said: dict[str, list[dict[str, Any]]], folder: Path) -> None:
    from trackside.logbook.attached import is_there
    from trackside.records import BALANCE_WORDS, Note
    from trackside.reports.file_words import file_words

    if record.words:
        say("", record.words)
    for note in said["notes"]:
        where = [note.get("phase") or "", f"turn {note['turn']}" if note.get("turn") else ""]
        if note.get("balance") is not None:
            where.append(BALANCE_WORDS[note["balance"]])
        if note.get("rating") is not None:
            where.append(f"{note['rating']} of 10")
        told = [note.get("driver") or "driver", ", ".join(part for part in where if part)]
        say(": ".join(part for part in (*told, note.get("words")) if part))
        for file in Note(session="", files=note.get("files")).files or ():
            there = "there" if is_there(folder, file) else "missing"
            say(f"  file: {file_words(file, there)}")
    for reason in said["reasons"]:
        verdict = " ".join(filter(None, (reason.get("verdict"), reason.get("verdict_words"))))
        say(
            f"{reason.get('what') or 'change'}: {reason.get('reason') or 'no reason given'}"
            + (f" → {verdict}" if verdict else "")
        )
    for kept in said["kept"]:
        say(f"kept as “{kept.get('title', '')}”: {kept.get('why', '')}")
