"""A day and a time as a person types them, written so that they sort."""

from __future__ import annotations

import re
from contextlib import suppress
from datetime import date, datetime
from typing import Final

from trackside.errors import BadInput

_MOMENT: Final = re.compile(r"(?:(\d{4}-\d{2}-\d{2})[ T]+)?(\d{1,2})[:.](\d{2})")


def today() -> date:
    """The day by this computer's clock."""
    return date.today()


def read_day(text: str) -> str:
    """A date, written so that it sorts. BadInput for anything else."""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise BadInput(f"“{text}” is not a date", "type it like 2026-05-09") from None


def read_time(text: str, day: str) -> str:
    """`2026-05-09 10:45`; of a time alone, on that `day`. BadInput for anything else."""
    found = _MOMENT.fullmatch(text.strip())
    if found:
        with suppress(ValueError):
            begun = datetime.fromisoformat(f"{found[1] or day} {int(found[2]):02}:{found[3]}")
            return begun.strftime("%Y-%m-%d %H:%M")
    raise BadInput(f"“{text.strip()}” is no time of day", "type it as 10:45")


def read_moment(text: str, day: str) -> str:
    """The same, or a day without a time."""
    with suppress(ValueError):
        return date.fromisoformat(text.strip()).isoformat()
    try:
        return read_time(text, day)
    except BadInput as error:
        raise BadInput(
            f"“{text.strip()}” is no day or time", "type it like 2026-05-09, or 10:45"
        ) from error
