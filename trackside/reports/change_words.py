"""What changed between two sessions, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from trackside.analysis.changes import AXLES, Changes, ForceChange, NotKnown
from trackside.analysis.value_change import (
    ClickChange,
    End,
    PressureChange,
    UnitChange,
    Value,
    ValueChange,
)
from trackside.preferences import Preferences
from trackside.records import in_words
from trackside.records.fields import CORNERS
from trackside.reports import formatting
from trackside.reports.gas_words import NOT_COMPARED
from trackside.units import show

_PRESSURES = ("cold_pressure", "hot_target")


def force_sentence(force: ForceChange, preferences: Preferences) -> str:
    """The change at the rod speed where it is clearest, with band and basis."""
    i, step = force.clearest, force.step

    def newton(value: float) -> str:
        return formatting.signed(float(value), preferences, with_unit=True)

    speed = formatting.speed(step.speed[i], preferences, with_unit=True)
    head = f"{force.corner} {force.direction}: "
    band = f"95 % band {newton(step.low[i])} to {newton(step.high[i])}, {step.basis}"
    if force.in_noise:
        return f"{head}no change outside the noise at {speed} ({band})"
    percent = formatting.percent(float(step.percent[i]))
    text = f"{head}{newton(step.change[i])} ({percent} %) at {speed} ({band})"
    return text if force.wheel is None else f"{text}; {newton(force.wheel[i])} at the wheel"


@dataclass(frozen=True)
class ValueWords:
    """A change in words: `what` is its label, `how` the same for both sides of an axle when the
    same was done."""

    what: str
    before: str
    after: str
    how: str


def value_words(value: ValueChange, preferences: Preferences) -> ValueWords:
    """The change in the crew's units."""
    if isinstance(value, UnitChange):
        return _unit_told(value)
    if isinstance(value, PressureChange):
        return _pressure_told(value, preferences)
    if isinstance(value, ClickChange):
        return _clicks_told(value)
    quantity = value.field.quantity if value.field else None
    before, after = _values_told(value, quantity, preferences)
    return ValueWords(value.label, before, after, f"{before} to {after}")


def _values_told(
    value: ValueChange, quantity: str | None, preferences: Preferences
) -> tuple[str, str]:
    unit = preferences.unit(quantity) if quantity else ""
    before, after = (_value_told(v, quantity, unit) for v in (value.before, value.after))
    if before == after:  # the crew's unit is too coarse for it: as it was typed
        return _value_told(value.before, quantity), _value_told(value.after, quantity)
    return before, after


def _value_told(value: Value, quantity: str | None, unit: str = "") -> str:
    return "unknown" if value is None else in_words(value, quantity, unit)


def _clicks_told(value: ClickChange) -> ValueWords:
    if value.within:
        before, after = _counted(value.before, value.ends[0]), _counted(value.after, value.ends[1])
        return ValueWords(value.label, before, after, f"{before or 'none'} to {after or 'none'}")
    before, after = (_value_told(v, "clicks") for v in (value.before, value.after))
    how = f"{before} to {after}"
    if value.beyond:
        how += ", beyond its clicks"
    elif value.harder is not None:
        size = f"{abs(value.harder):g} click{'' if abs(value.harder) == 1 else 's'}"
        way = "harder" if value.harder > 0 else "softer"
        how = f"{size} {way} ({how} from full {value.ends[0]})"
    return ValueWords(value.label, before, after, how)


def _counted(value: Value, end: End) -> str:
    """`8 from full hard`; `not entered` without a count; that the end is not known where the build
    is not; empty for a knob that neither has a count nor is there."""
    if value is None:
        return "not entered" if end in ("hard", "soft") else ""
    count = in_words(value, "clicks")
    if end == "unknown":
        return f"{count} from an end that is not known"
    return f"{count}, no such knob on record" if end == "no knob" else f"{count} from full {end}"


def _unit_told(value: UnitChange) -> ValueWords:
    units = [str(unit or "unknown") for unit in (value.before, value.after)]
    if value.name == "damper":
        units = [
            " build ".join(part for part in (unit, build) if part)
            for unit, build in zip(units, value.builds, strict=True)
        ]
    counts = "".join(f"; {count.label} {_clicks_told(count).how}" for count in value.counts)
    return ValueWords(value.label, units[0], units[1], f"{units[0]} to {units[1]}{counts}")


_SAME_AS = {
    "gas_pressure": "the same filling at another temperature",
    "cold_pressure": "for the same target, or by the day's temperature",
}


def _pressure_told(value: PressureChange, preferences: Preferences) -> ValueWords:
    before, after = _values_told(value, "pressure", preferences)
    what = value.label
    if value.name == "gas_pressure" and value.is_set:
        unit = preferences.unit("pressure")
        before, after = (show(p, "pressure", unit, with_unit=True) for p in value.pressures)
        at = show(20.0, "temperature", preferences.unit("temperature"), with_unit=True)
        what = f"{what} at {at}"
    why = NOT_COMPARED.get(value.why, value.why)
    notes = {"set": "", "same": _SAME_AS[value.name], "unknown": f"not comparable: {why}"}
    how = ", ".join(part for part in (f"{before} to {after}", notes[value.verdict]) if part)
    return ValueWords(what, before, after, how)


def sentence(value: ValueChange, preferences: Preferences) -> str:
    """`FL rebound: 2 clicks harder (8 to 6 from full hard)`."""
    words = value_words(value, preferences)
    return f"{value.corner} {words.what}: {words.how}".strip()


def not_known(one: NotKnown) -> str:
    """`FL bump: no estimate, the bump position at FL is not entered: type it …`."""
    return f"{one.corner} {one.direction}: no estimate, {why_not_known(one)}"


def why_not_known(one: NotKnown) -> str:
    """Why a change in force is not known."""
    return one.why or "no figure comes out at these speeds."


def sentences(changes: Changes, preferences: Preferences) -> list[str]:
    """What was set differently, both sides of an axle in one sentence where the same was done."""
    return list(paired(changes.values, preferences))


def paired(values: Sequence[ValueChange], preferences: Preferences) -> Iterator[str]:
    """Sentences; the same change on both sides of an axle, or all round, is said once, and all
    pressures of one kind in one line."""
    said: set[str] = set()
    by_path = {value.path: value_words(value, preferences) for value in values}
    within = {value.path for value in values if value.within in by_path}
    lines: dict[str, list[str]] = {}
    for value in values:
        if value.path in said or value.path in within:
            continue
        words = by_path[value.path]
        if not value.corner:
            yield f"{words.what}: {words.how}"
            continue
        alike = [
            c
            for c in CORNERS
            if (other := by_path.get(path := f"{c}.{value.name}")) is not None
            and other.how == words.how
            and path not in said
            and path not in within
        ]
        where: str = value.corner
        covered: tuple[str, ...] = (value.corner,)
        if len(alike) == 4:
            where, covered = "all four", CORNERS
        else:
            for axle, pair in AXLES.items():
                if value.corner in pair and set(pair) <= set(alike):
                    where, covered = axle, pair
        said |= {f"{corner}.{value.name}" for corner in covered}
        if value.name in _PRESSURES:
            lines.setdefault(value.name, []).append(f"{where} {words.what}: {words.how}")
        else:
            yield f"{where} {words.what}: {words.how}"
    yield from ("; ".join(parts) for parts in lines.values())
