"""A document as one HTML file that prints on A4 or Letter: no script, nothing from outside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from html import escape
from typing import Final

from trackside.charts import svg
from trackside.records.fields import CORNER_NAMES
from trackside.reports.document import Block, Corners, Document, Pictures, Section, Table

PAPERS: Final = {"a4": "A4", "letter": "letter"}
"""Paper by name, and as CSS calls it."""

PICTURE = 360.0, 205.0
"""The shape of a picture (px)."""

_STYLE: Final = """
@page { size: %s; margin: 11mm 12mm }
* { box-sizing: border-box }
body { font: 9.5pt/1.2 sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 190mm }
h1 { font-size: 15pt; margin: 0 }
h2 { font-size: 10.5pt; margin: 1.7mm 0 0.5mm; border-bottom: 0.4mm solid #000; break-after: avoid }
p { margin: 0.4mm 0 } .big { font-size: 12pt; font-weight: bold } .small { font-size: 8.5pt }
.caution { border: 0.4mm solid #000; padding: 1mm 2mm; font-weight: bold }
.caution::before { content: "! " }
.car { display: grid; grid-template-columns: 1fr 1fr; gap: 1.5mm 5mm }
.car > *, svg { break-inside: avoid; width: 100%% }
table { border-collapse: collapse; width: 100%% } caption { text-align: left; font-weight: bold }
td, th { border: 0.2mm solid #888; padding: 0.15mm 1.5mm; line-height: 1.15 }
td, th { text-align: left; font-weight: normal }
thead th { font-weight: bold } td { white-space: pre-wrap } td:empty { min-width: 18mm }
tr { break-inside: avoid } .car td { width: 60%% }
.car td, .car th { font-size: 8.5pt; line-height: 1.12; padding: 0.15mm 1.5mm }
.large td, .large th { font-size: 12pt; line-height: 1.3; padding: 1mm 1.5mm }
.large td { font-weight: bold; width: 66%% }
footer { margin-top: 2mm; break-before: avoid; font-size: 8pt; border-top: 0.2mm solid #888 }
"""
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"


def html(document: Document, paper: str = "a4", footer: str = "") -> str:
    """The whole file. A person's words are text in it, whatever they hold. KeyError for a paper
    that is none of PAPERS."""
    style = _STYLE % PAPERS[paper]
    body = "".join(part for block in document.blocks for part in _block(block))
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        '<meta name="viewport" content="width=device-width">'
        f"<title>{escape(document.title)}</title><style>{style}</style></head>\n<body>"
        f"<h1>{_words(document.title)}</h1><p>{_words(document.heading)}</p>\n{body}"
        f"<footer>{_words(footer)}</footer></body></html>\n"
    )


def _words(text: str) -> str:
    """A person's words; a line in another direction stays within its own bounds."""
    return f'<bdi dir="auto">{escape(text)}</bdi>' if text else ""


def _block(block: Block) -> Iterator[str]:
    yield f"<section><h2>{_words(block.title)}</h2>"
    match block:
        case Section():
            for said in block.said:
                yield f'<p class="{escape(said.kind)}">{_words(said.text)}</p>'
        case Corners():
            tables = (_table((), rows, CORNER_NAMES[at]) for at, rows in block.rows.items())
            kind = "car large" if block.large else "car"
            yield f'<div class="{kind}">{"".join(tables)}</div>'
        case Table():
            yield _table(block.names, block.rows)
        case Pictures():
            yield '<div class="car">'
            for one in block.pictures:
                yield svg(
                    one.series, *PICTURE, x_label=one.x_label, y_label=one.y_label, title=one.title
                )
            yield "</div>"
    yield "</section>\n"


def _table(names: Sequence[str], rows: Iterable[Sequence[str]], caption: str = "") -> str:
    head = "".join(f"<th>{_words(name)}</th>" for name in names)
    body = "".join(
        "<tr>"
        + f"<th>{_words(row[0])}</th>"
        + "".join(f"<td>{_words(cell)}</td>" for cell in row[1:])
        + "</tr>"
        for row in rows
    )
    return (
        "<table>"
        + (f"<caption>{escape(caption)}</caption>" if caption else "")
        + (f"<thead><tr>{head}</tr></thead>" if head else "")
        + f"<tbody>{body}</tbody></table>"
    )
