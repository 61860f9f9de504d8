"""One value that differs between two sessions."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.records.fields import CORNERS


@dataclass(frozen=True)
class ValueChange:
    """One value that differs. `path` is `FL.camber`; `what` the label in words; `how` the change
    in words, the same for both sides of an axle when the same was done."""

    path: str
    what: str
    before: str
    after: str
    how: str
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
    def sentence(self) -> str:
        """`FL rebound: 2 clicks harder (8 to 6 from full hard)`."""
        return f"{self.corner} {self.what}: {self.how}".strip()
