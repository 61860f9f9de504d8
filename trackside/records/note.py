"""What was said: the driver's words, the engineer's reasons and verdicts, why a set-up is kept."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from trackside.records.base import Line, Record, Words


class Note(Record):
    """A driver's note. Balance runs from -3 (much understeer) to +3 (much oversteer)."""

    session: str
    driver: Line = ""
    phase: Literal["", "braking", "entry", "mid", "exit", "kerbs", "straight"] = ""
    turn: Line | None = None
    balance: Annotated[int, Field(ge=-3, le=3)] | None = None
    rating: Annotated[int, Field(ge=1, le=10)] | None = None
    words: Words = ""


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
