"""What a build's parts alone make, beside the force that its own dyno sheet gives."""

from __future__ import annotations

from trackside.analysis.estimate import Estimate, Setting, Speeds, ground
from trackside.analysis.origin import Origin
from trackside.analysis.shed import Shed
from trackside.errors import TracksideError


def parts_beside(at: Setting, shed: Shed, speeds: Speeds) -> Estimate | None:
    """The parts' curve at a setting whose build has a sheet of its own; None where there is no such
    sheet, or the parts are not all on record: then nothing is beside the curve."""
    try:
        base = ground(at.build, at.direction, shed)
        if base.origin.kind != "sheet" or base.parts is None:
            return None
        ring = at.preload_from_hard if base.parts.takes_preload else None
        found = base.parts.predict(at.from_hard, speeds, ring)
    except TracksideError:
        return None
    return Estimate(
        at, found.speed, found.force, found.low, found.high, found.basis, Origin("parts")
    )
