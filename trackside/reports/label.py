"""A damper's label: its serial to be read by eye, and in a QR code (ISO/IEC 18004, as segno makes
it) by a hand reader, which types it like a keyboard."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from html import escape
from typing import Final

from trackside.errors import BadInput
from trackside.reports.html import PAPERS

WIDTH, HEIGHT = 60.0, 28.0
"""Of a label (mm): our own."""
_QUIET: Final = 4
"""Modules of white round the code: ISO/IEC 18004 asks for four (from memory)."""
_STYLE: Final = (
    "@page { size: %s; margin: 12mm } body { margin: 0 } svg { display: block; "
    "border: 0.2mm dashed #888 }"
)
_ROWS: Final = 4
"""Below the serial there is room for so many."""
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"


def label_svg(serial: str, lines: Sequence[str]) -> str:
    """The label as an SVG file of its own, in mm: the code holds the serial and nothing else.
    BadInput without a serial, or where segno is not installed."""
    if not serial:
        raise BadInput("a label needs a serial", "enter the damper's serial first")
    try:
        import segno
    except ImportError:
        raise BadInput(
            "labels need the extra “label”, which is not installed",
            "pip install 'trackside[label]'",
        ) from None
    matrix = segno.make(serial, error="m", micro=False).matrix
    side = HEIGHT / (len(matrix) + 2 * _QUIET)
    dark = "".join(
        f"M{x + _QUIET} {y + _QUIET}h1v1h-1z"
        for y, row in enumerate(matrix)
        for x, module in enumerate(row)
        if module
    )
    room = WIDTH - HEIGHT - 1
    size = min(7.0, room / (0.62 * len(serial)))
    words = [_text(serial, 10, size, "bold", room)]
    words += [
        _text(line, 15.5 + 3.6 * n, 2.5, "normal", room)
        for n, line in enumerate(_in_room(lines[:3], int(room / (0.55 * 2.5))))
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}"><rect width="100%" height="100%" fill="#fff"/>'
        f'<path transform="scale({side:.6g})" d="{dark}"/>{"".join(words)}</svg>'
    )


def _in_room(lines: Sequence[str], letters: int) -> list[str]:
    """The lines, a long one over two where there are so many blanks and rows left for it."""
    found: list[str] = []
    for n, line in enumerate(lines):
        first, *rest = textwrap.wrap(line, letters, break_long_words=False) or [line]
        left = _ROWS - len(found) - (len(lines) - n)
        found += [first, " ".join(rest)] if rest and left > 0 else [line]
    return found


def _text(words: str, y: float, size: float, weight: str, room: float) -> str:
    wide = 0.55 * size * len(words)
    fitted = f' textLength="{room:g}" lengthAdjust="spacingAndGlyphs"' if wide > room else ""
    return (
        f'<text x="{HEIGHT:g}" y="{y:g}" font-family="sans-serif" font-size="{size:.3g}" '
        f'font-weight="{weight}"{fitted}>{escape(words)}</text>'
    )


def label_html(serial: str, lines: Sequence[str], paper: str = "a4") -> str:
    """The same on a page to be printed and cut out. KeyError for a paper that is none of PAPERS."""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        f"<title>{escape(serial)}</title><style>{_STYLE % PAPERS[paper]}</style></head>\n"
        f"<body>{label_svg(serial, lines)}</body></html>\n"
    )
