"""Where it is kept: an append-only logbook in one SQLite file."""

from trackside.logbook.conflicts import Conflict, Version
from trackside.logbook.drafts import Draft
from trackside.logbook.history import Entry, Undone
from trackside.logbook.pitboard import EventGroup, SessionLine
from trackside.logbook.revisions import Revision, Write, drop, patch, put
from trackside.logbook.search import Found
from trackside.logbook.store import Logbook
from trackside.logbook.verify import Check

__all__ = [
    "Check",
    "Conflict",
    "Draft",
    "Entry",
    "EventGroup",
    "Found",
    "Logbook",
    "Revision",
    "SessionLine",
    "Undone",
    "Version",
    "Write",
    "drop",
    "patch",
    "put",
]
