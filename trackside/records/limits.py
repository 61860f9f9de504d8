"""Between which limits a figure of a car or a damper is plausible, in its base unit.

Our own, no source: beyond them is a question, not a refusal, and analysis/plausible_ranges asks it.
"""

from __future__ import annotations

from typing import Final

from trackside.records.fields import CORNER_FIELDS, SESSION_FIELDS


def _of_the_run_sheet(name: str) -> tuple[float, float]:
    field = CORNER_FIELDS[name]
    assert field.low is not None
    assert field.high is not None
    return field.low, field.high


_DIAMETER: Final = (0.004, 0.08)
LIMITS: Final[dict[str, tuple[float, float]]] = {
    "altitude": (-400.0, 5000.0),
    "road_speed": (3.0, 110.0),
    "wheelbase": (1.0, 5.0),
    "track_front": (0.6, 2.5),
    "track_rear": (0.6, 2.5),
    "mass": (20.0, 800.0),
    "fuel": (0.0, 0.2),
    "laps": (0.0, 1000.0),
    "cycles": (0.0, 100.0),
    "service_runs": (1.0, 2000.0),
    "service_laps": (1.0, 5e4),
    "service_time": (1800.0, 3.6e6),
    "start": (0.0, 3.6e6),
    "limit": (0.0, 3.6e6),
    "unsprung_mass": (3.0, 150.0),
    "motion_ratio": (0.2, 2.0),
    "spring_ratio": (0.2, 2.0),
    "tyre_rate": (3e4, 1e6),
    "stop_gap": (0.0, 0.2),
    "piston_diameter": (0.015, 0.08),
    "rod_diameter": (0.006, 0.04),
    "stroke": (0.02, 0.5),
    "oil_viscosity_40": (2e-6, 1e-3),
    "oil_viscosity_100": (0.5e-6, 1e-4),
    "oil_grade": (2e-6, 1e-3),
    "oil_index": (0.0, 500.0),
    "full_hard_force": (20.0, 3e4),
    "reference_speed": (0.005, 3.0),
    "clicks": (1.0, 60.0),
    "step": (0.05, 5.0),
    "share_per_click": (0.0, 0.5),
    "clamp": _DIAMETER,
    "seat": _DIAMETER,
    "recess": _DIAMETER,
    "hub_to_seat": (0.0, 0.01),
    "spacer": (0.0, 0.01),
    "port_count": (1.0, 40.0),
    "slot_count": (0.0, 40.0),
    "port_diameter": (0.5e-3, 0.025),
    "slot_width": (0.1e-3, 0.02),
    "slot_depth": (0.02e-3, 0.003),
    "bleed_hole": (0.0, 0.008),
    "needle_seat": (0.5e-3, 0.015),
    "needle_angle": (0.03, 1.2),
    "needle_lift": (0.005e-3, 0.002),
    "ring_lift": (0.001e-3, 0.5e-3),
    "discharge": (0.4, 1.0),
    "diameter": _DIAMETER,
    "thickness": (0.02e-3, 5e-3),
    "hole": (0.003, 0.03),
    "count": (0.0, 500.0),
    "torque": (1.0, 150.0),
    "oil_volume": (10e-6, 2e-3),
    "piston_level": (0.0, 0.4),
    "bleed_cycles": (1.0, 200.0),
    **dict.fromkeys(("gas_found", "charge", "least_charge"), _of_the_run_sheet("gas_pressure")),
    **dict.fromkeys(("gas_found_at", "charge_at"), _of_the_run_sheet("gas_temperature")),
}


_WEATHER: Final = {n: f for n, f in SESSION_FIELDS.items() if f.group == "weather"}


def limits_of(name: str) -> tuple[float | None, float | None]:
    """Those of that figure; a run sheet's field of the same name has the same ones."""
    field = CORNER_FIELDS.get(name) or _WEATHER.get(name)
    return LIMITS.get(name) or ((field.low, field.high) if field else (None, None))
