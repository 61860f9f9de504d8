"""Why a corner's force or damping at the wheel is not known, in words."""

from __future__ import annotations

from trackside.analysis.wheel import Lack


def lack_words(lack: Lack) -> str:
    """`the motion ratio at FL is not recorded with the car`."""
    if lack.kind == "motion ratio":
        return f"the motion ratio at {lack.corner} is not recorded with the car"
    if lack.kind == "mass":
        return f"the mass at {lack.corner}, or its unsprung part, is not recorded"
    if lack.typed:
        return f"the spring rate at {lack.corner}, “{lack.typed}”, cannot be used"
    return f"no spring rate at {lack.corner}, neither on the run sheet nor with the car"
