"""A document as plain text, at most so many columns wide; boxes to fill in are underscores."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap

from trackside.charts import plot
from trackside.reports.document import Block, Corners, Document, Pictures, Section, Table
from trackside.units import one_line

BOX = "_" * 10
_NARROWEST = 6
_MARKS = {"big": "> ", "caution": "! "}


def text(document: Document, width: int = 80, ink: str = "braille") -> list[str]:
    """The lines. Curves are drawn in `ink`, see `charts.INKS`."""
    lines = [*wrap(one_line(document.title), width), *wrap(one_line(document.heading), width)]
    for block in document.blocks:
        title = wrap(one_line(block.title).upper(), width) or [""]
        lines += ["", *title, *_block(block, width, ink)]
    return lines


def _block(block: Block, width: int, ink: str) -> Iterator[str]:
    match block:
        case Section():
            for said in block.said:
                mark = _MARKS.get(said.kind, "  ")
                for n, line in enumerate(wrap(one_line(said.text), width - 2) or [""]):
                    yield (mark if n == 0 else "  ") + line
        case Corners():
            for left, right in (("FL", "FR"), ("RL", "RR")):
                rows = [_filled(row) for row in _beside(block.rows, left, right)]
                yield from _columns([("", left, right), *rows], width)
                yield ""
        case Table():
            names = [block.names] if block.names else []
            yield from _columns([*names, *map(_filled, block.rows)], width)
        case Pictures():
            for one in block.pictures:
                drawing = plot(
                    list(one.series),
                    width,
                    14,
                    x_label=one.x_label,
                    y_label=one.y_label,
                    title=one.title,
                    ink=ink,
                )
                yield from drawing.plain().split("\n")


def _beside(
    rows: dict[str, tuple[tuple[str, str], ...]], left: str, right: str
) -> Iterator[tuple[str, str, str]]:
    """Two corners of one axle as rows: label, left, right; a label that one of them lacks stands
    with a dash there."""
    both = dict(rows.get(left, ())), dict(rows.get(right, ()))
    for label in dict.fromkeys((*both[0], *both[1])):
        yield label, both[0].get(label, "–"), both[1].get(label, "–")


def _filled(row: Sequence[str]) -> tuple[str, ...]:
    return tuple(one_line(cell) or BOX for cell in row)


def _columns(rows: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    """Rows in columns; where they are wider than `width`, the widest are wrapped."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    while sum(widths) + 2 * len(widths) > width and max(widths) > _NARROWEST:
        widths[widths.index(max(widths))] -= 1
    for row in rows:
        cells = [wrap(cell, one) or [""] for cell, one in zip(row, widths, strict=True)]
        for line in zip_longest(*cells, fillvalue=""):
            parts = (part.ljust(one) for part, one in zip(line, widths, strict=True))
            yield ("  " + "  ".join(parts)).rstrip()
