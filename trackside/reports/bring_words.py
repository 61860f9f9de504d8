"""What bringing a kept set-up to today's car would do, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from trackside.analysis.bring_back import BringBack, Differs
from trackside.analysis.same_curve import FAR, MOST_BEYOND, Translation
from trackside.preferences import Preferences
from trackside.records import in_words
from trackside.records.fields import ADJUSTER_WORDS, CORNER_FIELDS, SESSION_FIELDS, words_for
from trackside.reports import formatting
from trackside.reports.mark_words import mark_words
from trackside.reports.origin_words import position_words
from trackside.units import show, show_span

_SAID_BEYOND = 0.5  # clicks: less is the click that is there


def translation_words(step: Translation, preferences: Preferences) -> str:
    """What to set, instead of what, how close it comes, and what stays different."""
    at = f"{step.corner} {ADJUSTER_WORDS[step.adjuster]}"
    then = f"{position_words(step.then, step.of)} then" if step.of else "the kept curve"
    if not step.is_set:
        return (
            f"{at}: not set, because the force is known by {step.basis} only; {step.now:g} would "
            f"be nearest to {then}, {_rest(step, preferences)}"
        )
    parts = [
        f"{at}: set {step.now:g} here for {then}",
        f"the curve comes within {step.miss:.0f} % ({step.basis})",
    ]
    others = [position for position in step.equals if position != step.now]
    if others:
        parts.append(f"{_either(step.equals)}, nobody can tell")
    if step.beyond >= _SAID_BEYOND:
        past = "more than five clicks" if step.beyond >= MOST_BEYOND else _clicks(step.beyond)
        parts.append(f"the kept curve is {past} beyond full {step.end}")
    if step.miss > FAR:
        parts.append(f"not the same curve, the nearest there is: {_rest(step, preferences)}")
    return "; ".join(parts)


def _rest(step: Translation, preferences: Preferences) -> str:
    """`rebound is −140 ± 25 N off at 50 mm/s`."""
    rest = step.rest
    if rest is None:
        return f"{step.miss:.0f} % off"
    unit = preferences.unit("force")
    band = show_span(rest.half, "force", unit)
    newtons = formatting.signed(rest.newtons, preferences)
    rod = formatting.speed(rest.speed, preferences, with_unit=True)
    return f"{rest.direction} differs by {newtons} ± {band} at {rod}"


def _either(positions: Sequence[float]) -> str:
    """`10 or 11`, `9 to 12`, `9, 10 or 12.5`."""
    names = [f"{position:g}" for position in positions]
    steps = {round(b - a, 6) for a, b in pairwise(positions)}
    if len(names) > 2 and len(steps) == 1:
        return f"any of {names[0]} to {names[-1]}"
    return " or ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def _clicks(count: float) -> str:
    whole = round(count)
    return "about one click" if whole <= 1 else f"about {whole} clicks"


def differs_words(one: Differs, preferences: Preferences) -> str:
    """`FL: another damper, TW-2241 instead of RP-0713`."""
    at, values = one.corner, one.values
    if one.kind == "no kept damper":
        return f"{at}: no damper is on record for the kept set-up; {values[0]} is on the car"
    if one.kind == "another damper":
        return f"{at}: another damper, {values[0]} instead of {values[1]}"
    if one.kind == "rebuilt":
        return f"{at}: {values[0]} was rebuilt, build {values[1]} instead of {values[2]}"
    if one.kind == "build unknown":
        return f"{at}: today's build of {values[0]} is not known"
    if one.kind == "kept build unknown":
        return f"{at}: the kept build of {values[0]} is not known"
    if one.kind == "clicks left":
        return f"{at}: clicks are left as they are on the car"
    if one.kind == "no adjuster":
        return f"{at}: today's damper has no {values[0].words} adjuster"
    if one.kind == "other clicks":
        then, now = values
        return (
            f"{at} {then.words}: {now.clicks} clicks from full {now.counted_from} "
            f"instead of {then.clicks} from full {then.counted_from}"
        )
    if one.kind in ("not translated", "not translated, left"):
        told = f"{at} {ADJUSTER_WORDS[values[0]]}: not translated, {values[1]}"
        left = " The position is left as it is on the car."
        return f"{told}{left if one.kind == 'not translated, left' else ''}"
    if one.kind == "set by hand":
        return f"{at} {ADJUSTER_WORDS[values[0]]}: not translated, set it by hand"
    if one.kind == "implausible":
        return f"{words_for(values[0].path)}: {mark_words(values[0], preferences)}"
    if one.kind == "gas not compared":
        return f"{at} gas: not compared, {values[0]}"
    if one.kind == "surface":
        return f"{values[0]} today, {values[1]} then"
    return _apart(one, preferences)


def _apart(one: Differs, preferences: Preferences) -> str:
    """Two pressures, or two temperatures."""
    celsius = preferences.unit("temperature")
    if one.kind == "charge":
        unit = preferences.unit("pressure")
        now, then = (show(p, "pressure", unit, with_unit=True) for p in one.values)
        at = show(20.0, "temperature", celsius, with_unit=True)
        return f"{one.corner} gas: {now} today, {then} then, both at {at}: check the charge"
    name, *both = one.values
    now, then = (show(t, "temperature", celsius, with_unit=True) for t in both)
    return (
        f"{SESSION_FIELDS[name].label.lower()} {now} today, {then} then: check cold tyre pressures "
        "and damper temperature"
    )


def read_then_words(plan: BringBack, preferences: Preferences) -> Iterator[str]:
    """What was read when the set-up ran, a corner a line."""
    for corner, readings in plan.read_then.items():
        told = []
        for name, value in readings.items():
            field = CORNER_FIELDS[name]
            unit = preferences.unit(field.quantity) if field.quantity else ""
            told.append(f"{field.label.lower()} {in_words(value, field.quantity, unit)}")
        yield f"{corner}: {', '.join(told)}"
