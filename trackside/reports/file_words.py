"""A file that a note names, in words: how large it is, and whether it is there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.records.note import NamedFile

STATES = {
    "there": "",
    "missing": "missing here",
    "changed": "changed since it was kept",
}


def file_words(file: NamedFile, state: str = "there") -> str:
    """`tyre.jpg (1.2 MB)`, `tyre.jpg (1.2 MB, missing here)`."""
    kilobytes = file.size / 1000
    size = f"{kilobytes / 1000:.1f} MB" if kilobytes >= 1000 else f"{max(1, round(kilobytes))} kB"
    told = ", ".join(part for part in (size, STATES[state]) if part)
    return f"{one_line(file.name)} ({told})"
