"""The loops of a dyno sheet: force against displacement, told and drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from string import ascii_lowercase

from trackside.charts import Drawing, Series, plot
from trackside.preferences import Preferences
from trackside.records import DynoSheet, Loop
from trackside.units import from_si, show

NO_LOOPS = (
    "no loops saved with this sheet: trackside dyno runs FILE.csv --position P --loops-of SERIAL"
)
_ROWS_A_LOOP = 3


def loops_at(sheet: DynoSheet, turn: int) -> list[Loop]:
    """What the key shows at its `turn`: the loops of one position after the other, slowest first;
    at 0, and again behind the last position, none: the curve stands there."""
    positions = sorted({loop.position for loop in sheet.loops})
    shown = turn % (len(positions) + 1)
    if not shown:
        return []
    of_position = (loop for loop in sheet.loops if loop.position == positions[shown - 1])
    return sorted(of_position, key=lambda loop: loop.speed)


def energy(loop: Loop) -> float:
    """Energy (J) that one cycle takes: the area of the closed loop."""
    corners = list(zip(loop.displacement, loop.force, strict=True))
    sides = pairwise([*corners, corners[0]]) if corners else ()
    return sum(0.5 * (a[1] + b[1]) * (b[0] - a[0]) for a, b in sides)


def loop_lines(
    sheet: DynoSheet, loops: Sequence[Loop], preferences: Preferences
) -> Iterator[tuple[str, str]]:
    """(style, line) of the loops of one position."""
    speed, work = preferences.unit("speed"), preferences.unit("energy")
    yield "bold", f"Loops at position {loops[0].position:g}"
    yield "", _source(sheet)
    yield "", "gas force still in them"
    yield "bold", f"{f'peak {speed}':>11}  {work} a cycle"
    for loop in loops:
        yield "", f"{show(loop.speed, 'speed', speed):>11}  {show(energy(loop), 'energy', work):>9}"
    yield "dim", "The area of a loop is the energy that a cycle takes."


def _source(sheet: DynoSheet) -> str:
    """Whose they are: the sheet's date and file."""
    return f"sheet of {sheet.date} {sheet.source}".rstrip()


def loop_drawing(
    loops: Sequence[Loop], width: int, height: int, preferences: Preferences
) -> Drawing:
    """Every loop closed, its bump half and its rebound half, with a letter of its own; the bump
    half says the speed. Where the chart is low, only some, evenly from the fastest down."""
    most = max(height // _ROWS_A_LOOP, 1)
    shown = loops[::-1][:: -(-len(loops) // most)][::-1]
    length, force = preferences.unit("length"), preferences.unit("force")
    series = []
    for n, loop in enumerate(shown):
        label = show(loop.speed, "speed", preferences.unit("speed"), with_unit=True)
        for role, half in zip(("bump", "rebound"), _halves(loop), strict=True):
            series.append(
                Series(
                    [from_si(x, "length", length) for x, _ in half],
                    [from_si(f, "force", force) for _, f in half],
                    role,
                    label if role == "bump" else "",
                    marker=ascii_lowercase[n : n + 1],
                )
            )
    title = "bump up, closing right"
    if len(shown) < len(loops):
        title = f"{len(shown)} of {len(loops)} loops, {title}"
    return plot(
        series,
        width,
        height,
        x_label=length,
        y_label=force,
        title=title,
        ink=preferences.ink,
    )


def _halves(loop: Loop) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """The way in, from least to greatest displacement, and the way out again."""
    points = list(zip(loop.displacement, loop.force, strict=True))
    if not points:
        return [], []
    start = min(range(len(points)), key=lambda n: points[n][0])
    round_trip = [*points[start:], *points[:start], points[start]]
    turn = max(range(len(round_trip)), key=lambda n: round_trip[n][0])
    return round_trip[: turn + 1], round_trip[turn:]
