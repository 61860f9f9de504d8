"""Tables as benches of other makes and moods write them: made of plain points, by code that knows
nothing of the reader. A point is (position, direction, mm/s, N)."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

Point = tuple[float, str, float, float]
Number = Callable[[float], str]

LBF = 4.4482216152605  # N: 0.45359237 kg at 9.80665 m/s², both exact by definition
INCH = 25.4  # mm, exact by definition


def points(clicks: Sequence[float] = (0, 4, 8, 12, 16)) -> list[Point]:
    """A sheet of invented forces: harder where fewer clicks are out, growing with speed."""
    return [
        (p, d, v, round(scale * (30 + 2.0 * v + 40 * v**0.5 / (1 + p / 4)), 1))
        for d, scale in (("bump", 1.0), ("rebound", 1.7))
        for p in clicks
        for v in (13.0, 25.0, 50.0, 100.0, 150.0, 250.0, 350.0, 500.0)
    ]


def plain(decimals: int, mark: str = ".", group: str = "") -> Number:
    """Numbers with so many decimals, that decimal mark, and thousands grouped."""

    def write(value: float) -> str:
        whole, _, rest = f"{abs(value):.{decimals}f}".partition(".")
        parts = []
        while len(whole) > 3 and group:
            whole, last = whole[:-3], whole[-3:]
            parts.insert(0, last)
        told = group.join([whole, *parts]) + (mark + rest if rest else "")
        return f"-{told}" if value < 0 else told

    return write


def tall(
    rows: Sequence[Point],
    number: Number,
    delimiter: str,
    heads: Sequence[str],
    order: Sequence[int],
    words: tuple[str, str] = ("bump", "rebound"),
    top: Sequence[str] = (),
) -> str:
    """A row a point: position, direction, speed, force in that order of columns."""
    lines = [*top, delimiter.join(quoted(heads[n], delimiter) for n in order)]
    for p, d, v, f in rows:
        cells = [f"{p:g}", words[d == "rebound"], number(v), number(f)]
        lines.append(delimiter.join(quoted(cells[n], delimiter) for n in order))
    return "\n".join(lines) + "\n"


def quoted(cell: str, delimiter: str) -> str:
    return f'"{cell}"' if delimiter in cell else cell


def wide(rows: Sequence[Point], number: Number, delimiter: str, head: str = "{d} {p:g} [N]") -> str:
    """A column a position and direction, a row a speed."""
    speeds = sorted({v for _, _, v, _ in rows})
    columns = list(dict.fromkeys((p, d) for p, d, _, _ in rows))
    lines = [delimiter.join(["Speed [mm/s]", *(head.format(p=p, d=d) for p, d in columns)])]
    for v in speeds:
        found = {(p, d): number(f) for p, d, w, f in rows if w == v}
        lines.append(delimiter.join([number(v), *(found.get(c, "") for c in columns)]))
    return "\r\n".join(lines)


def signed(rows: Sequence[Point], number: Number, delimiter: str, by: str) -> str:
    """No direction column: rebound has a negative speed, force or both."""
    lines = [delimiter.join(["Clicks", "Velocity (mm/s)", "Load (N)"])]
    for p, d, v, f in rows:
        down = -1 if d == "rebound" else 1
        speed = v * (down if "speed" in by else 1)
        force = f * (down if "force" in by else 1)
        lines.append(delimiter.join([f"{p:g}", number(speed), number(force)]))
    return "\n".join(lines)


def titled(rows: Sequence[Point], number: Number, delimiter: str) -> str:
    """A table for each direction and position, its title above it."""
    lines = ["Bench report", "Operator: nobody", ""]
    for d in ("bump", "rebound"):
        for p in dict.fromkeys(p for p, way, _, _ in rows if way == d):
            lines += ["", "Compression" if d == "bump" else "Rebound", f"Position: {p:g}"]
            lines += [delimiter.join(["Velocity", "Force"]), delimiter.join(["mm/s", "N"])]
            lines += [
                delimiter.join([number(v), number(f)])
                for q, way, v, f in rows
                if (q, way) == (p, d)
            ]
    return "\n".join(lines)


def shuffled(rows: Sequence[Point], seed: int) -> list[Point]:
    """The same in no order."""
    mixed = list(rows)
    random.Random(seed).shuffle(mixed)
    return mixed
