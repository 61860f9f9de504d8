"""The parts of the run sheet: which values stand on each, and where."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from trackside.crew.belonging import BELONGS
from trackside.preferences import Preferences
from trackside.records import Adjuster, Session
from trackside.records.fields import (
    ADJUSTERS,
    CORNER_FIELDS,
    CORNER_NAMES,
    CORNERS,
    OTHER_SIDE,
    SESSION_FIELDS,
    Field,
)
from trackside.tui.choices import is_listed
from trackside.tui.widgets.cells import LABEL_WIDTH, Block, Cell, Kind
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed

NARROW: dict[tuple[str, ...], str] = {
    ("damper",): "Dampers",
    ("spring",): "Springs, heights",
    ("alignment",): "Alignment",
    ("tyre",): "Tyres",
    ("session",): "Session, weather",
}
WIDE: dict[tuple[str, ...], str] = {
    ("damper", "spring"): "Dampers, springs, heights",
    ("alignment", "tyre"): "Alignment, tyres",
    ("session",): "Session, weather",
}
"""The parts of the sheet, by the groups of fields that each shows."""

Laid = tuple[list[Block], list[Cell]]


def names(parts: Mapping[tuple[str, ...], str], now: tuple[str, ...], narrow: bool) -> Text:
    """The names of the parts on a line, that of the present one lit; `narrow` cuts each short."""
    told = Text()
    for number, (groups, label) in enumerate(parts.items()):
        told.append("  " if number else " ")
        short = label.partition(",")[0] if narrow else label
        told.append(f" {short} ", "reverse bold" if groups == now else "")
    return told


def corner_part(
    groups: Iterable[str], session: Session, shed: Shed | None, preferences: Preferences
) -> Laid:
    """Those groups of fields, the four corners as on the car."""
    blocks = [Block(f"{c} {CORNER_NAMES[c]}", c) for c in CORNERS]
    knobs = {c: knobs_at(c, session, shed) for c in CORNERS}
    cells = []
    for block, corner in enumerate(CORNERS):
        names = [n for n, f in CORNER_FIELDS.items() if f.group in groups]
        names = [n for n in names if n not in ADJUSTERS or n in knobs[corner]]
        for row, name in enumerate(names):
            end = _end(knobs[corner].get(name), knobs[OTHER_SIDE[corner]].get(name))
            field = CORNER_FIELDS[name]
            cells.append(_cell(f"{corner}.{name}", field, block, row, preferences, end))
    return blocks, cells


def walk_part(walk: Sequence[str], preferences: Preferences) -> Laid:
    """The values of the walk round the car, the four corners as on the car."""
    blocks = [Block(f"{c} {CORNER_NAMES[c]}", c) for c in CORNERS]
    rows = dict.fromkeys(CORNERS, 0)
    cells = []
    for path in walk:
        corner, _, name = path.partition(".")
        block = CORNERS.index(corner)
        cells.append(_cell(path, CORNER_FIELDS[name], block, rows[corner], preferences))
        rows[corner] += 1
    return blocks, cells


def session_part(session: Session, preferences: Preferences) -> Laid:
    """The session, its run, the weather, and the items of the whole car."""
    run = [n for n, f in SESSION_FIELDS.items() if f.group in ("session", "run")]
    weather = [n for n, f in SESSION_FIELDS.items() if f.group == "weather"]
    half = (len(run) + 1) // 2
    blocks = [Block("Session"), Block("Run"), Block("Weather"), Block("Whole car")]
    cells = [
        _cell(name, SESSION_FIELDS[name], block, row, preferences)
        for block, names in enumerate((run[:half], run[half:], weather))
        for row, name in enumerate(names)
    ]
    cells += [Cell(p, p.capitalize(), 0, half + n, Kind.CHOICE) for n, p in enumerate(BELONGS)]
    cells.append(Cell("lap_times", "Lap times", 1, len(run) - half, Kind.WORDS))
    for row, name in enumerate(session.items):
        cells.append(Cell(f"items.{name}", one_line(name), 3, row, Kind.WORDS))
    return blocks, cells


def knobs_at(corner: str, session: Session, shed: Shed | None) -> dict[str, Adjuster | None]:
    """The knobs of the damper at that corner, and any that hold a value; None for one that is not
    on record."""
    build = shed.build_at(session, corner) if shed else None
    known: dict[str, Adjuster | None] = (
        {a.acts_on: a for a in build.adjusters}
        if build and build.adjusters
        else dict.fromkeys(("bump_bleed", "rebound_bleed"))
    )
    sheet = session.corner(corner)
    return {n: known.get(n) for n in ADJUSTERS if n in known or sheet.value(n) is not None}


def _end(knob: Adjuster | None, beside: Adjuster | None) -> str:
    """The end that a knob counts from, where the one beside it counts from the other."""
    if knob is None or beside is None or knob.counted_from == beside.counted_from:
        return ""
    return knob.counted_from


def _cell(
    path: str, field: Field, block: int, row: int, preferences: Preferences, end: str = ""
) -> Cell:
    """A cell whose label says the unit that a bare number is read in."""
    unit = preferences.unit(field.quantity) if field.quantity else ""
    label, room = field.label, LABEL_WIDTH - len(f" {unit} ")
    if unit and len(label) > room:
        label = f"{label[: room - 1]}."  # Spr. lbf/in: the unit is never cut
    kind = Kind.of(field.quantity, is_listed(path))
    return Cell(path, f"{label} {unit}".strip(), block, row, kind, end)
