"""What a road does to the car, in lines: figures with their bands, and what cannot be told."""

from __future__ import annotations

from collections.abc import Iterator

from trackside.analysis.road_drive import DriveFacts, DrivenCorner, DrivenPair
from trackside.analysis.road_response import CornerOnRoad, RoadFigure, RoadStory, TurnInFacts
from trackside.corner.road import CLASSES, Road
from trackside.corner.road_run import FEWEST, Step
from trackside.preferences import Preferences
from trackside.reports.formatting import BASIS_WORDS
from trackside.units import GRAVITY, QUANTITIES, show

METHOD = (
    "one corner by itself, its damper as a Gaussian speed feels it; ± is the damper's band",
    "without bump stop, tyre lift, friction outside the damper and the gas's own rate",
)
DRIVEN = (
    "one corner by itself in steps of 1 ms, with its bent curve, bump stop and tyre lift",
    "± is the spread that this road leaves the step; ≈ this road cannot tell",
)


def road_words(road: Road, preferences: Preferences) -> str:
    """`class C at 144 km/h`."""
    letter = next((n for n, value in CLASSES.items() if value == road.roughness), "?")
    return f"ISO 8608 class {letter} at {car_speed(road.speed, preferences)}"


def car_speed(speed: float, preferences: Preferences) -> str:
    """The car's own speed, in mph for a crew that reads rod speeds in inches."""
    unit = "mph" if preferences.unit("speed") in ("in/s", "mph") else "km/h"
    return show(speed, "speed", unit, with_unit=True)


def road_lines(story: RoadStory, preferences: Preferences) -> list[str]:
    """A line for each figure of each corner, with what the other set-up changes; the turn-in
    figure; what could not be told and why."""
    lines: list[str] = []
    for corner in story.corners:
        lines.append("")
        if corner.now is None:
            lines.append(f"{corner.corner}  no estimate: {corner.why}")
            continue
        lines.append(f"{corner.corner}  {BASIS_WORDS[corner.now.basis]}")
        changes = None if corner.change is None else _figures(corner.change)
        for n, (name, unit, now) in enumerate(_told(corner.now, preferences)):
            then = None if corner.then is None else _told(corner.then, preferences)[n][2]
            change = None if changes is None else changes[n]
            lines.append(_line(name, unit, now, then, change))
        lines += _remarks(corner.now if corner.then is None else corner.then)
    lines += ["", *_turn(story.turn), "", *METHOD]
    return lines


_Told = tuple[str, "Scale", RoadFigure]


class Scale:
    """How a figure is shown: what it is multiplied with, its decimals and its unit."""

    def __init__(self, factor: float, decimals: int, unit: str) -> None:
        self.factor, self.decimals, self.unit = factor, decimals, unit

    def text(self, value: float, *, signs: bool = False) -> str:
        """The number alone; what rounds to zero has no sign."""
        shown = f"{value * self.factor:+.{self.decimals}f}"
        if not any(digit in shown for digit in "123456789"):
            return shown[1:]
        return (shown if signs or shown[0] == "-" else shown[1:]).replace("-", "−")

    def banded(self, figure: RoadFigure, *, signs: bool = False) -> str:
        """`1540 ±10`: the wider side, so that all of the band lies within."""
        wide = max(figure.high - figure.value, figure.value - figure.low)
        return f"{self.text(figure.value, signs=signs)} ±{self.text(wide)}"


def scales(preferences: Preferences) -> tuple[Scale, Scale, Scale]:
    """Of body acceleration, force and travel."""
    length, force = (
        QUANTITIES[quantity].unit(preferences.unit(quantity)) for quantity in ("length", "force")
    )
    return (
        Scale(1.0 / GRAVITY, 3, "g"),
        Scale(1.0 / force.factor, force.decimals, force.symbol),
        Scale(1.0 / length.factor, length.decimals, length.symbol),
    )


def _figures(of: object) -> tuple[RoadFigure, ...]:
    return tuple(getattr(of, name) for name in ("body", "tyre", "travel", "pump_down"))


def _told(corner: CornerOnRoad, preferences: Preferences) -> list[_Told]:
    body, force, length = scales(preferences)
    share = f"tyre load ({100 * corner.figures.tyre.value / corner.static:.0f} % of static)"
    names = ("body", share, "wheel travel", "pumped down")
    shown = (body, force, length, length)
    return list(zip(names, shown, _figures(corner.figures), strict=True))


