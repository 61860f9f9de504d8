"""News that goes up."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from textual.message import Message

from trackside.errors import TracksideError

if TYPE_CHECKING:
    from trackside.review.shed import Shed


class FirstPaint(Message):
    """The pit board stands on the screen for the first time: what is heavy may begin."""


@dataclass
class Kept(Message):
    """The logbook has committed what was typed at `path`."""

    path: str


@dataclass
class NotKept(Message):
    """A write failed; the value stays on the table and is tried again with the next one."""

    path: str
    error: TracksideError


@dataclass
class ShedReady(Message):
    """Dampers, sheets and their fits stand ready: estimates can be drawn. `number` tells the
    newest reading from one that comes in late."""

    shed: Shed
    number: int


@dataclass
class ShedChanged(Message):
    """A car, damper, build or dyno sheet was written: the shed is to be read again."""


@dataclass
class DeskChanged(Message):
    """Another session is in hand, or the one in hand changed from elsewhere."""


@dataclass
class Printed(Message):
    """A page stands in that file, to be printed."""

    path: Path


@dataclass
class Failed(Message):
    """Work in the background failed; the sentence says why."""

    error: TracksideError


@dataclass
class NoticesChanged(Message):
    """What stands on the pit board about the keeping of the logbook may have changed."""
