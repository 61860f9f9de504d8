"""Figures as a page shows them: in the crew's units; forces with sign, band, and noise."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.charts import Series
from trackside.records import Reading, in_words
from trackside.units import from_si, one_line, show

if TYPE_CHECKING:
    from trackside.analysis.estimate import Estimate
    from trackside.analysis.parts_beside import PartsApart
    from trackside.analysis.worth import ForceStep
    from trackside.preferences import Preferences

BASIS_WORDS = {
    "measured": "measured at this position",
    "between clicks": "between measured positions",
    "outside range": "beyond the measured positions",
    "from sisters": "from its sisters, not measured here",
    "shop rule": "shop rule only",
    "from parts": "by the parts; this build was never measured",
}
"""Each basis, as a person says it."""


def value(found: Reading | str | None, quantity: str | None, preferences: Preferences) -> str:
    """A value of a run sheet, a number with its unit; an en dash for what is unknown."""
    return one_line(in_words(found, quantity, preferences.unit(quantity) if quantity else ""))


def force(newton: float | None, preferences: Preferences, with_unit: bool = False) -> str:
    """A force in the crew's unit, with a true minus sign."""
    return _in(newton, preferences.unit("force"), with_unit)


def _in(newton: float | None, unit: str, with_unit: bool = False) -> str:
    return show(newton, "force", unit, with_unit=with_unit).replace("-", "−")


def signed(newton: float | None, preferences: Preferences, with_unit: bool = False) -> str:
    """A force change, its sign always written."""
    return signed_in(newton, preferences.unit("force"), with_unit)


def signed_in(newton: float | None, unit: str, with_unit: bool = False) -> str:
    """The same in that unit; what rounds to zero has no sign."""
    text = _in(newton, unit, with_unit)
    is_zero = not any(digit in text for digit in "123456789")
    return text if is_zero or text.startswith("−") else f"+{text}"


def percent(share: float) -> str:
    """A change in %, its sign always written."""
    whole = round(share) if share == share else None
    return "–" if whole is None else f"{whole:+d}".replace("-", "−") if whole else "0"


def speed(rod: float, preferences: Preferences, with_unit: bool = False) -> str:
    """A rod speed in the crew's unit."""
    return show(rod, "speed", preferences.unit("speed"), with_unit=with_unit)


def banded(found: Estimate, preferences: Preferences) -> list[str]:
    """`944 ±45` at each of its speeds; `944 (890 to 1020)` where the band is wider on one side."""
    unit = preferences.unit("force")
    bands = zip(found.force, found.low, found.high, strict=True)
    return [with_band(float(at), float(low), float(high), unit) for at, low, high in bands]


def with_band(newton: float, low: float, high: float, unit: str, *, signs: bool = False) -> str:
    """A force with its band in that unit; with `signs`, a change, its sign always written."""
    shown, lowest, highest = (
        signed_in(one, unit) if signs else _in(one, unit) for one in (newton, low, high)
    )
    if abs((high - newton) - (newton - low)) <= 0.02 * (high - low):
        return f"{shown} ±{_in((high - low) / 2, unit)}"
    return f"{shown} ({lowest} to {highest})"


def plus_minus(at: float, low: float, high: float, preferences: Preferences) -> str:
    """What stands behind `±` where there is room for one figure: the wider side of the band, so
    that all of it lies within."""
    return force(max(high - at, at - low), preferences)


def step_cells(
    step: ForceStep | None, i: int, preferences: Preferences, why_none: str = ""
) -> tuple[str, str, str]:
    """Change (`≈` where it is within the noise), the `±` of its band, and %. Without a step: a
    dash when `why_none` says why there is no estimate, else the knob stands at its stop."""
    if step is None:
        return "–" if why_none else "stop", "", ""
    noise = "≈" if step.in_noise[i] else ""
    change, low, high = (float(edge[i]) for edge in (step.change, step.low, step.high))
    return (
        noise + signed(change, preferences),
        plus_minus(change, low, high, preferences),
        percent(float(step.percent[i])),
    )


def parts_alone(found: Estimate, preferences: Preferences) -> str:
    """`its parts alone make N at mm/s: 112 at 25, 303 at 50`."""
    told = ", ".join(
        f"{force(newton, preferences)} at {speed(rod, preferences)}"
        for rod, newton in zip(found.speed, found.force, strict=True)
    )
    units = f"{preferences.unit('force')} at {preferences.unit('speed')}"
    return f"its parts alone make {units}: {told}"


def parts_apart_words(found: PartsApart, preferences: Preferences) -> str:
    """`these rebound parts are not what was on the bench: at 200 mm/s its sheet makes 24 % …`."""
    way = "more" if found.more > 0 else "less"
    return (
        f"these {found.direction} parts are not what was on the bench: at "
        f"{speed(found.speed, preferences, with_unit=True)} its sheet makes "
        f"{100 * abs(found.more):.0f} % {way} than they do, {found.times:.1f} times what both "
        "bands explain"
    )


def curve(
    found: Estimate, role: str, preferences: Preferences, label: str = "", band: bool = False
) -> Series:
    """An estimate as a series in the crew's units."""
    unit = preferences.unit("force")
    return Series(
        from_si(found.speed, "speed", preferences.unit("speed")),  # type: ignore[arg-type]
        from_si(found.force, "force", unit),  # type: ignore[arg-type]
        role,
        label,
        low=from_si(found.low, "force", unit) if band else None,  # type: ignore[arg-type]
        high=from_si(found.high, "force", unit) if band else None,  # type: ignore[arg-type]
    )


def change(step: ForceStep, role: str, preferences: Preferences) -> Series:
    """A force change as a series in the crew's units, with its band."""
    unit = preferences.unit("force")
    return Series(
        from_si(step.speed, "speed", preferences.unit("speed")),  # type: ignore[arg-type]
        from_si(step.change, "force", unit),  # type: ignore[arg-type]
        role,
        low=from_si(step.low, "force", unit),  # type: ignore[arg-type]
        high=from_si(step.high, "force", unit),  # type: ignore[arg-type]
    )
