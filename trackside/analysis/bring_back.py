"""Bringing a kept set-up to today's car: the same curve, not the same clicks.

What differs between then and now is known before anything is overwritten; nothing here writes.
`reports.bring_words` puts it in words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from trackside.analysis.plausible_ranges import mark_at
from trackside.analysis.same_curve import NotTranslated, Translation, translate
from trackside.analysis.shed import Shed
from trackside.damper.gas import pressure_at_20
from trackside.errors import BadNumber
from trackside.records import Build, CornerSheet, Reading, Session, same, value_body
from trackside.records.fields import (
    ADJUSTERS,
    CORNER_FIELDS,
    CORNERS,
    field_of,
)

_HARDWARE = ("damper", "build")
_CHARGE = ("gas_pressure", "gas_temperature")
_PRESSURES = ("cold_pressure", "hot_pressure")
CHARGE_APART = 0.03
"""A charge that differs by more, both at 20 °C, is told (our own, no source)."""

WARMER = 5.0
"""An air or a track so many K warmer or colder is told (our own, no source)."""


Difference = Literal[
    "no kept damper", "another damper", "rebuilt", "build unknown", "kept build unknown",
    "no adjuster", "other clicks", "clicks left", "not translated", "not translated, left",
    "set by hand", "gas not compared", "charge", "temperature", "surface", "implausible",
]  # fmt: skip


@dataclass(frozen=True)
class Differs:
    """What is not the same on today's car, or not known to be; `corner` is empty for what concerns
    the whole car. `values`, by kind:

    - no kept damper, build unknown: today's serial; kept build unknown: the kept one.
    - another damper: today's serial, the kept one. rebuilt: the serial, today's build, the kept.
    - no adjuster: the kept adjuster. other clicks: the kept adjuster, today's. clicks left: none.
    - not translated, with or without the position left as it is: what the knob acts on, and why.
      set by hand: what it acts on.
    - gas not compared: why. charge: today's and that of then (gauge Pa at 20 °C).
    - temperature: the field's name, today's and that of then (°C). surface: today's, that of then.
    - implausible: the mark.
    """

    kind: Difference
    corner: str = ""
    values: tuple[Any, ...] = ()


@dataclass(frozen=True)
class BringBack:
    """What bringing a set-up in would do. `values` maps path to the value that would be set;
    `differs` names what is not the same on today's car, the gravest first."""

    values: dict[str, Reading | str]
    differs: tuple[Differs, ...]
    translations: tuple[Translation, ...]
    overwrites: tuple[str, ...]
    """Paths whose present value would be replaced."""
    read_then: dict[str, dict[str, Reading | str]] = field(default_factory=dict)
    """What was read when the set-up ran, by corner and field: told, and never brought in."""

    def patch(self) -> dict[str, Any]:
        """The values as one revision's body."""
        return {path: value_body(value) for path, value in self.values.items()}


def bring_back(kept: Session, today: Session, shed: Shed, speeds: Sequence[float]) -> BringBack:
    """The plan for bringing `kept` into `today`, whose dampers stay those on the car; curves are
    compared at these rod speeds (m/s)."""
    values: dict[str, Reading | str] = {}
    differs: list[Differs] = []
    translations: list[Translation] = []
    for corner in CORNERS:
        was, has = kept.corner(corner), today.corner(corner)
        on_car = today if has.damper else today.with_value(f"{corner}.damper", was.damper)
        then, now = shed.build_at(kept, corner), shed.build_at(on_car, corner)
        alike = _alike(was, on_car.corner(corner), then, now)
        if not has.damper and (then is None or now is None):
            alike = True  # the kept damper comes with its clicks: nothing speaks against them
        brought = {
            name: value
            for name, one in CORNER_FIELDS.items()
            if one.carried and name not in _HARDWARE and (value := was.value(name)) is not None
        }
        if not has.damper:
            brought |= {n: v for n in _HARDWARE if (v := was.value(n)) is not None}
        if not alike:
            if not has.damper and now is not None:
                brought["build"] = now.version
            for name in ADJUSTERS:
                brought.pop(name, None)
            differs += _hardware_differences(on_car, corner, was, then, now)
        if not alike and now is not None:
            for one in translate(kept, on_car, corner, now, shed, speeds):
                if isinstance(one, NotTranslated):
                    differs.append(_not_translated(one))
                    continue
                translations.append(one)
                if one.is_set:
                    brought[one.adjuster] = Reading.of_si(one.now, "clicks")
        differs += _charge_difference(kept, today, corner)
        values |= {f"{corner}.{name}": value for name, value in brought.items()}
    for name, text in kept.items.items():
        values[f"items.{name}"] = text
    differs += _condition_differences(kept, today)
    values = {p: v for p, v in values.items() if not same(today.value(p), v, _quantity(p))}
    differs += _implausible(values, today, shed)
    overwrites = tuple(path for path in values if today.value(path) is not None)
    return BringBack(values, tuple(differs), tuple(translations), overwrites, _read_then(kept))


