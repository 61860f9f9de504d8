"""A note or a reason in words, on a line or whole, and what it said before."""

from __future__ import annotations

from collections.abc import Iterator

from trackside.logbook import Logbook
from trackside.logbook.rows import text as value_text
from trackside.records import Change, Note
from trackside.reports.debriefing import notes_said, reasons_said
from trackside.reports.naming import moment_in_words, who_in_words
from trackside.units import one_line

_KINDS = {"note": "note", "change": "reason"}


def waiting_words(count: int) -> str:
    """`1 change waits for its verdict`; empty for none."""
    if count == 1:
        return "1 change waits for its verdict"
    return f"{count} changes wait for their verdict" if count else ""


def said_briefly(kind: str, record: Note | Change) -> str:
    """`reason: Rear bar one hole softer: loose on exit → better`, on one line."""
    return f"{_KINDS[kind]}: {one_line(' '.join(said_whole(kind, record)))}"


def said_whole(kind: str, record: Note | Change) -> list[str]:
    """Its lines, as the debrief has them; who said a note stands before it."""
    if isinstance(record, Note):
        who = f"{record.driver}: " if record.driver else ""
        return [f"{who}{said.text}" for said in notes_said([record])]
    return [said.text for said in reasons_said([record])]


def past_words(logbook: Logbook, entity: str) -> Iterator[str]:
    """Who wrote it and when, then each change of it: from → to, and why; the newest first."""
    for entry in logbook.history(entity):
        who = who_in_words(entry.author, entry.device, logbook.device)
        step = {"undo": ", taken back", "redo": ", set again"}.get(entry.step or "", "")
        reason = f": {one_line(entry.reason)}" if entry.reason else ""
        first = entry.op == "put"
        yield f"{moment_in_words(entry.recorded_at)} {who}{step}{reason}" + (
            ", written down" if first else ""
        )
        if not first:
            for path, (before, after) in entry.changes.items():
                was, now = (one_line(value_text(v)) or "–" for v in (before, after))
                yield f"  {path.replace('_', ' ')}: {was} → {now}"
