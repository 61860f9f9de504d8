"""What a spreadsheet of dampers or cars came to, in sentences."""

from __future__ import annotations

from trackside.crew.record_table import Refused, TakenRows

MANY = {"damper": "dampers", "car": "cars"}
MOST = 4
"""Rows and values that one sentence names."""


def refused_words(row: Refused) -> str:
    """`line 5, TW-2241: rod diameter “x”: …`."""
    return f"line {row.line}{f', {row.name}' if row.name else ''}: {row.why}"


def all_refused_words(taken: TakenRows) -> str:
    """The first rows that cannot be used, and how many more there are."""
    told = [refused_words(row).rstrip(".") for row in taken.refused[:MOST]]
    more = len(taken.refused) - MOST
    return "; ".join(told) + (f"; {more} more" if more > 0 else "")


def count_words(taken: TakenRows) -> str:
    """`2 dampers entered (TW-1, TW-2), 1 here already`."""
    what = MANY[taken.form] if len(taken.added) != 1 else taken.form
    names = ", ".join(taken.added[:MOST]) + (" …" if len(taken.added) > MOST else "")
    parts = [f"{len(taken.added) or 'no'} {what} entered" + (f" ({names})" if names else "")]
    if taken.same:
        parts.append(f"{len(taken.same)} here already")
    if taken.put_right:
        parts.append(f"{len(taken.put_right)} put right ({', '.join(sorted(taken.put_right))})")
    left = len(taken.differs.keys() - taken.put_right)
    if left:
        parts.append(f"{left} here otherwise: left as {'it is' if left == 1 else 'they are'}")
    return ", ".join(parts)


def measured_words(taken: TakenRows) -> str:
    """Which column was taken for the piston's diameter and could be its name; or nothing."""
    if not taken.as_diameter:
        return ""
    return f"“{taken.as_diameter}” is taken as the piston's diameter: it holds lengths alone"


def differs_words(taken: TakenRows) -> list[str]:
    """`TW-2241: Rod ⌀ mm 14 here, 12 in the table`, a line each."""
    told = []
    for name, values in taken.differs.items():
        each = [f"{one.label} {one.here or '–'} here, {one.there} in the table" for one in values]
        told.append(f"{name}: {'; '.join(each)}")
    return told


def unknown_words(taken: TakenRows) -> str:
    """The columns that were left out; empty where there are none."""
    if not taken.unknown:
        return ""
    names = ", ".join(f"“{name}”" for name in taken.unknown)
    return f"left out, not known: {names}; --columns says what they are"
