"""What is known of a damper's oil when its force is told warm."""

from __future__ import annotations

OIL_KNOWN = {
    "nothing": "no data for the oil: density only",
    "viscosities": "density and viscosity",
    "grade": "density, and viscosity from grade and index",
}
"""By what `analysis.warm_oil.Warm.oil` says."""
