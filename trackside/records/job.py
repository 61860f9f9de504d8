"""A job on a car: what is to be done, by whom, and whether it is done."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from trackside.records.base import Line, Record


class Job(Record):
    """One line of a car's job list. `car` and `session` are the entities of their records. Who
    ticked it, and when, is in its revisions: two laptops that tick it wrote the same."""

    car: str = ""
    session: str = ""
    """The run for which it was written down; until it is done it stays on the list of the runs
    behind it."""
    words: Line = Field(min_length=1)
    who: Line | None = None
    done: Literal["yes"] | None = None
    """None while it is open."""
