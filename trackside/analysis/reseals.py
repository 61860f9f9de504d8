"""New seals without a new curve: build and dyno sheet stay, and the sheet has not felt them."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Final

from trackside.records import StripDown

if TYPE_CHECKING:
    from trackside.logbook import Logbook

SEALS_IN: Final = "goes_in"
"""The step of a strip-down at which the new seals are in the damper."""
RESEALED: Final = 0.02
"""Half the 95 % band of what new seals alone change, as a share of the force; it is added to the
band of a sheet that was run with the old ones. Our own, no source."""


def reseals(logbook: Logbook) -> dict[str, tuple[str, ...]]:
    """Serial in small letters → the days (YYYY-MM-DD) on which new seals went in, oldest first."""
    found: dict[str, list[str]] = {}
    for entity, job in logbook.records(StripDown, "strip_down"):
        if not job.reseal or SEALS_IN not in job.done:
            continue
        ticked = logbook.history(entity, f"done.{SEALS_IN}")
        if ticked:
            found.setdefault(job.damper.casefold(), []).append(ticked[0].recorded_at[:10])
    return {serial: tuple(sorted(days)) for serial, days in found.items()}


def days_between(first: str, last: str) -> int | None:
    """How many days lie between two days; None where one is none."""
    try:
        return (date.fromisoformat(last[:10]) - date.fromisoformat(first[:10])).days
    except ValueError:
        return None
