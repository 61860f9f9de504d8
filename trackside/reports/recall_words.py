"""What a search brought back: its conditions in a line, and what each word hit."""

from __future__ import annotations

from trackside.analysis.recall import Match, Recalled
from trackside.preferences import Preferences
from trackside.units import QUANTITIES, show


def conditions_words(row: Recalled, preferences: Preferences) -> str:
    """`dry, air 11 °C`."""
    unit = preferences.unit("temperature")
    told = [row.surface]
    for label, celsius in (("air", row.air), ("track", row.track)):
        if celsius is not None:
            told.append(f"{label} {show(celsius, 'temperature', unit, with_unit=True)}")
    return ", ".join(part for part in told if part)


def match_words(match: Match, preferences: Preferences) -> str:
    """`venue “Larkmere”`, `hot: air 29 °C`, or `air 29 °C > 20`; in the crew's unit, or in that
    which was asked for where the two are of another kind."""
    if match.value is None:
        return f"{match.label} “{match.words}”".strip()
    kind = QUANTITIES[match.quantity]
    crews, asked = kind.unit(preferences.unit(match.quantity)), kind.unit(match.asked)
    told_in = crews if crews.base == asked.base else asked
    shown = show(match.value, match.quantity, told_in.symbol, with_unit=True)
    return f"{match.label} {shown} {match.than}" if match.than else f"{match.label}: air {shown}"
