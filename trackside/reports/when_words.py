"""When a run began, or is to begin, and when a build was made, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trackside.logbook import SessionLine
    from trackside.records import Build


def when_words(line: SessionLine) -> str:
    """`2026-05-09 10:45`; `opened 2026-05-09 08:12` where nobody typed its start; empty where
    nothing is known of it."""
    when = line.start[:16]
    return f"opened {when}" if line.opened else when


def when_in_heading(line: SessionLine) -> str:
    """The same, of an opening the time alone: a heading has to leave room for the driver."""
    return f"opened {line.start[11:16]}" if line.opened else line.start[:16]


def when_short(line: SessionLine) -> str:
    """The same in 11 cells, for a list: `05-09 10:45`, `05-09~08:12` where nobody typed it; a time
    alone where it has no day."""
    when = line.start[5:16] if line.is_dated else line.start[:11]
    return when.replace(" ", "~") if line.opened else when


def made_words(build: Build) -> str:
    """The day of a build; where nobody typed one, when it was entered."""
    return build.date_said or (f"entered {build.entered}" if build.entered else "")
