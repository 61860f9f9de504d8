"""What is doubtful about a dyno sheet, as facts: the words are made where they are read."""

from __future__ import annotations

from trackside.records.base import Line, Record


class SheetWarning(Record):
    """One doubt. `name` is stable and for scripts; where it is, as far as it is at one place:
    direction, position and preload position as counted, rod speed in m/s. `figures` are SI, shares
    as shares. A serious one keeps the sheet from counting until a person has seen it."""

    name: Line
    serious: bool = False
    direction: str = ""
    position: float | None = None
    preload_position: float | None = None
    speed: float | None = None
    figures: dict[str, float] = {}
    words: Line = ""
    """What is no number: the end that positions count from, a remark in the file."""

    def __hash__(self) -> int:
        """Of where it is; its figures are many and no key of anything."""
        return hash((self.name, self.direction, self.position, self.speed))
