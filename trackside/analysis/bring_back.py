"""Bringing a kept set-up to today's car: the same curve, not the same clicks.

What differs between then and now is said before anything is overwritten; nothing here writes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from trackside.analysis.estimate import DIRECTIONS, Setting, estimate_at, setting
from trackside.analysis.plausible_ranges import problem_at
from trackside.analysis.shed import Shed
from trackside.damper.basis import weakest
from trackside.damper.clicks import as_counted, from_full_hard
from trackside.damper.gas import pressure_at_20
from trackside.errors import BadNumber, NoEstimate
from trackside.preferences import Preferences
from trackside.records import Build, CornerSheet, Reading, Session, in_words, same, value_body
from trackside.records.fields import (
    ADJUSTER_WORDS,
    ADJUSTERS,
    CORNER_FIELDS,
    CORNERS,
    field_of,
    words_for,
)
from trackside.units import show

_HARDWARE = ("damper", "build")
_CHARGE = ("gas_pressure", "gas_temperature")
_PRESSURES = ("cold_pressure", "hot_pressure")
CHARGE_APART = 0.03
"""A charge that differs by more, both at 20 °C, is told (our own, no source)."""

FAR = 10.0
"""A translation that misses by more % is not the same curve (our own, no source)."""


@dataclass(frozen=True)
class Translation:
    """A position on today's damper that comes closest to the kept curve. `miss` is the largest
    force difference that remains at the reference speeds, in %; `basis` the weaker of both
    curves'."""

    corner: str
    adjuster: str
    then: str
    now: float
    miss: float
    basis: str

    @property
    def sentence(self) -> str:
        """What to set, instead of what, and how close it comes."""
        told = (
            f"{self.corner} {ADJUSTER_WORDS[self.adjuster]}: set {self.now:g} here for {self.then} "
            f"then; the curve comes within {self.miss:.0f} % ({self.basis})"
        )
        return f"{told}: not the same curve, the nearest there is" if self.miss > FAR else told


@dataclass(frozen=True)
class BringBack:
    """What bringing a set-up in would do. `values` maps path to the value that would be set;
    `differs` says what is not the same on today's car, the gravest first."""

    values: dict[str, Reading | str]
    differs: tuple[str, ...]
    translations: tuple[Translation, ...]
    overwrites: tuple[str, ...]
    """Paths whose present value would be replaced."""
    read_then: tuple[str, ...] = ()
    """What was read when the set-up ran, a corner a line: told, and never brought in."""

    def patch(self) -> dict[str, Any]:
        """The values as one revision's body."""
        return {path: value_body(value) for path, value in self.values.items()}


def bring_back(kept: Session, today: Session, shed: Shed, preferences: Preferences) -> BringBack:
    """The plan for bringing `kept` into `today`, whose dampers stay those on the car."""
    values: dict[str, Reading | str] = {}
    differs: list[str] = []
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
            for name, field in CORNER_FIELDS.items()
            if field.carried and name not in _HARDWARE and (value := was.value(name)) is not None
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
            found, untold = translate(kept, on_car, corner, now, shed, preferences.reference_speeds)
            translations += found
            differs += untold
            for step in found:
                brought[step.adjuster] = Reading.of_si(step.now, "clicks")
        differs += _charge_difference(kept, today, corner, preferences)
        values |= {f"{corner}.{name}": value for name, value in brought.items()}
    for name, text in kept.items.items():
        values[f"items.{name}"] = text
    differs += _condition_differences(kept, today, preferences)
    values = {p: v for p, v in values.items() if not same(today.value(p), v, _quantity(p))}
    differs += _implausible(values, today, shed, preferences)
    overwrites = tuple(path for path in values if today.value(path) is not None)
    read_then = tuple(_read_then(kept, preferences))
    return BringBack(values, tuple(differs), tuple(translations), overwrites, read_then)


def _read_then(kept: Session, preferences: Preferences) -> Iterator[str]:
    """Charge and tyre pressures of the kept set-up's day: readings, not settings."""
    for corner in CORNERS:
        sheet = kept.corner(corner)
        told = []
        for name in (*_CHARGE, *_PRESSURES):
            value, field = sheet.value(name), CORNER_FIELDS[name]
            if value is not None and field.quantity:
                words = in_words(value, field.quantity, preferences.unit(field.quantity))
                told.append(f"{field.label.lower()} {words}")
        if told:
            yield f"{corner}: {', '.join(told)}"


def _implausible(
    values: dict[str, Reading | str], today: Session, shed: Shed, preferences: Preferences
) -> Iterator[str]:
    """What of the kept values cannot be right on today's car."""
    for path, value in values.items():
        problem = problem_at(path, today.with_value(path, value), shed, preferences)
        if problem:
            yield f"{words_for(path)}: {problem}"


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
) -> list[str]:
    """What is not the same, or not known to be."""
    damper = today.corner(corner).damper or ""
    left = f"{corner}: clicks are left as they are on the car"
    if not was.damper:
        sentences = [
            f"{corner}: no damper is on record for the kept set-up; {damper} is on the car"
        ]
        return sentences if now is not None else [*sentences, left]
    if was.damper.casefold() != damper.casefold():
        sentences = [f"{corner}: another damper, {damper} instead of {was.damper}"]
    elif then is not None and now is not None:
        sentences = [
            f"{corner}: {damper} was rebuilt, build {now.version} instead of {then.version}"
        ]
    else:
        sentences = []
    if now is None:
        return [*sentences, f"{corner}: today's build of {damper} is not known", left]
    if then is None:
        return [*sentences, f"{corner}: the kept build of {was.damper} is not known"]
    for adjuster in then.in_order():
        other = now.adjuster(adjuster.acts_on)
        if other is None:
            sentences.append(f"{corner}: today's damper has no {adjuster.words} adjuster")
        elif (other.clicks, other.counted_from) != (adjuster.clicks, adjuster.counted_from):
            sentences.append(
                f"{corner} {adjuster.words}: {other.clicks} clicks from full {other.counted_from} "
                f"instead of {adjuster.clicks} from full {adjuster.counted_from}"
            )
    return sentences


