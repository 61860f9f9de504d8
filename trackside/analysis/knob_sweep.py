"""The fan of a knob: what the curve would be across its travel."""

from __future__ import annotations

from trackside.analysis.estimate import Setting, ground
from trackside.analysis.shed import Shed
from trackside.analysis.worth import moved
from trackside.records import Adjuster

MOST = 5
"""So many curves beside the one in hand can still be told apart."""


def knob_sweep(at: Setting, adjuster: Adjuster, shed: Shed, most: int = MOST) -> list[Setting]:
    """Full hard, full soft and the measured positions of that knob, hard first, all else as `at`;
    the position in hand is left out, and the inner measured ones are thinned until `most` are left
    (full hard and full soft at the least). Empty for a preload knob that the bench held still."""
    is_preload = adjuster.acts_on.endswith("preload")
    now = at.preload_from_hard if is_preload else at.from_hard
    if now is None:
        return []
    curve = ground(at.build, at.direction, shed).curve
    if is_preload and not curve.takes_preload:
        return []
    measured = curve.preloads if is_preload else curve.positions
    inner = sorted(p for p in measured if 0 < p < adjuster.clicks)
    room = max(most, 2) - 2
    kept = inner[:: max(1, -(-len(inner) // room))] if room else []
    wanted = [0.0, *kept, float(adjuster.clicks)]
    settings = (moved(at, adjuster, now - hard) for hard in wanted if hard != now)
    return [setting for setting in settings if setting is not None]
