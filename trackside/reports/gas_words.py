"""What is said of a damper's gas: that some is missing, or that two readings do not compare."""

from __future__ import annotations

from trackside.analysis.gas_loss import LostCharge
from trackside.analysis.gauges import NO_TEMPERATURE, OTHER_HARDWARE, UNLIKELY
from trackside.preferences import Preferences
from trackside.units import show

NOT_COMPARED = {
    UNLIKELY: "a reading is beyond what it can be",
    OTHER_HARDWARE: "it is another damper or build",
    NO_TEMPERATURE: "no temperature was written down",
}
"""Why two readings are not compared; any other reason is a sentence already."""


def lost_charge_words(lost: LostCharge, preferences: Preferences) -> str:
    """`FL gas: 1.20 bar less than the 15.10 bar that temperature explains: a leak, …`."""
    return f"{lost.corner} gas: {missing_words(lost, preferences)}"


def missing_words(lost: LostCharge, preferences: Preferences) -> str:
    """The same beside the cell of the charge, which names the corner itself."""
    if lost.missing is None:
        why = NOT_COMPARED.get(lost.why, lost.why)
        return f"not compared with the reading before, {why}"
    unit = preferences.unit("pressure")
    missing, expected = (
        show(pressure, "pressure", unit, with_unit=True)
        for pressure in (lost.missing, lost.expected)
    )
    return (
        f"{missing} less than the {expected} that temperature explains: a leak, or gas let out by "
        "the gauge?"
    )
