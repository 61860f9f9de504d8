"""A plan in words: what it changes, and what that does, corner by corner."""

from __future__ import annotations

from collections.abc import Iterator

from trackside.analysis.cavitation import Cavitation
from trackside.analysis.plan import Height, Left, PlannedCorner, PlannedForce
from trackside.analysis.stops import AtStop
from trackside.errors import NoEstimate
from trackside.preferences import Preferences
from trackside.records import Plan, Reading, Session, in_words
from trackside.records.fields import field_of, words_for
from trackside.reports import formatting
from trackside.reports.wheel_words import lack_words
from trackside.units import one_line, show

HEADS = ("", "speed", "force", "step", "±", "%", "ζ")
"""Of the rows of `force_rows`."""


def cell_words(value: Reading | str | None, path: str, preferences: Preferences) -> str:
    """What stands in a cell, in the crew's unit; an en dash for nothing."""
    quantity = field_of(path).quantity
    if value is None:
        return "–"
    return one_line(in_words(value, quantity, preferences.unit(quantity) if quantity else ""))


def cell_lines(plan: Plan, run: Session, preferences: Preferences) -> list[str]:
    """`FL rebound: 8 to 6`, a line for each changed cell."""
    return [
        f"{words_for(path)}: {cell_words(run.value(path), path, preferences)} to "
        f"{cell_words(value, path, preferences)}"
        for path, value in plan.cells.items()
    ]


def force_rows(found: PlannedForce | NoEstimate, preferences: Preferences) -> list[tuple[str, ...]]:
    """A row for each reference speed; none where there is no estimate."""
    if isinstance(found, NoEstimate):
        return []
    step, ratio = found.change, found.wheel.ratio
    rows: list[tuple[str, ...]] = []
    for i, speed in enumerate(found.estimate.speed):
        cells = ("–" if found.why else "same", "", "")
        if step is not None:
            cells = formatting.step_cells(step, i, preferences)
        zeta = "–" if ratio is None else f"{float(ratio[i]):.2f}"
        newton = formatting.force(float(found.estimate.force[i]), preferences)
        rows.append(
            (found.direction, formatting.speed(float(speed), preferences), newton, *cells, zeta)
        )
    return rows


def corner_lines(corner: PlannedCorner, preferences: Preferences) -> list[str]:
    """All that is known of the corner besides its forces, and why the rest is not."""
    return [
        *_not_told(corner),
        left_line(corner.left),
        gas_line(corner.gas, preferences),
        *gap_line(corner.gap, preferences),
        height_line(corner.height, preferences),
    ]


def _not_told(corner: PlannedCorner) -> Iterator[str]:
    """Why a direction has no estimate, no known step or no damping ratio; said once."""
    told = []
    for way, found in corner.forces.items():
        if isinstance(found, NoEstimate):
            told.append((way, f"no estimate, {found}"))
        elif found.why:
            told.append((way, f"step not known, {found.why}"))
        elif found.wheel.ratio is None:
            lacks = "; ".join(lack_words(lack) for lack in found.wheel.missing)
            told.append((way, f"no damping ratio, {lacks}"))
    for words in dict.fromkeys(words for _, words in told):
        ways = " and ".join(way for way, said in told if said == words)
        yield f"{ways}: {words}"


def left_line(left: tuple[Left | NoEstimate, ...]) -> str:
    """`clicks left: rebound 6 to full hard, 12 to full soft`."""
    told = [
        str(one).rstrip(".")
        if isinstance(one, NoEstimate)
        else f"{one.adjuster.words} {one.to_hard:g} to full hard, {one.to_soft:g} to full soft"
        for one in left
    ]
    return f"clicks left: {'; '.join(told) or 'no adjuster on record'}"


def gas_line(gas: Cavitation | NoEstimate, preferences: Preferences) -> str:
    """`gas: holds 2.1 times the bump force at 400 mm/s (at least 1.9)`."""
    if isinstance(gas, NoEstimate):
        return f"cavitation: no estimate, {gas}"
    peak = formatting.speed(gas.peak, preferences, with_unit=True)
    line = (
        f"cavitation: the gas holds {gas.margin:.1f} times the bump force at {peak}, "
        f"at least {gas.least:.1f}"
    )
    return f"{line}: too little" if gas.is_reached else line


def gap_line(gap: AtStop | NoEstimate | None, preferences: Preferences) -> list[str]:
    """How far the wheel travels to its stop; nothing where no stop is entered."""
    if gap is None:
        return []
    if isinstance(gap, NoEstimate):
        return [f"bump stop: no estimate, {gap}"]
    unit = preferences.unit("length")
    rod, wheel = (show(x, "length", unit, with_unit=True) for x in (gap.damper, gap.wheel))
    if gap.wheel <= 0:
        return [f"bump stop: {gap.stop} works at static already, {rod} of the rod in it"]
    return [f"bump stop: {gap.stop} after {wheel} of the wheel, {rod} of the rod"]


def height_line(height: Height, preferences: Preferences) -> str:
    """What the plan does to the ride height."""
    perch = "; the perch not counted: which way it is measured is not on record"
    more = perch if height.perch_moved else ""
    if height.change is None:
        return f"height: no estimate, not on record: {', '.join(height.lacks)}{more}"
    if height.change == 0.0:
        return f"height: as it is{more}"
    unit = preferences.unit("length")
    told = show(height.change, "length", unit, with_unit=True)
    told = told if height.change < 0 else f"+{told}"
    parts = [name for name, part in (("spring", height.spring), ("rod's gas", height.gas)) if part]
    return f"height: {told.replace('-', '−')} by the {' and the '.join(parts)}{more}"
