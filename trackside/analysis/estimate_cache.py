"""Estimates calculated once: a screen asks for the same settings key after key."""

from __future__ import annotations

from trackside.analysis.estimate import Estimate, Setting, Speeds, estimate_at
from trackside.analysis.shed import Shed

MOST = 500
"""So many estimates are held before it begins anew."""


class EstimateCache:
    """Estimates in one shed at the same rod speeds (m/s), by setting."""

    def __init__(self, shed: Shed, speeds: Speeds) -> None:
        self.shed = shed
        self.speeds = speeds
        self._found: dict[tuple[object, ...], Estimate] = {}

    def at(self, setting: Setting) -> Estimate:
        """The curve at a setting. NoEstimate says why there is none."""
        key = (
            setting.corner,
            setting.damper,
            setting.build.version,
            setting.direction,
            setting.from_hard,
            setting.preload_from_hard,
            setting.day if self.shed.reseals else "",
        )
        if key not in self._found:
            if len(self._found) >= MOST:
                self._found.clear()
            self._found[key] = estimate_at(setting, self.shed, self.speeds)
        return self._found[key]
