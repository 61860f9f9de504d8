"""One value that differs between two sessions: what stood there, what stands there now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trackside.analysis.gauges import Verdict
from trackside.records import Reading
from trackside.records.fields import (
    ADJUSTER_WORDS,
    CORNER_FIELDS,
    CORNERS,
    SESSION_FIELDS,
    Field,
)

Value = Reading | str | None
"""A value as a session has it; None where nothing is known."""
End = Literal["hard", "soft", "unknown", "no knob"]
"""From which end a count is made: not known where the build is not, and no end without a knob."""


@dataclass(frozen=True)
class ValueChange:
    """One value that differs. `path` is `FL.camber`, or `items.Rear bar`."""

    path: str
    before: Value
    after: Value
    sense: int = 0
    """1 for harder, or a larger number; −1 for the other way; 0 where it cannot be known."""
    within: str = ""
    """The path of the change that says this one too: a damper's swap says its counts."""

    @property
    def corner(self) -> str:
        """FL, FR, RL, RR; empty for what belongs to the whole car."""
        head = self.path.partition(".")[0]
        return head if head in CORNERS else ""

    @property
    def name(self) -> str:
        """The field's name, or that of the item."""
        return self.path.partition(".")[2] or self.path

    @property
    def field(self) -> Field | None:
        """The run sheet's field; None for an item, which the crew names itself."""
        return (CORNER_FIELDS if self.corner else SESSION_FIELDS).get(self.name)

    @property
    def label(self) -> str:
        """As the run sheet calls it, in small letters; an item as the crew wrote it."""
        if self.field is None:
            return self.name
        return ADJUSTER_WORDS.get(self.name) or self.field.label.lower()


@dataclass(frozen=True)
class ClickChange(ValueChange):
    """A knob that stands elsewhere, or another knob. `ends` is where each count is made from;
    `harder` the clicks that it was turned harder (− for softer), None where the two counts cannot
    be compared; `beyond` whether a count is beyond the knob's clicks."""

    ends: tuple[End, End] = ("unknown", "unknown")
    harder: float | None = None
    beyond: bool = False


@dataclass(frozen=True)
class UnitChange(ValueChange):
    """Another damper (`path` is that of the damper), or another build of it (that of the build).
    `builds` are the builds' names where they are known; `counts` the counts that the swap says."""

    builds: tuple[str | None, str | None] = (None, None)
    counts: tuple[ClickChange, ...] = ()


@dataclass(frozen=True)
class PressureChange(ValueChange):
    """Gas or air that reads otherwise. `pressures` in gauge Pa: of a damper's gas at 20 °C where
    they compare, else as read. `verdict` and `why` are those of `gauges.GaugeChange`."""

    pressures: tuple[float, float] = (0.0, 0.0)
    verdict: Verdict = "unknown"
    why: str = ""

    @property
    def is_set(self) -> bool:
        """Whether gas or air was let in or out."""
        return self.verdict == "set"
