"""Lap times: how they are typed, marked, kept and shown, and which of them are timed laps.

A lap is kept as its seconds. One that is marked as an in-lap or an out-lap is kept as it was typed,
its mark behind it, and so is one that cannot be read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

from trackside.errors import BadNumber
from trackside.units import clean, one_line, read, show_lap

MARKS: Final = ("out", "in")
"""What is typed behind a lap that left the pits, or came back to them."""

QUICKEST, SLOWEST = 10.0, 1800.0
"""s. A lap outside is kept and flagged, and no figure is worked out from it: our own, no source."""

FROM_LAPS: Final = "="
"""Behind a best lap that nobody typed, where there is no room for words: the lap times give it."""

Kept = float | str
_APART: Final = r"[;\n]"


class Lap(NamedTuple):
    """One lap: its time in s, None where it has none or none that can be read; its mark; and
    whether somebody can tell what it means."""

    seconds: float | None
    mark: str = ""
    is_read: bool = True


def lap_of(kept: Kept) -> Lap:
    """What a lap means that was kept so: `95.2`, `1:42.5 out`, `in`."""
    if not isinstance(kept, str):
        return Lap(float(kept))
    time, mark = _parted(kept)
    if not mark:
        return Lap(None, is_read=False)
    seconds = _seconds(time)
    return Lap(seconds, mark, is_read=not time or seconds is not None)


def timed(laps: Any) -> list[float]:
    """The times of the timed laps, in s, in their order: neither in-laps nor out-laps, nor what
    cannot be right. `laps` is as the logbook has it, where another laptop may have written
    anything."""
    if not isinstance(laps, (list, tuple)):
        return []
    return [
        float(lap)
        for lap in laps
        if isinstance(lap, (int, float))
        and not isinstance(lap, bool)
        and QUICKEST <= lap <= SLOWEST
    ]


def read_laps(text: str) -> tuple[Kept, ...]:
    """Lap times typed with blanks, semicolons or new lines between; `in` and `out` belong to the
    lap before them, but not across a semicolon or a new line. What cannot be read stays as
    typed."""
    return tuple(lap for part in re.split(_APART, clean(text)) for lap in _laps_in(part))


def _laps_in(text: str) -> Iterator[Kept]:
    words = one_line(text).split()
    while words:
        word = words.pop(0).rstrip(",") or ","
        seconds = _seconds(word)
        mark = words[0].rstrip(",").casefold() if words else ""
        if seconds is not None and mark in MARKS:
            words.pop(0)
            yield f"{word} {mark}"
        elif seconds is not None:
            yield seconds
        else:
            yield word.casefold() if word.casefold() in MARKS else word


def show_laps(laps: Sequence[Kept]) -> str:
    """Lap times as they are typed in: `read_laps` reads the same from it."""
    shown = ""
    for number, lap in enumerate(laps):
        text = lap if isinstance(lap, str) else show_lap(lap)
        apart = "" if not number else "; " if text in MARKS else " "
        shown += apart + text
    return shown


def _parted(lap: str) -> tuple[str, str]:
    """The time and the mark of a lap kept in words; without a mark, no time either."""
    *time, mark = one_line(lap).split() or [""]
    return (" ".join(time), mark.casefold()) if mark.casefold() in MARKS else ("", "")


def _seconds(word: str) -> float | None:
    try:
        return read(word, "lap time").si
    except BadNumber:
        return None
