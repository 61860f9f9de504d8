"""The click map worked out: one direction of a corner, its curve, and what its knobs are worth."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace

from rich.text import Text

from trackside.analysis.estimate import (
    DIRECTIONS,
    Estimate,
    Setting,
    drawn_speeds,
    estimate_at,
    setting,
)
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.knob_sweep import MOST, knob_sweep
from trackside.analysis.parts_beside import parts_beside
from trackside.analysis.shed import Shed
from trackside.analysis.warm_oil import Warm, warm_estimate
from trackside.analysis.wheel import AtWheel, at_wheel
from trackside.analysis.worth import ClickWorth, ForceStep, click_worth, moved, step_between
from trackside.charts import INKS, Drawing, Series, canvas_rows, live, plot
from trackside.corner.wheel import wheel_force
from trackside.damper.basis import Basis
from trackside.damper.clicks import acts_on
from trackside.errors import NoEstimate, TracksideError
from trackside.preferences import Preferences
from trackside.records import Adjuster, Session
from trackside.reports import formatting
from trackside.reports.oil_words import OIL_KNOWN
from trackside.reports.origin_words import setting_words
from trackside.reports.wheel_words import lack_words
from trackside.units import from_si, show

TABLE_WIDTH = 61
ROWS_A_LINE = 3
"""Rows of the chart that each of the knob's other positions needs to be told from the next."""
LETTERS = "abcdefgh"
"""Signs of the knob's other positions, hard first."""
OF_PARTS = "p"
"""Sign of the curve that the parts alone make."""


@dataclass(frozen=True)
class Subject:
    """What the map is of: nothing here changes while it is worked out."""

    session: Session
    before: Session | None
    corner: str
    direction: str
    shed: Shed
    preferences: Preferences
    knob: int = 0
    """Which knob of the direction is in hand, in run-sheet order."""


@dataclass(frozen=True)
class ClickMap:
    """The estimate at the reference speeds, each knob's worth (or why there is none), the wheel,
    and the curves to draw."""

    subject: Subject
    at: Setting
    estimate: Estimate
    knobs: tuple[tuple[Adjuster, ClickWorth | NoEstimate], ...]
    wheel: AtWheel
    before: Setting | None
    warm: Warm | None

    @property
    def in_hand(self) -> Adjuster | None:
        """The knob that the keys turn."""
        return self.knobs[self.subject.knob % len(self.knobs)][0] if self.knobs else None


def knobs_of(session: Session, corner: str, direction: str, shed: Shed) -> list[Adjuster]:
    """The knobs that act on that direction, in run-sheet order."""
    build = shed.build_at(session, corner)
    every = build.in_order() if build else ()
    return [a for a in every if acts_on(a.acts_on, direction)]


class Curves:
    """Curves to draw, each worked out once: the fan stands still while its knob turns."""

    def __init__(self) -> None:
        self._known: EstimateCache | None = None

    def at(self, setting: Setting, subject: Subject) -> Estimate:
        """The curve at a setting, up to the crew's peak speed."""
        if self._known is None or self._known.shed is not subject.shed:
            self._known = EstimateCache(subject.shed, drawn_speeds(subject.preferences.peak_speed))
        return self._known.at(setting)


def work_out(subject: Subject) -> ClickMap:
    """The numbers; NoEstimate says why there are none."""
    session, corner, shed = subject.session, subject.corner, subject.shed
    speeds = subject.preferences.reference_speeds
    at = setting(session, corner, subject.direction, shed)
    estimate = estimate_at(at, shed, speeds)
    knobs = []
    if at.build.adjusters:
        each = [
            (adjuster, direction)
            for adjuster in at.build.in_order()
            for direction in DIRECTIONS
            if acts_on(adjuster.acts_on, direction)
        ]
        worths = click_worth(session, corner, shed, speeds)
        knobs = [
            (adjuster, worth)
            for (adjuster, direction), worth in zip(each, worths, strict=True)
            if direction == subject.direction
        ]
    wheel = at_wheel(estimate, session, shed)
    warm = _warm(estimate, subject)
    return ClickMap(subject, at, estimate, tuple(knobs), wheel, _before(subject, at), warm)


