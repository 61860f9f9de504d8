"""A part in the shop's disc box: what it is, its sizes, and how many of it there are."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from trackside.records.base import Line, Record, Words
from trackside.records.figure import Positive

Sort = Literal["disc", "clamp disc", "spacer", "bleed disc", "needle", "oil"]


class BoxPart(Record):
    """All parts of one size. Lengths in m; unknown stays None, and is never taken for zero."""

    sort: Sort
    name: Line | None = None
    """Of a needle or an oil; of any other, the maker's own."""
    diameter: Positive = None
    thickness: Positive = None
    """Of a bleed disc: the depth of its slots."""
    hole: Positive = None
    """Diameter of the hole that goes over the post."""
    slot_count: int | None = Field(default=None, ge=0)
    """Of a bleed disc."""
    slot_width: Positive = None
    count: int = Field(default=0, ge=0)
    """How many lie in the box."""
    place: Line | None = None
    """Drawer, tray."""
    words: Words = ""

    @property
    def sizes(self) -> tuple[float, ...] | None:
        """What makes two parts of a sort the same, in µm to a tenth; None while one is unknown."""
        wanted = {
            "disc": (self.diameter, self.thickness),
            "clamp disc": (self.diameter,),
            "spacer": (self.thickness,),
            "bleed disc": (self.slot_count, self.slot_width, self.thickness),
        }.get(self.sort)
        if wanted is None or not all(wanted):
            return None
        return tuple(
            float(size) if isinstance(size, int) else round(float(size or 0) * 1e6, 1)
            for size in wanted
        )
