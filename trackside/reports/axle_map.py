"""The whole car drawn: damping ratios of front, rear and heave over wheel speed."""

from __future__ import annotations

from trackside.analysis.axle import axles
from trackside.analysis.estimate import drawn_speeds
from trackside.analysis.shed import Shed
from trackside.charts import Drawing, Series, plot
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.units import from_si


def axle_drawing(
    session: Session, shed: Shed, width: int, height: int, preferences: Preferences
) -> Drawing:
    """Damping ratios up to the crew's peak speed, taken as the wheel's."""
    found = axles(session, shed, drawn_speeds(preferences.peak_speed))
    unit = preferences.unit("speed")
    wheel = from_si(found.speed, "speed", unit)  # type: ignore[arg-type]
    roles = {"front": "FL", "rear": "RL", "heave": "other"}
    series = [
        Series(wheel, ratio, roles[name], name)  # type: ignore[arg-type]
        for name, ratio in found.ratios.items()
    ]
    return plot(
        series,
        width,
        height,
        x_label=unit,
        y_label="ζ",
        title="at the wheel",
        ink=preferences.ink,
    )
