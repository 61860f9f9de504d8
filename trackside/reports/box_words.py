"""The disc box in words: a part on a line, and what a change came to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from trackside.crew.cell_text import text_of
from trackside.crew.disc_box import KIND, Counted, PartInBox, Wanted
from trackside.crew.forms import entries
from trackside.preferences import Preferences
from trackside.records.box_part import BoxPart
from trackside.records.discs import disc_text, in_mm
from trackside.reports.mark_words import figure_problem
from trackside.units import one_line

HEADS: Final = ("part", "how many", "hole mm", "place", "notes")
EMPTY: Final = "The disc box is empty."


def part_words(part: BoxPart) -> str:
    """`27×0.15`, `clamp disc 14`, `spacer 0.30`, `bleed disc 4×2.00×0.15`, sizes in mm."""
    thick = in_mm(part.thickness, 2)
    if part.sort == "disc":
        told = disc_text(part.diameter, part.thickness)
    elif part.sort == "clamp disc":
        told = f"clamp disc {in_mm(part.diameter)}" + (f"×{thick}" if part.thickness else "")
    elif part.sort == "spacer":
        told = f"spacer {thick}"
    elif part.sort == "bleed disc":
        told = f"bleed disc {part.slot_count or '?'}×{in_mm(part.slot_width, 2)}×{thick}"
    else:
        told = part.sort
    return f"{told} {one_line(part.name)}" if part.name else told


def part_row(part: PartInBox) -> tuple[str, ...]:
    """The part under `HEADS`."""
    record = part.record
    hole = in_mm(record.hole) if record.hole else ""
    notes = one_line(record.words)
    return part_words(record), str(record.count), hole, record.place or "", notes


def part_doubts(stored: Mapping[str, Any], preferences: Preferences) -> list[str]:
    """What cannot be right of a part's figures, a sentence each."""
    found = ((e, figure_problem(e, stored, preferences)) for e in entries(KIND).values())
    told = [f"{entry.label}: {problem}" for entry, problem in found if problem]
    part, _ = BoxPart.as_far_as_read(dict(stored))
    if part.sort not in ("needle", "oil") and part.sizes is None:
        told.append("a size is not known: no search takes it")
    if part.sort == "disc" and part.hole and part.diameter and part.hole >= part.diameter:
        told.append("the hole is as wide as the disc: swapped?")
    return told


def part_lines(part: PartInBox, preferences: Preferences) -> list[tuple[str, str]]:
    """(style, line) of all that is known of a part."""
    told = [("bold", f"! {doubt}") for doubt in part_doubts(part.stored, preferences)]
    told.append(("bold", f"{part_words(part.record)}: {part.record.count} in the box"))
    for entry in entries(KIND).values():
        if entry.path not in ("sort", "count", "name") and (
            text := text_of(entry, part.stored, preferences)
        ):
            told.append(("", f"{entry.label.lower()} {text} {entry.unit_in(preferences)}".strip()))
    return told


def moved_words(wanted: Sequence[Wanted], way: str) -> str:
    """`put in: 27×0.15 ×6, spacer 0.30 ×2`."""
    return f"{way}: " + ", ".join(f"{part_words(one.record)} ×{one.pieces}" for one in wanted)


def counted_words(counted: Counted) -> str:
    """`3 new, 2 changed, 5 as they were; not read: Price`."""
    told = f"{counted.added} new, {counted.changed} changed, {counted.same} as they were"
    return told + (f"; not read: {', '.join(counted.unknown)}" if counted.unknown else "")
