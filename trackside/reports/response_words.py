"""How far a damper's rod travels before it answers, in words."""

from __future__ import annotations

from trackside.analysis.response import AIR, SHARE, SPEED, Response
from trackside.preferences import Preferences
from trackside.units import from_si, show

ASSUMED = "oil of half a stroke, everything round it stiff: a whole damper travels further"


def gas_words(found: Response, preferences: Preferences) -> str:
    """The gas it rests on, and how that is known."""
    told = show(found.gas, "pressure", preferences.unit("pressure"), with_unit=True)
    how = "as read in its session" if found.read else "as charged at the strip-down"
    return f"gas {told} {how}"


def response_words(found: Response, preferences: Preferences) -> str:
    """In one sentence what it is, and what it stands on."""
    speed = show(SPEED, "speed", preferences.unit("speed"), with_unit=True)
    oil, airy = (travel_words(travel, preferences) for travel in (found.oil, found.airy))
    return (
        f"rod travel to {100 * SHARE:g} % of the force at {speed}: {oil}, "
        f"{airy} with {100 * AIR:g} % air ({gas_words(found, preferences)}; {ASSUMED})"
    )


def travel_words(travel: float, preferences: Preferences) -> str:
    """A travel of less than a mm in the crew's unit, to two figures."""
    unit = preferences.unit("length")
    return f"{from_si(travel, 'length', unit):.2g} {unit}"