def _warm(estimate: Estimate, subject: Subject) -> Warm | None:
    """The curve at the body temperature of the run, at the reference speeds and as drawn."""
    preferences = subject.preferences
    speeds = [*preferences.reference_speeds, *drawn_speeds(preferences.peak_speed)]
    try:
        return warm_estimate(estimate, subject.session, subject.shed, speeds)
    except TracksideError:
        return None


def _before(subject: Subject, at: Setting) -> Setting | None:
    """How the session before was set, where that differs."""
    if subject.before is None:
        return None
    try:
        before = setting(subject.before, subject.corner, subject.direction, subject.shed)
    except TracksideError:
        return None
    return None if before == at else before


def chart(found: ClickMap, curves: Curves, width: int, height: int) -> Drawing:
    """The curve with its band over the fan of the knob in hand, each with a letter of its own, and
    the session before, and what the parts alone make; marked at the speeds of the table."""
    subject, preferences = found.subject, found.subject.preferences
    rows, corner = canvas_rows(height), found.at.corner
    now = curves.at(found.at, subject)
    label = f"{corner} {_position(found.at)}".strip()
    mine = formatting.curve(now, corner, preferences, label, band=True)
    mine = replace(mine, marked=_table_speeds(found))
    others = (
        _before_drawn(found, curves),
        _parts_drawn(found, now),
        _warm_drawn(found, now, rows),
    )
    named = [*(one for one in others if one is not None), mine]
    speed, force = (preferences.unit(quantity) for quantity in ("speed", "force"))
    return plot(
        [*_fan_drawn(found, curves, min(MOST, rows // ROWS_A_LINE)), *named],
        width,
        height,
        x_label=speed,
        y_label=_head(force, mine, preferences),
        ink=preferences.ink,
    )


def _head(unit: str, marked: Series, preferences: Preferences) -> str:
    """The unit, and where the markers of a series stand."""
    return f"{unit}   {marked.glyph(INKS[preferences.ink].plain_marks)} as in the table"


def _table_speeds(found: ClickMap) -> list[float]:
    """The reference speeds as the chart has them."""
    unit = found.subject.preferences.unit("speed")
    return [from_si(float(rod), "speed", unit) for rod in found.estimate.speed]


def _fan_drawn(found: ClickMap, curves: Curves, room: int) -> list[Series]:
    """The other positions of the knob in hand, so many at most: its two ends at the least."""
    subject, knob = found.subject, found.in_hand
    drawn: list[Series] = []
    if knob is None:
        return drawn
    for other in knob_sweep(found.at, knob, subject.shed, room):
        with suppress(TracksideError):
            curve = curves.at(other, subject)
            label = _count(other, knob, curve.basis)
            line = formatting.curve(curve, "band", subject.preferences, label)
            drawn.append(replace(line, marker=LETTERS[len(drawn)]))
    return drawn


def _before_drawn(found: ClickMap, curves: Curves) -> Series | None:
    """The curve of the session before, where that stood otherwise."""
    if found.before is None:
        return None
    try:
        curve = curves.at(found.before, found.subject)
    except TracksideError:
        return None
    label = f"before {_position(found.before)}".strip()
    return formatting.curve(curve, "before", found.subject.preferences, label)


def _parts_drawn(found: ClickMap, now: Estimate) -> Series | None:
    """What the parts alone make, where the curve is from a dyno sheet of the same build."""
    parts = parts_beside(found.at, found.subject.shed, now.speed)
    if parts is None:
        return None
    line = formatting.curve(parts, "before", found.subject.preferences, "parts alone")
    return replace(line, marker=OF_PARTS)


def _warm_drawn(found: ClickMap, now: Estimate, rows: int) -> Series | None:
    """The curve with warm oil, where a chart of so many rows can tell the two apart: by a dot of
    the four in a row."""
    if found.warm is None:
        return None
    warm, preferences = _drawn_part(found), found.subject.preferences
    if float(abs(warm.force - now.force).max()) < float(abs(now.force).max()) / (4 * rows):
        return None
    label = f"oil at {_degrees(found.warm.at_C, preferences)}"
    return formatting.curve(warm, "after", preferences, label)


def _drawn_part(found: ClickMap) -> Estimate:
    """The warm curve without the reference speeds."""
    assert found.warm is not None
    first, warm = len(found.estimate.speed), found.warm.estimate
    return replace(
        warm,
        speed=warm.speed[first:],
        force=warm.force[first:],
        low=warm.low[first:],
        high=warm.high[first:],
    )


def _degrees(celsius: float, preferences: Preferences) -> str:
    return show(celsius, "temperature", preferences.unit("temperature"), with_unit=True)


def warm_oil(found: ClickMap) -> list[str]:
    """What the oil at the body temperature does to the force, in one line."""
    warm, cold = found.warm, found.estimate
    if warm is None:
        return []
    preferences = found.subject.preferences
    change = warm.estimate.force[: len(cold.force)] - cold.force
    told = ", ".join(
        f"{formatting.signed(float(newton), preferences)} at {formatting.speed(rod, preferences)}"
        for newton, rod in zip(change, cold.speed, strict=True)
    )
    sheet, body = (_degrees(celsius, preferences) for celsius in (warm.sheet_C, warm.at_C))
    unit = preferences.unit("force")
    return [f"warm oil, {body} for the sheet's {sheet} ({unit}): {told}; {OIL_KNOWN[warm.oil]}"]


def _count(at: Setting, knob: Adjuster, basis: Basis) -> str:
    is_preload = knob.acts_on.endswith("preload")
    count = at.preload if is_preload else at.position
    hard = at.preload_from_hard if is_preload else at.from_hard
    end = " full hard" if hard == 0 else " full soft" if hard == knob.clicks else ""
    return f"{count:g}{end}" + (", beyond" if basis is Basis.BEYOND else "")


def _position(at: Setting) -> str:
    return "" if at.position is None else f"{at.position:g}"


def heading(found: ClickMap) -> Text:
    """Where the knobs stand."""
    at = found.at
    text = Text.assemble((f"{at.corner} {at.direction} ", "bold"), (setting_words(at), "bold"))
    if at.preload is not None and at.preload_adjuster is not None:
        knob = at.preload_adjuster
        text.append(f", preload {at.preload:g} of {knob.clicks} from full {knob.counted_from}")
    return text


def tables(found: ClickMap, every: bool) -> list[Text]:
    """A table for each knob (`every`), or for the one in hand."""
    if not found.knobs:
        return [*_rows(found, None), Text("this damper has no knob on record for this direction")]
    lines: list[Text] = []
    several = len(found.knobs) > 1
    for knob, worth in found.knobs:
        in_hand = knob is found.in_hand
        if not (every or in_hand):
            continue
        if several:
            mark = "▶ " if in_hand else "  "
            lines.append(Text(f"{mark}{knob.words} knob", "bold" if in_hand else ""))
        if isinstance(worth, NoEstimate):
            lines += _rows(found, None) if in_hand else []
            lines.append(Text(str(worth), "italic"))
        else:
            lines += _rows(found, worth)
    return lines


def _rows(found: ClickMap, worth: ClickWorth | None) -> list[Text]:
    preferences, estimate, wheel = found.subject.preferences, found.estimate, found.wheel
    step = f"{worth.adjuster.step:g} " if worth else ""
    head = ("harder", "softer") if worth else ("", "")
    pm, pc = ("±", "%") if worth else ("", "")
    title = (
        f"{preferences.unit('speed'):>5}{preferences.unit('force'):>7}{'±':>6}"
        f"{step + head[0]:>9}{pm:>5}{pc:>5}{step + head[1]:>9}{pm:>5}{pc:>5}{'ζ':>5}"
    )
    lines = [Text(title, "underline")]
    for i, rod in enumerate(estimate.speed):
        force, low, high = (float(e[i]) for e in (estimate.force, estimate.low, estimate.high))
        line = Text(
            f"{formatting.speed(rod, preferences):>5}"
            f"{formatting.force(force, preferences):>7}"
            f"{formatting.plus_minus(force, low, high, preferences):>6}"
        )
        for step_taken, why in _both_ways(worth) if worth else ():
            change, band, percent = formatting.step_cells(step_taken, i, preferences, why)
            noise = step_taken is not None and bool(step_taken.in_noise[i])
            line.append(f"{change:>9}{band:>5}{percent:>5}", "italic" if noise else "")
        if not worth:
            line.append(" " * 38)
        line.append("    –" if wheel.ratio is None else f"{wheel.ratio[i]:>5.2f}")
        lines.append(line)
    for way, (_, why) in zip(head, _both_ways(worth), strict=True) if worth else ():
        if why:
            lines.append(Text(f"{step}{way}: {why}", "italic"))
    return lines


def _both_ways(worth: ClickWorth) -> tuple[tuple[ForceStep | None, str], ...]:
    """Harder and softer: the step, or why there is none."""
    return (worth.harder, worth.no_harder), (worth.softer, worth.no_softer)


def at_the_wheel(found: ClickMap, every: bool) -> list[str]:
    """What a click harder is at the wheel, and what the damping ratio stands on."""
    wheel, preferences = found.wheel, found.subject.preferences
    lines: list[str] = []
    worth = next((w for k, w in found.knobs if k is found.in_hand), None)
    step = worth.harder or worth.softer if isinstance(worth, ClickWorth) else None
    if wheel.motion_ratio is not None and step is not None and isinstance(worth, ClickWorth):
        word = "harder" if step is worth.harder else "softer"
        changes = wheel_force(step.change, wheel.motion_ratio)
        told = ", ".join(
            f"{formatting.signed(float(by), preferences)} at {formatting.speed(rod, preferences)}"
            for by, rod in zip(changes, step.speed, strict=True)
        )
        unit = preferences.unit("force")
        lines.append(f"wheel, {worth.adjuster.step:g} {word} ({unit}): {told}")
    if wheel.ratio is not None:
        spring = show(wheel.spring, "spring rate", preferences.unit("spring rate"), with_unit=True)
        mass = show(wheel.sprung, "mass", preferences.unit("mass"), with_unit=True)
        table = "motion ratio over travel, " if wheel.by_table else ""
        lines.append(
            f"damping ratio ζ: spring {spring}, sprung {mass}, {table}one corner alone, no tyre"
        )
    missing = wheel.missing if every else wheel.missing[:1]
    return lines + [f"no ζ: {lack_words(lack)}" for lack in missing]


def difference(found: ClickMap, width: int, height: int) -> tuple[str, Drawing] | None:
    """One click of the knob in hand against rod speed, with its band: too little to see as two
    curves. None where it cannot be told."""
    subject, knob = found.subject, found.in_hand
    worth = next((w for k, w in found.knobs if k is knob), None)
    if knob is None or not isinstance(worth, ClickWorth):
        return None
    sense, word = (1, "harder") if worth.harder else (-1, "softer")
    other = moved(found.at, knob, sense * knob.step)
    if other is None:
        return None
    preferences = subject.preferences
    speeds = drawn_speeds(preferences.peak_speed)
    try:
        step = step_between(found.at, other, subject.shed, speeds)
    except TracksideError:
        return None
    series = formatting.change(step, "after", preferences)
    series = replace(series, marked=_table_speeds(found))
    speed, force = (preferences.unit(quantity) for quantity in ("speed", "force"))
    head = _head(force, series, preferences)
    drawing = live([series], width, height, x_label=speed, y_label=head, ink=preferences.ink)
    return f"{knob.step:g} {word} on the {knob.words} knob, 95 % band", drawing
