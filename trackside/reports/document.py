"""What stands on a page, whatever it is printed on: sections, tables, corners, pictures."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.charts import Series


@dataclass(frozen=True)
class Said:
    """A paragraph; `kind` is big, plain, small or caution."""

    text: str
    kind: str = "plain"


@dataclass(frozen=True)
class Section:
    """A heading with its paragraphs."""

    title: str
    said: tuple[Said, ...]


@dataclass(frozen=True)
class Corners:
    """The four corners as on the car, front at the top: corner → rows of label and value. An empty
    value is a box to be filled in by hand."""

    title: str
    rows: dict[str, tuple[tuple[str, str], ...]]
    large: bool = False
    """To be read on the floor beside a wheel."""


@dataclass(frozen=True)
class Table:
    """A heading and rows, with the names of its columns if they have any. Empty cells are boxes to
    be filled in by hand."""

    title: str
    rows: tuple[tuple[str, ...], ...]
    names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Picture:
    """Curves over one pair of axes."""

    title: str
    series: tuple[Series, ...]
    x_label: str
    y_label: str


@dataclass(frozen=True)
class Pictures:
    """Pictures side by side, two a row."""

    title: str
    pictures: tuple[Picture, ...]


Block = Section | Corners | Table | Pictures


@dataclass(frozen=True)
class Document:
    """A page to be read or printed."""

    title: str
    heading: str
    blocks: tuple[Block, ...] = ()