def _charge_difference(
    kept: Session, today: Session, corner: str, preferences: Preferences
) -> list[str]:
    """A reading of today's charge is never replaced by another day's; what is apart is told."""
    at_20 = []
    for session in (today, kept):
        pressure, read_at = (session.corner(corner).si(name) for name in _CHARGE)
        if pressure is None or read_at is None:
            return []
        try:
            at_20.append(float(pressure_at_20(pressure, read_at)))
        except BadNumber as error:
            return [f"{corner} gas: not compared, {error}"]
    if abs(at_20[0] / at_20[1] - 1) <= CHARGE_APART:
        return []
    unit, celsius = preferences.unit("pressure"), preferences.unit("temperature")
    now, then = (show(p, "pressure", unit, with_unit=True) for p in at_20)
    at = show(20.0, "temperature", celsius, with_unit=True)
    return [f"{corner} gas: {now} today, {then} then, both at {at}: check the charge"]


def _condition_differences(kept: Session, today: Session, preferences: Preferences) -> list[str]:
    found = []
    for name, label in (("air_temperature", "air"), ("track_temperature", "track")):
        then, now = kept.si(name), today.si(name)
        if then is not None and now is not None and abs(then - now) >= 5:
            unit = preferences.unit("temperature")
            a, b = (show(t, "temperature", unit, with_unit=True) for t in (then, now))
            found.append(
                f"{label} {b} today, {a} then: check cold tyre pressures and damper temperature"
            )
    if kept.surface and today.surface and kept.surface.casefold() != today.surface.casefold():
        found.append(f"{today.surface} today, {kept.surface} then")
    return found


def translate(
    kept: Session, today: Session, corner: str, now: Build, shed: Shed, speeds: Sequence[float]
) -> tuple[list[Translation], list[str]]:
    """Positions on build `now` closest to the kept curve, and a sentence where none is told.

    All positions of a direction's bleed knob are tried, the preload knob held where it stands
    today; closeness is the mean square of the force ratio's logarithm over the reference speeds.
    A knob that both directions share is set for both at once.
    """
    found: list[Translation] = []
    untold: list[str] = []
    wanted: dict[str, list[Setting]] = {}
    for direction in DIRECTIONS:
        adjuster = now.bleed_adjuster(direction)
        if adjuster is None:
            continue
        try:
            then = setting(kept, corner, direction, shed)
        except NoEstimate as reason:
            untold.append(f"{corner} {adjuster.words}: not translated, {reason}")
            continue
        wanted.setdefault(adjuster.acts_on, []).append(then)
    for acts, thens in wanted.items():
        try:
            found.append(_closest(today, corner, acts, thens, now, shed, speeds))
        except NoEstimate as reason:
            untold.append(
                f"{corner} {ADJUSTER_WORDS[acts]}: not translated, {reason} The position is left "
                "as it is on the car."
            )
    untold += [
        f"{corner} {a.words}: not translated, set it by hand"
        for a in now.in_order()
        if a.acts_on.endswith("preload")
    ]
    return found, untold


def _closest(
    today: Session,
    corner: str,
    acts: str,
    thens: Sequence[Setting],
    now: Build,
    shed: Shed,
    speeds: Sequence[float],
) -> Translation:
    adjuster = now.adjuster(acts)
    assert adjuster is not None
    targets = {then.direction: estimate_at(then, shed, speeds) for then in thens}
    known = [target.basis for target in targets.values()]
    reason = NoEstimate("there is no position to set", "enter the adjuster's clicks")
    held = {direction: _held(today, corner, direction, now) for direction in targets}
    best: tuple[float, float, float, str] | None = None
    for from_hard in np.arange(0, adjuster.clicks + adjuster.step / 2, adjuster.step):
        misses, basis = [], list(known)
        try:
            for direction, target in targets.items():
                at = replace(held[direction], from_hard=float(from_hard))
                there = estimate_at(at, shed, speeds)
                ratio = np.maximum(there.force, 1e-9) / np.maximum(target.force, 1e-9)
                misses.append(np.log(ratio))
                basis.append(there.basis)
        except NoEstimate as untold:
            reason = untold
            continue
        ratio = np.concatenate(misses)
        score = float(np.mean(ratio**2))
        if best is None or score < best[0]:
            miss = 100 * float(np.max(np.abs(np.expm1(ratio))))
            best = (score, float(from_hard), miss, str(weakest(*basis)))
    if best is None:
        raise reason
    position = float(as_counted(best[1], adjuster.clicks, adjuster.counted_from))
    return Translation(corner, acts, thens[0].words, position, best[2], best[3])


def _held(today: Session, corner: str, direction: str, now: Build) -> Setting:
    """Today's damper with its preload knob where it stands; the bleed knob is yet to be found."""
    knob = now.adjuster(f"{direction}_preload")
    preload = today.corner(corner).si(knob.acts_on) if knob else None
    hard = None
    if knob is not None and preload is not None and not knob.problem(preload):
        hard = float(from_full_hard(preload, knob.clicks, knob.counted_from))
    return Setting(
        corner, direction, now, now.bleed_adjuster(direction), None, 0.0, knob, preload, hard
    )
