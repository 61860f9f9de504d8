"""The files that the samples' notes name: our own drawings, whole numbers only, so that every
machine draws the same bytes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from html import escape

PLACES = {"FL": (40, 60), "FR": (220, 60), "RL": (40, 250), "RR": (220, 250)}
"""Corner → where it is on the sheet, as seen from above."""
WIDTH, HEIGHT = 400, 430


def _sheet(title: str, lines: Iterator[str]) -> str:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="13">'
    )
    paper = f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fbf8ee"/>'
    heading = f'<text x="20" y="30" font-size="16">{escape(title)}</text>'
    return "\n".join((head, paper, heading, *lines, "</svg>", ""))


def tyre_wear(title: str, depths: Mapping[str, Sequence[int]], said: str) -> str:
    """What is left of each tread, in tenths of a millimetre at three holes from the left edge to
    the right: the deeper, the higher the bar."""
    return _sheet(title, _wear(depths, said))


def _wear(depths: Mapping[str, Sequence[int]], said: str) -> Iterator[str]:
    for corner, (x, y) in PLACES.items():
        yield f'<rect x="{x}" y="{y}" width="140" height="130" fill="none" stroke="#333"/>'
        yield f'<text x="{x + 6}" y="{y + 18}">{corner}</text>'
        for n, tenths in enumerate(depths[corner]):
            left, height = x + 14 + 42 * n, 2 * tenths
            top = y + 110 - height
            yield f'<rect x="{left}" y="{top}" width="28" height="{height}" fill="#666"/>'
            depth = f"{tenths // 10}.{tenths % 10}"
            yield f'<text x="{left + 4}" y="{y + 126}">{depth}</text>'
    yield f'<text x="20" y="{HEIGHT - 14}">{escape(said)}</text>'


def set_up_sheet(title: str, rows: Mapping[str, Sequence[str]], said: str) -> str:
    """The crew's sheet as it hung on the wall: a few lines for each corner."""
    return _sheet(title, _rows(rows, said))


def _rows(rows: Mapping[str, Sequence[str]], said: str) -> Iterator[str]:
    for corner, (x, y) in PLACES.items():
        yield f'<rect x="{x}" y="{y}" width="150" height="150" fill="none" stroke="#333"/>'
        yield f'<text x="{x + 6}" y="{y + 20}" font-size="15">{corner}</text>'
        for n, line in enumerate(rows[corner]):
            yield f'<text x="{x + 6}" y="{y + 46 + 20 * n}">{escape(line)}</text>'
    yield f'<text x="20" y="{HEIGHT - 10}">{escape(said)}</text>'


FILES = {
    "64-D2-wear.svg": tyre_wear(
        "64, set D2 after the race, tread left (mm)",
        {"FL": (29, 26, 21), "FR": (23, 26, 29), "RL": (26, 25, 23), "RR": (24, 25, 27)},
        "Inner edge of the left front goes first: 32 laps, 3 heat cycles.",
    ),
    "64-race-sheet.svg": set_up_sheet(
        "64, race, Sunday",
        {
            "FL": ("bump 10", "rebound 6", "ring 3", "cold 1.55", "58 mm"),
            "FR": ("bump 8 (soft)", "rebound 12 (soft)", "ring 2", "cold 1.50", "58 mm"),
            "RL": ("bump 11", "rebound 11", "ring 2", "cold 1.55", "66 mm"),
            "RR": ("bump 11", "rebound 11", "ring 2", "cold 1.50", "66 mm"),
        },
        "FR counts from soft. Rear bar hole 2 of 4.",
    ),
}
"""Name of the file → what it holds."""
