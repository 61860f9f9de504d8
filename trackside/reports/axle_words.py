"""The whole car in lines: front against rear, heave, pitch and roll, over wheel speed."""

from __future__ import annotations

from trackside.analysis.axle import Axles
from trackside.preferences import Preferences
from trackside.units import show

ASSUMED = "bump and rebound averaged; no bars, no tyres"


def axle_lines(found: Axles, preferences: Preferences) -> list[str]:
    """A table with a row for each wheel speed, and what it stands on."""
    unit, turning = preferences.unit("speed"), preferences.unit("turning damping")
    return [
        f"{'wheel':>6}{'ζ':>7}{'ζ':>7}{'ζ':>7}{'front':>8}{'pitch':>9}{'roll':>8}",
        f"{unit:>6}{'front':>7}{'rear':>7}{'heave':>7}{'%':>8}{turning:>17}",
        *(_row(found, n, preferences) for n in range(len(found.speed))),
        *_words(found),
    ]


def _row(found: Axles, n: int, preferences: Preferences) -> str:
    speed = show(float(found.speed[n]), "speed", preferences.unit("speed"))
    ratios = "".join(f"{ratio[n]:>7.2f}" for ratio in found.ratios.values())
    unit = preferences.unit("turning damping")
    pitch, roll = (
        show(float(mode.damping[n]), "turning damping", unit) for mode in (found.pitch, found.roll)
    )
    return f"{speed:>6}{ratios}{100 * found.front_share[n]:>8.0f}{pitch:>9}{roll:>8}"


def _words(found: Axles) -> list[str]:
    front, rear, heave = (
        f"{mode.frequency:.2f}" for mode in (found.front, found.rear, found.heave)
    )
    stiffer = "rear" if found.coupling < 0 else "front"
    return [
        f"undamped front {front} Hz, rear {rear} Hz, heave {heave} Hz; the {stiffer} is the "
        f"stiffer end, heave and pitch coupled by {abs(found.coupling):.2f} of 1",
        f"{ASSUMED}; no ζ of pitch and roll: no moment of inertia is on record",
    ]
