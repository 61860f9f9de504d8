"""The list of dampers: its headings and its lines."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from trackside.tui.columns import Columns

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed
    from trackside.logbook.dampers import LastRan
    from trackside.records import Damper

HEADS = ("Serial", "Model", "Place", "Build", "Sheets", "Last ran")
_WHOLE = ("Sheets", "Last ran")
_LOOKED_UP = ("", "", "", "", "", "2026-10-18 FL")
"""Room for the last column, which is looked up behind the others."""


def shed_columns(shed: Shed, places: Mapping[str, LastRan], room: int) -> Columns:
    """As wide as the dampers of the shed need, in so many cells."""
    rows = [shed_row(shed, damper, places) for damper in shed.dampers]
    rows.append(_LOOKED_UP)
    return Columns.for_words(HEADS, rows, room, whole=_WHOLE, told=("Model",))


def shed_row(shed: Shed, damper: Damper, places: Mapping[str, LastRan]) -> tuple[str, ...]:
    """A damper and where it last ran (`places` by serial, casefolded, empty until looked up)."""
    build = shed.build(damper.serial)
    sheets = len(shed.sheets_of(build)) if build else 0
    place = places.get(damper.serial.casefold())
    never = "never" if places else ""
    return (
        damper.serial,
        damper.model,
        damper.place,
        build.version if build else "none",
        str(sheets) if sheets else "none",
        f"{place.date} {place.corner}" if place else never,
    )
