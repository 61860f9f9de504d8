"""Where a hand clicks on a line of words: a key of the key lines, a part of the page."""

from __future__ import annotations

import re

from rich.text import Text

_WORDS = r"\S+(?: \S+)*"
"""Names are parted by two blanks or more."""


def part_clicked(names: Text, x: int) -> int:
    """How many parts further on than the one in reverse the click at column `x` stands; 0 when it
    is on none."""
    places = [match.span() for match in re.finditer(_WORDS, names.plain)]
    here = next((span.start for span in names.spans if "reverse" in str(span.style)), 0)
    now = next((n for n, (_, end) in enumerate(places) if end > here), 0)
    for number, (start, end) in enumerate(places):
        if start <= x < end:
            return number - now
    return 0
