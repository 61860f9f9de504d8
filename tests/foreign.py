"""Figures and headings in another unit than the crew's."""

from __future__ import annotations

import re
from collections.abc import Collection

from trackside.preferences import Preferences
from trackside.units import QUANTITIES

_WORDS = {"in", "bar", "m", "L", "K", "s", "lb", "J"}
"""Units that are also words, or keys, where no figure stands before them."""


def foreign(preferences: Preferences) -> set[str]:
    """Every unit that the crew chose for no quantity."""
    chosen = {preferences.unit(quantity) for quantity in QUANTITIES}
    known = {unit.symbol for kind in QUANTITIES.values() for unit in kind.units}
    return known - chosen - {"", "clicks"}


def strays(text: str, preferences: Preferences, allowed: Collection[str] = ()) -> list[str]:
    """Each figure with a foreign unit behind it, and each such unit that stands alone, as in the
    head of a column or at the end of an axis."""
    units = foreign(preferences) - set(allowed)
    spelled, alone = (
        "|".join(re.escape(unit) for unit in sorted(some, key=len, reverse=True))
        for some in (units, units - _WORDS)
    )
    found = re.finditer(
        rf"[^ ]* ?\d ?(?:{spelled})(?![\w/²³·’'])|\S* ?(?<!\S)(?:{alone})(?!\S)", text
    )
    return [match[0] for match in found]