def _line(
    name: str, scale: Scale, now: RoadFigure, then: RoadFigure | None, change: RoadFigure | None
) -> str:
    head = f"  {name:<26}{scale.banded(now):>13} {scale.unit}"
    if then is None or change is None:
        return head
    noise = "" if change.is_clear else "≈"
    told = f"{noise}{scale.banded(change, signs=True)} {scale.unit}"
    return f"{head}  →  {scale.text(then.value)}   {told}"


def _remarks(corner: CornerOnRoad) -> Iterator[str]:
    if corner.stops:
        yield "  ! the bump stop works now and then here, and is left out: --drive has it"
    if corner.inputs.stop_unread:
        yield f"  the bump stop is left out: {corner.inputs.stop_unread}"
    if corner.lifts:
        yield "  ! the tyre leaves the ground now and then here, left out: --drive has it"


def _turn(turn: TurnInFacts) -> Iterator[str]:
    scale = Scale(100.0, 1, "points")
    if turn.now is None:
        yield f"turn-in: no estimate: {turn.why}"
        return
    line = (
        f"turn-in: front share of roll damping less stiffness {scale.banded(turn.now, signs=True)}"
    )
    if turn.then is not None and turn.change is not None:
        noise = "" if turn.change.is_clear else "≈"
        change = scale.banded(turn.change, signs=True)
        line += f"  →  {scale.text(turn.then.value, signs=True)}   {noise}{change}"
    yield f"{line} {scale.unit}"
    yield "above zero the front tyres are asked first while the body rolls"
    if turn.bars:
        names = ", ".join(turn.bars)
        yield f"{names}: no rate on record, so roll stiffness is the springs' alone"


def drive_lines(found: DriveFacts, preferences: Preferences) -> list[str]:
    """What a drive over the road showed, and whether it can tell the two set-ups apart."""
    lines = [f"{found.seconds:.0f} s of it"]
    for pair in found.corners:
        lines.append("")
        if pair.now is None:
            lines.append(f"{pair.corner}  no estimate: {pair.why}")
            continue
        lines.append(pair.corner)
        lines += _driven(pair, preferences)
    lines.append("")
    if found.cannot_tell:
        lines.append("this road cannot tell the two apart: each step is within its spread")
    return [*lines, *(DRIVEN[: 2 if _is_compared(found) else 1])]


def _is_compared(found: DriveFacts) -> bool:
    return any(pair.then is not None for pair in found.corners)


def _driven(pair: DrivenPair, preferences: Preferences) -> Iterator[str]:
    body, force, length = scales(preferences)
    now, then = pair.now, pair.then
    assert now is not None
    rows: tuple[tuple[str, Scale, str, Step | None], ...] = (
        ("body", body, "body", pair.body),
        (f"tyre load ({100 * now.tyre / now.inputs.car.static:.0f} % of static)", force, "tyre",
         pair.tyre),
        ("wheel travel", length, "travel", None),
        ("pumped down", length, "pump_down", None),
        ("least tyre load", force, "least", None),
    )  # fmt: skip
    for name, scale, field, step in rows:
        line = f"  {name:<26}{scale.text(getattr(now, field)):>8} {scale.unit}"
        if then is not None:
            line += f"  →  {scale.text(getattr(then, field))}"
        yield line if step is None else f"{line}   {_step(step, scale)}"
    told = list(_limits(now))
    yield from (f"  {line}" for line in told)
    other = [] if then is None else list(_limits(then))
    yield from (f"  the other: {line}" for line in other if line not in told)


def _step(step: Step, scale: Scale) -> str:
    change = scale.text(step.change, signs=True)
    if step.spread == float("inf"):
        return f"{change} {scale.unit}, a road of fewer than {FEWEST} pieces cannot tell"
    noise = "" if step.told else "≈"
    return f"{noise}{change} ±{scale.text(step.spread)} {scale.unit}"


def _limits(one: DrivenCorner) -> Iterator[str]:
    if one.inputs.stop_unread:
        yield f"the bump stop is left out: {one.inputs.stop_unread}"
    if one.stopped > 0.0:
        yield f"the bump stop works {100 * one.stopped:.2g} % of the time"
    if one.aloft > 0.0:
        yield f"the tyre is off the ground {100 * one.aloft:.2g} % of the time"
