"""What the day's air makes of a tyre's pressure, and how dense it is, in words."""

from __future__ import annotations

from collections.abc import Sequence

from trackside.analysis.air import ColdToday
from trackside.analysis.another_day import Expected, body_heat, charge_today, cold_for_target
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.records.fields import CORNERS
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


def expected_words(found: Expected, quantity: str, preferences: Preferences) -> str:
    """`1.41 bar, 90 %: 1.33 to 1.49, from 4 runs`."""
    unit = preferences.unit(quantity)
    at = show(found.at, quantity, unit, with_unit=True)
    low, high = (show(one, quantity, unit) for one in (found.low, found.high))
    runs = "1 run" if found.runs == 1 else f"{found.runs} runs"
    return f"{at}, 90 %: {low} to {high}, from {runs}"


def day_told(
    runs: Sequence[Session], then: Session, now: Session, preferences: Preferences
) -> dict[str, list[str]]:
    """By corner, what today's air asks for after these runs of the car, of the tyre and of the
    charge that the damper had `then`; only what is known."""
    told: dict[str, list[str]] = {}
    for corner in CORNERS:
        lines = []
        if cold := cold_for_target(runs, now, corner):
            words = expected_words(cold, "pressure", preferences)
            lines.append(f"cold for the hot target: {words}")
        if charge := charge_today(then, now, corner):
            set_to, air = (
                show(value, quantity, preferences.unit(quantity), with_unit=True)
                for value, quantity in zip(charge, ("pressure", "temperature"), strict=True)
            )
            lines.append(f"the same charge in today's air of {air}: {set_to}")
        if body := body_heat(runs, now, corner):
            words = expected_words(body, "temperature", preferences)
            lines.append(f"body, and oil, after the run: about {words}")
        if lines:
            told[corner] = lines
    return told
