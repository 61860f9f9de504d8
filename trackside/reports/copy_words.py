"""What a copy of a damper or a car took along, in a sentence, and what it did not."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from trackside.crew.copies import Copies

_WORDS: Final = {
    "model": "model",
    "piston_diameter": "sizes",
    "rod_diameter": "sizes",
    "stroke": "sizes",
    "adjusters": "adjusters",
    "shop_rules": "shop rule",
    "oil": "oil",
    "oil_viscosity_40": "oil",
    "oil_viscosity_100": "oil",
    "oil_grade": "oil",
    "oil_index": "oil",
    "oil_expansion": "oil",
    "piston": "piston",
    "bump_stack": "stacks",
    "rebound_stack": "stacks",
    "preload": "preload",
    "bleed": "bleed",
    "needle": "needle",
    "family": "sisters' word",
    "bump_parts": "parts",
    "rebound_parts": "parts",
    "wheelbase": "lengths",
    "track_front": "lengths",
    "track_rear": "lengths",
    "stops": "bump stops",
    "unsprung_mass": "unsprung masses",
    "motion_ratio": "motion ratios",
    "motion_table": "motion ratios",
    "spring_ratio": "motion ratios",
    "spring_rate": "springs",
    "tyre_rate": "tyres",
    "stop_gap": "stop gaps",
    "least_charge": "limits for a look",
    "service_runs": "limits for a look",
    "service_laps": "limits for a look",
    "service_time": "limits for a look",
    "place": "place",
    "words": "notes",
    "gas_pressure": "gas charge",
    "work": "work done",
    "mass": "weights on the scales",
}
OF_ONE_DAMPER: Final = "dyno sheets, runs"
OF_ONE_CAR: Final = "sessions"


def copied_words(copies: Copies, own: str) -> str:
    """`TW-2242 like TW-2241: model, sizes, adjusters copied; not copied: notes, dyno sheets, runs`;
    `own` is what always belongs to that one alone."""
    return f"{', '.join(copies.names)} like {copies.of}: {taken_words(copies, own)}"


def taken_words(copies: Copies, own: str) -> str:
    """The same without the names: what a copy takes along, and what it does not."""
    left = ", ".join(part for part in (_told(copies.left), own) if part)
    doubtful = _told(copies.doubtful)
    odd = f"; left out, since it cannot be right: {doubtful}" if doubtful else ""
    return f"{_told(copies.copied) or 'nothing'} copied{odd}; not copied: {left}"


def _told(fields: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(_WORDS[field] for field in fields))
