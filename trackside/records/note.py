"""What was said: the driver's words, the engineer's reasons and verdicts, why a set-up is kept."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from trackside.records.base import Line, Record, Words


class NamedFile(Record):
    """A file beside the logbook: what it was called, the SHA-256 of what it holds, by which it is
    found, and its size in bytes."""

    IN_PARTS: ClassVar[bool] = False

    name: Line = Field(min_length=1, max_length=200)
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    size: int = Field(gt=0)


class Note(Record):
    """A driver's note. Balance runs from -3 (much understeer) to +3 (much oversteer)."""

    session: str
    driver: Line = ""
    phase: Literal["", "braking", "entry", "mid", "exit", "kerbs", "straight"] = ""
    turn: Line | None = None
    balance: Annotated[int, Field(ge=-3, le=3)] | None = None
    rating: Annotated[int, Field(ge=1, le=10)] | None = None
    words: Words = ""
    files: tuple[NamedFile, ...] | None = None
    """Photos and files that belong to it."""


class Change(Record):
    """Why the engineer changed something for a session, and what came of it."""

    session: str
    what: Line = ""
    reason: Words = ""
    verdict: Literal["", "better", "no difference", "worse", "unclear"] = ""
    verdict_words: Words = ""

    @property
    def unjudged(self) -> bool:
        """Whether it says what was changed, or why, and not what came of it."""
        return bool(self.what or self.reason) and not (self.verdict or self.verdict_words)


class Kept(Record):
    """A set-up put on the shelf: the session that ran it and why it is worth keeping."""

    session: str
    title: Line = ""
    why: Words = ""
    result: Line = ""


BALANCE_WORDS = {
    -3: "much understeer",
    -2: "understeer",
    -1: "a little understeer",
    0: "neutral",
    1: "a little oversteer",
    2: "oversteer",
    3: "much oversteer",
}
