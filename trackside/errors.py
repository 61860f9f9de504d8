"""Every error that a person can meet: a title, its cause, and what to do about it.

TracksideError
├── BadInput            what was typed, or a file that was given, cannot be used
│   ├── BadNumber       not a number, or not in a unit of that quantity
│   ├── BadRecord       a record that contradicts itself
│   ├── BadSheet        a dyno sheet that cannot be read or fitted
│   │   └── BadColumns  a person must say what its columns are
│   ├── BadImport       an exchange file that cannot be taken in
│   └── BadPreference   a line of the preferences file that cannot be used
├── NoEstimate          there is nothing to estimate a force from
├── UnknownRecord       no such session, corner, damper, set-up
│   └── NotEntered      none of that kind was entered yet
├── HubError            the team hub refuses, or is not what it should be
│   ├── HubAway         it cannot be reached; everything is kept here
│   └── HubFull         it has no room left
└── LogbookError        the logbook file
    ├── LogbookBusy     another window holds it
    ├── LogbookNewer    written by a newer trackside
    ├── LogbookDamaged  not a logbook, or broken
    └── LogbookFull     no room, or no permission, to write
"""

from __future__ import annotations

from typing import ClassVar


class TracksideError(Exception):
    """An error with a cause and a remedy, each in plain words; `str()` is one sentence of both."""

    title: ClassVar[str] = "Something is wrong"

    def __init__(self, cause: str, remedy: str = "") -> None:
        self.cause = cause.rstrip(".")
        self.remedy = remedy.rstrip(".")
        super().__init__(self.cause, self.remedy)

    def __str__(self) -> str:
        said = f"{self.cause}: {self.remedy}" if self.remedy else self.cause
        return said if said.endswith("?") else f"{said}."


class BadInput(TracksideError):
    """What was typed, or a file that was given, cannot be used as it is."""

    title = "This cannot be used"


class BadNumber(BadInput):
    """Text that is not a number, or carries a unit of another quantity."""

    title = "Not a number of this kind"


class BadRecord(BadInput):
    """A record that contradicts itself."""

    title = "This record contradicts itself"


class BadSheet(BadInput):
    """A dyno sheet that cannot be read or fitted; the cause names file and line."""

    title = "This dyno sheet cannot be used"


class BadColumns(BadSheet):
    """A table whose columns are not understood; `columns` are their names in the file."""

    def __init__(self, cause: str, remedy: str = "", columns: tuple[str, ...] = ()) -> None:
        super().__init__(cause, remedy)
        self.columns = columns


class BadImport(BadInput):
    """An exchange file that cannot be taken in; nothing of it was saved."""

    title = "This file cannot be taken in"


class BadPreference(BadInput):
    """A line of the preferences file that cannot be used."""

    title = "A preference cannot be used"


class NoEstimate(TracksideError):
    """There is nothing to estimate a force from; the cause says what is missing."""

    title = "No estimate"


class ChargeNotRead(NoEstimate):
    """The gas of a damper was not read in that session: the charge is never taken from another."""


class UnknownRecord(TracksideError):
    """No session, corner, damper or kept set-up answers to that name."""

    title = "Not in this logbook"


class NotEntered(UnknownRecord):
    """No record of that `kind` was entered yet, and this needs one."""

    def __init__(self, kind: str, remedy: str = "enter one first") -> None:
        super().__init__(f"there is no {kind} yet", remedy)
        self.kind = kind


class HubError(TracksideError):
    """The team hub refuses, or is not what it should be; nothing here is lost by it."""

    title = "The team hub"


class HubAway(HubError):
    """The team hub cannot be reached, or went away; everything is kept here."""

    title = "The team hub cannot be reached"


class HubFull(HubError):
    """The hub has no room left."""

    title = "The team hub is full"


class LogbookError(TracksideError):
    """The logbook file cannot be opened, read or written."""

    title = "The logbook"


class LogbookBusy(LogbookError):
    """Another window or program holds the file for longer than we wait."""

    title = "The logbook is busy"


class LogbookNewer(LogbookError):
    """The file was written by a newer trackside; it can be read, not written."""

    title = "The logbook is newer than this program"


class LogbookDamaged(LogbookError):
    """The file is not a logbook, or part of it is broken."""

    title = "The logbook is damaged"


class LogbookFull(LogbookError):
    """The disk is full, or the file may not be written."""

    title = "The logbook cannot be written"
