"""Plans side by side: the cells that a key steps, the figures under them, and how each is made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

from trackside.analysis.plan import Left, PlannedCorner, PlannedForce
from trackside.errors import NoEstimate
from trackside.preferences import Preferences
from trackside.records import Build, Session
from trackside.records.fields import ADJUSTERS, CORNER_FIELDS, words_for
from trackside.reports import formatting
from trackside.reports.plan_words import gap_line, gas_line, height_line, left_line
from trackside.reports.wheel_words import lack_words
from trackside.units import show

Kind = Literal["cell", "force", "ratio", "left", "gas", "gap", "height"]
Facts = Mapping[str, PlannedCorner]
"""Of the corner that is shown and of the other end of the car on its side."""

_CELLS = (
    "spring_rate", "perch", "bump_stop", "packers", "ride_height",
    "gas_pressure", "cold_pressure", "hot_target",
)  # fmt: skip
_OTHER_END = {"FL": "RL", "FR": "RR", "RL": "FL", "RR": "FR"}
NONE = "no estimate"


class Row(NamedTuple):
    """One line of the board. `path` of a cell; `corner` and `way` of a figure, `at` which of the
    reference speeds."""

    kind: Kind
    label: str
    path: str = ""
    corner: str = ""
    way: str = ""
    at: int = 0


def corners_of(corner: str) -> tuple[str, str]:
    """That corner, and the other end of the car on its side."""
    return corner, _OTHER_END[corner]


def cell_rows(
    run: Session, plans: Sequence[Session], build: Build | None, corner: str
) -> list[Row]:
    """The cells of that corner that a plan can change, then the items of the whole car."""
    knobs = [knob.acts_on for knob in build.in_order()] if build else list(ADJUSTERS)[:2]
    names = (*knobs, *_CELLS)
    rows = [Row("cell", CORNER_FIELDS[name].label, f"{corner}.{name}", corner) for name in names]
    items = dict.fromkeys(name for one in (run, *plans) for name in one.items)
    return rows + [Row("cell", name, f"items.{name}", corner) for name in items]


def figure_rows(corner: str, ways: Sequence[str], preferences: Preferences) -> list[Row]:
    """The figures: force at each reference speed, damping ratio front and rear, limits, height."""
    speeds = preferences.reference_speeds
    middle = min(1, len(speeds) - 1)
    rows = []
    for way in ways:
        short = "Bump" if way == "bump" else "Reb."
        for i, speed in enumerate(speeds):
            rows.append(
                Row("force", f"{short} {formatting.speed(speed, preferences)}", "", corner, way, i)
            )
    for at in sorted(corners_of(corner)):
        told = f"ζ {at} {formatting.speed(speeds[middle], preferences)}"
        rows.append(Row("ratio", told, "", at, ways[0], middle))
    plain: tuple[tuple[Kind, str], ...] = (
        ("left", "Left h/s"), ("gas", "Cavit."), ("gap", "Stop"), ("height", "Height"),
    )  # fmt: skip
    return rows + [Row(kind, label, "", corner, ways[0]) for kind, label in plain]


def figure(row: Row, facts: Facts, preferences: Preferences, width: int) -> str:
    """What stands in a column at that line, the longest that fits; `no estimate` without one."""
    here = facts.get(row.corner)
    if here is None:
        return "…"
    told = _FIGURES[row.kind](row, here, preferences)
    return next((one for one in told if len(one) <= width), told[-1][:width])


def _force(row: Row, here: PlannedCorner, preferences: Preferences) -> list[str]:
    found = here.forces[row.way]
    if isinstance(found, NoEstimate):
        return [NONE]
    newton = formatting.force(float(found.estimate.force[row.at]), preferences)
    step = found.change
    if step is None:
        return [f"{newton} ?" if found.why else newton]
    change, band, percent = formatting.step_cells(step, row.at, preferences)
    return [f"{newton} {change}±{band} {percent}%", f"{newton} {change} {percent}%",
            f"{newton} {change}", newton]  # fmt: skip


def _ratio(row: Row, here: PlannedCorner, preferences: Preferences) -> list[str]:
    found = here.forces[row.way]
    if isinstance(found, NoEstimate) or found.wheel.ratio is None:
        return [NONE]
    return [f"{float(found.wheel.ratio[row.at]):.2f}"]


def _left(row: Row, here: PlannedCorner, preferences: Preferences) -> list[str]:
    for one in here.left:
        if isinstance(one, Left) and one.adjuster.acts_on in (f"{row.way}_bleed", "both_bleed"):
            return [f"{one.to_hard:g} / {one.to_soft:g}"]
    return [NONE]


def _gas(row: Row, here: PlannedCorner, preferences: Preferences) -> list[str]:
    if isinstance(here.gas, NoEstimate):
        return [NONE]
    return [f"×{here.gas.margin:.1f}{' !' if here.gas.is_reached else ''}"]


def _gap(row: Row, here: PlannedCorner, preferences: Preferences) -> list[str]:
    if here.gap is None:
        return ["none entered", "none"]
    if isinstance(here.gap, NoEstimate):
        return [NONE]
    return [show(here.gap.wheel, "length", preferences.unit("length"), with_unit=True)]


def _height(row: Row, here: PlannedCorner, preferences: Preferences) -> list[str]:
    change = here.height.change
    if change is None:
        return [NONE]
    if not change:
        return ["as it is"]
    told = show(change, "length", preferences.unit("length"), with_unit=True)
    return [told.replace("-", "−") if change < 0 else f"+{told}"]


_FIGURES = {
    "force": _force, "ratio": _ratio, "left": _left, "gas": _gas, "gap": _gap, "height": _height,
}  # fmt: skip


def in_words(row: Row, facts: Facts, preferences: Preferences) -> str:
    """The figure in a sentence; why there is none."""
    here = facts.get(row.corner)
    if here is None:
        return ""
    found = here.forces.get(row.way)
    if row.kind == "left":
        return left_line(here.left)
    if row.kind == "gas":
        return gas_line(here.gas, preferences)
    if row.kind == "gap":
        return "; ".join(gap_line(here.gap, preferences)) or "no bump stop is entered"
    if row.kind == "height":
        return height_line(here.height, preferences)
    if isinstance(found, NoEstimate):
        return f"{row.corner} {row.way}: no estimate, {found}"
    if found is None:
        return ""
    if row.kind == "ratio" and found.wheel.ratio is None:
        return "; ".join(lack_words(lack) for lack in found.wheel.missing)
    return _force_words(row, found, preferences)


def _force_words(row: Row, found: PlannedForce, preferences: Preferences) -> str:
    unit = preferences.unit("force")
    at = found.estimate
    low, newton, high = (float(edge[row.at]) for edge in (at.low, at.force, at.high))
    speed = formatting.speed(float(at.speed[row.at]), preferences, with_unit=True)
    told = (
        f"{row.corner} {row.way} at {speed}: {formatting.with_band(newton, low, high, unit)} "
        f"{unit}, {at.basis}"
    )
    if found.why:
        return f"{told}; step not known, {found.why}"
    if found.change is None:
        return f"{told}; nothing moved it"
    step = found.change
    low, change, high = (float(edge[row.at]) for edge in (step.low, step.change, step.high))
    noise = ", within the noise" if step.in_noise[row.at] else ""
    band = formatting.with_band(change, low, high, unit, signs=True)
    return f"{told}; step {band} {unit}, {step.basis}{noise}"


HOW: Mapping[Kind, tuple[tuple[str, str], ...]] = {
    "cell": (
        ("is", "what the plan would set; an en dash where nothing is entered"),
        ("step", "a click for a knob; else 5 N/mm, 1 mm, 0.05 bar, of a charge 0.5 bar: our own, "
         "no source"),
    ),
    "force": (
        ("formula", "the damper's fitted curve at the reference speed; the step is the difference "
         "of two settings on one curve, so that shared errors cancel"),
        ("band", "95 % of the fit, or of the two curves where they differ"),
        ("source", "the dyno sheet, its sisters, a shop rule or the parts: named below"),
    ),
    "ratio": (
        ("formula", "ζ = (F/v)·MR² / (2·√(k·MR²·m)): secant damping over critical damping"),
        ("inputs", "force at that rod speed, motion ratio, spring of the run sheet, else of the "
         "car, corner mass less unsprung mass"),
        ("band", "that of the force, in the same share; no band of masses and ratios is on record"),
        ("source", "derived; the handbook has it under the wheel"),
    ),
    "left": (
        ("formula", "clicks from full hard, and the travel less those"),
        ("inputs", "the count, the adjuster's travel and the end it counts from"),
        ("band", "none: it is counted"),
    ),
    "gas": (
        ("formula", "absolute gas pressure × (piston − rod) area, over the bump force at the peak "
         "rod speed"),
        ("inputs", "charge at its temperature, piston and rod of the build, barometer else "
         "standard"),
        ("band", "“at least” is over the upper end of the force's band"),
        ("source", "derived: rigid oil, no friction; the true limit is somewhat lower"),
    ),
    "gap": (
        ("formula", "free rod travel to the stop less the packers, over the motion ratio"),
        ("inputs", "stop gap and motion ratio of the car, packers of the plan"),
        ("band", "none on record"),
    ),
    "height": (
        ("formula", "load × (1/k before − 1/k after) / MR by the spring; Δp × rod area / (k·MR) by "
         "the gas"),
        ("inputs", "corner mass less unsprung mass, less what the gas carries; spring rates, "
         "charge, rod diameter, motion ratio"),
        ("band", "none on record; the perch is not counted"),
        ("source", "derived: Hooke's law"),
    ),
}  # fmt: skip
"""How each figure is made: inputs, formula, band, source."""


def made(row: Row, facts: Facts, preferences: Preferences) -> tuple[tuple[str, str], ...]:
    """The lines of the card on a figure: what it is here, then how it is made."""
    lines = list(HOW[row.kind])
    here = facts.get(row.corner)
    if row.kind != "cell" and here is not None:
        lines.insert(0, ("here", in_words(row, facts, preferences)))
        found = here.forces.get(row.way)
        if row.kind == "force" and isinstance(found, PlannedForce):
            lines.append(("curve", origin_of(found)))
    elif row.path:
        lines.insert(0, ("cell", words_for(row.path)))
    return tuple(lines)


def origin_of(found: PlannedForce) -> str:
    """What the curve rests on."""
    from trackside.reports.origin_words import origin_words

    return f"{found.estimate.basis}: {origin_words(found.estimate.origin)}"
