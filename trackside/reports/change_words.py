"""What changed between two sessions, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trackside.analysis.changes import AXLES, Changes, ForceChange
from trackside.analysis.value_change import ValueChange
from trackside.preferences import Preferences
from trackside.records.fields import CORNERS
from trackside.reports import formatting

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
        return f"{head}no change that stands out of the noise at {speed} ({band})"
    percent = formatting.percent(float(step.percent[i]))
    text = f"{head}{newton(step.change[i])} ({percent} %) at {speed} ({band})"
    return text if force.wheel is None else f"{text}; {newton(force.wheel[i])} at the wheel"


def sentences(changes: Changes) -> list[str]:
    """What was set differently, both sides of an axle in one sentence where the same was done."""
    return list(paired(changes.values))


def paired(values: Sequence[ValueChange]) -> Iterator[str]:
    """Sentences; the same change on both sides of an axle, or all round, is said once, and all
    pressures of one kind in one line."""
    told: set[str] = set()
    by_path = {value.path: value for value in values}
    lines: dict[str, list[str]] = {}
    for value in values:
        if value.path in told or value.within in by_path:
            continue
        if not value.corner:
            yield value.sentence
            continue
        name = value.path.partition(".")[2]
        alike = [
            c
            for c in CORNERS
            if (v := by_path.get(f"{c}.{name}")) is not None
            and v.how == value.how
            and v.path not in told
            and v.within not in by_path
        ]
        where: str = value.corner
        covered: tuple[str, ...] = (value.corner,)
        if len(alike) == 4:
            where, covered = "all four", CORNERS
        else:
            for axle, pair in AXLES.items():
                if value.corner in pair and set(pair) <= set(alike):
                    where, covered = axle, pair
        told |= {f"{corner}.{name}" for corner in covered}
        if name in _PRESSURES:
            lines.setdefault(name, []).append(f"{where} {value.what}: {value.how}")
        else:
            yield f"{where} {value.what}: {value.how}"
    yield from ("; ".join(parts) for parts in lines.values())
