"""One line of the list of dampers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rich.cells import set_cell_size
from rich.text import Text

from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook.dampers import LastRan
    from trackside.review.shed import Shed


def shed_row(shed: Shed, index: int, places: Mapping[str, LastRan], wide: bool) -> Text:
    """The damper at that line and where it last ran (`places` by serial, casefolded, empty until
    looked up); below the dampers, what cannot be read."""
    if index >= len(shed.dampers):
        unread = shed.unread[index - len(shed.dampers) :][:1]
        return Text("".join(f" ! {one_line(sentence)}" for sentence in unread), "bold")
    damper = shed.dampers[index]
    build = shed.build(damper.serial)
    sheets = len(shed.sheets_of(build)) if build else 0
    columns = (
        (damper.serial, 14),
        (damper.model, 38 if wide else 18),
        (damper.place, 22 if wide else 15),
        (f"build {build.version}" if build else "no build", 9),
        ({0: "no sheet", 1: "1 sheet"}.get(sheets, f"{sheets} sheets"), 9),
    )
    line = Text(" ")
    for words, width in columns:
        line.append(set_cell_size(set_cell_size(one_line(words), width - 1), width))
    place = places.get(damper.serial.casefold())
    if place is not None:
        line.append(f"{place.date} {place.corner}")
    elif places:
        line.append("never ran")
    return line