def _read_then(kept: Session) -> dict[str, dict[str, Reading | str]]:
    """Charge and tyre pressures of the kept set-up's day: readings, not settings."""
    found = {}
    for corner in CORNERS:
        sheet = kept.corner(corner)
        readings = {name: sheet.value(name) for name in (*_CHARGE, *_PRESSURES)}
        known = {name: value for name, value in readings.items() if value is not None}
        if known:
            found[corner] = known
    return found


def _implausible(values: dict[str, Reading | str], today: Session, shed: Shed) -> Iterator[Differs]:
    """What of the kept values cannot be right on today's car."""
    for path, value in values.items():
        if mark := mark_at(path, today.with_value(path, value), shed):
            yield Differs("implausible", values=(mark,))


def _quantity(path: str) -> str | None:
    return None if path.startswith("items.") else field_of(path).quantity


def _alike(was: CornerSheet, has: CornerSheet, then: Build | None, now: Build | None) -> bool:
    """Whether damper and build are known to be the same then and now."""
    if (was.damper or "").casefold() != (has.damper or "").casefold():
        return False
    if then is not None and now is not None:
        return then == now
    return bool(was.build and has.build and was.build.casefold() == has.build.casefold())


def _hardware_differences(
    today: Session, corner: str, was: CornerSheet, then: Build | None, now: Build | None
) -> Iterator[Differs]:
    """What is not the same, or not known to be."""
    damper = today.corner(corner).damper or ""
    left = Differs("clicks left", corner)
    if not was.damper:
        yield Differs("no kept damper", corner, (damper,))
        if now is None:
            yield left
        return
    if was.damper.casefold() != damper.casefold():
        yield Differs("another damper", corner, (damper, was.damper))
    elif then is not None and now is not None:
        yield Differs("rebuilt", corner, (damper, now.version, then.version))
    if now is None:
        yield Differs("build unknown", corner, (damper,))
        yield left
        return
    if then is None:
        yield Differs("kept build unknown", corner, (was.damper,))
        return
    for adjuster in then.in_order():
        other = now.adjuster(adjuster.acts_on)
        if other is None:
            yield Differs("no adjuster", corner, (adjuster,))
        elif (other.clicks, other.counted_from) != (adjuster.clicks, adjuster.counted_from):
            yield Differs("other clicks", corner, (adjuster, other))


def _charge_difference(kept: Session, today: Session, corner: str) -> Iterator[Differs]:
    """A reading of today's charge is never replaced by another day's; what is apart is told."""
    at_20 = []
    for session in (today, kept):
        pressure, read_at = (session.corner(corner).si(name) for name in _CHARGE)
        if pressure is None or read_at is None:
            return
        try:
            at_20.append(float(pressure_at_20(pressure, read_at)))
        except BadNumber as error:
            yield Differs("gas not compared", corner, (str(error),))
            return
    if abs(at_20[0] / at_20[1] - 1) > CHARGE_APART:
        yield Differs("charge", corner, tuple(at_20))


def _condition_differences(kept: Session, today: Session) -> Iterator[Differs]:
    for name in ("air_temperature", "track_temperature"):
        then, now = kept.si(name), today.si(name)
        if then is not None and now is not None and abs(then - now) >= WARMER:
            yield Differs("temperature", values=(name, now, then))
    if kept.surface and today.surface and kept.surface.casefold() != today.surface.casefold():
        yield Differs("surface", values=(today.surface, kept.surface))


def _not_translated(one: NotTranslated) -> Differs:
    if one.reason is None:
        return Differs("set by hand", one.corner, (one.adjuster,))
    kind: Difference = "not translated, left" if one.then_known else "not translated"
    return Differs(kind, one.corner, (one.adjuster, str(one.reason)))
