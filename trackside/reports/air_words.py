"""What the day's air makes of a tyre's pressure, and how dense it is, in words."""

from __future__ import annotations

from trackside.analysis.air import ColdToday
from trackside.preferences import Preferences
from trackside.units import show


def cold_words(found: ColdToday, preferences: Preferences) -> str:
    """`about 1.41 bar for 1.90 hot as before (air 12 °C)`."""
    unit = preferences.unit("pressure")
    hot = show(found.hot, "pressure", unit)
    for_hot = f"the target, {hot} hot" if found.is_target else f"{hot} hot as before"
    set_to = show(found.cold, "pressure", unit, with_unit=True)
    air = show(found.air, "temperature", preferences.unit("temperature"), with_unit=True)
    return f"about {set_to} for {for_hot} (air {air})"


def density_words(density: float) -> str:
    """`air 1.199 kg/m³`."""
    return f"air {density:.3f} kg/m³"
