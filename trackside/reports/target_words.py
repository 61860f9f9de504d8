"""A search for a build in words: each answer on a line, all of one, and what is lacking."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from trackside.analysis.valve_answer import Answer, SearchResult, Side
from trackside.analysis.valve_stock import Part
from trackside.analysis.valve_target import Target, Wish
from trackside.preferences import Preferences
from trackside.records.box_part import BoxPart
from trackside.records.discs import disc_text, in_mm, stack_text
from trackside.reports.box_words import part_words
from trackside.reports.limits import disc_lines
from trackside.units import show

NO_ANSWER: Final = "no stack can be made of this damper's discs and the box that closes the seat"
HEADS: Final = ("", "discs", "other", "clicks", "furthest off", "build")
MID_RANGE: Final = "the adjuster is kept in the middle half of its travel"


def target_lines(target: Target, preferences: Preferences) -> Iterator[str]:
    """`rebound at 25 mm/s: 212 N wanted, 212 N today (same)`."""
    for v, wanted, now, share in zip(
        target.speed, target.force, target.today.force, target.share, strict=True
    ):
        change = "same" if abs(share) < 5e-4 else _share(share)
        speed, want, was = (
            _said(float(x), q, preferences)
            for x, q in ((v, "speed"), (wanted, "force"), (now, "force"))
        )
        yield f"{target.direction} at {speed}: {want} wanted, {was} today ({change})"


def wishes_text(wishes: Sequence[Wish], preferences: Preferences) -> str:
    """Forces as a person would type them: `rebound 25 212, 100 540`, in the crew's units."""
    ways: dict[str, list[str]] = {}
    for one in wishes:
        if one.force is not None:
            speed, force = (
                show(value, what, preferences.unit(what), with_unit=True)
                for value, what in ((one.speed, "speed"), (one.force, "force"))
            )
            ways.setdefault(one.direction, []).append(f"{speed} {force}")
    return "; ".join(f"{way} {', '.join(told)}" for way, told in ways.items())


def answer_row(number: int, answer: Answer, preferences: Preferences) -> tuple[str, ...]:
    """An answer under `HEADS`."""
    side = max(answer.sides, key=lambda one: one.worst)
    off = f"{_share(_furthest(side)[1])} at {_furthest_at(side, preferences)}"
    if len(answer.sides) > 1:
        off = f"{off} {side.target.direction}"
    return (
        str(number) + ("" if answer.met else " !"),
        str(answer.changed),
        str(answer.others),
        " / ".join(_position(s) for s in answer.sides),
        off,
        " | ".join(stack_text(s.valve.stack.discs) for s in answer.sides),
    )


def _furthest(side: Side) -> tuple[int, float]:
    at = int(abs(side.missing).argmax())
    return at, float(side.missing[at])


def _furthest_at(side: Side, preferences: Preferences) -> str:
    return _said(float(side.target.speed[_furthest(side)[0]]), "speed", preferences)


def answer_lines(answer: Answer, preferences: Preferences) -> Iterator[tuple[str, str]]:
    """(style, line) of all that is known of one answer."""
    for side in answer.sides:
        target, setting = side.target, side.target.today.setting
        knob = setting.adjuster
        at = "" if side.position is None or knob is None else (
            f" at {side.position:g} clicks from full {knob.counted_from}"
        )  # fmt: skip
        yield "bold", f"{target.direction}{at}: {stack_text(side.valve.stack.discs)}"
        if side.valve.stack.changed:
            yield "", "  discs in: " + (_discs(side.valve.stack.put_in) or "none")
            yield "", "  discs out: " + (_discs(side.valve.stack.taken_out) or "none")
        else:
            yield "", "  the discs stay as they are"
        yield from (("", f"  {line}") for line in _other_parts(side))
        for v, wanted, f, low, high, off in zip(
            target.speed, target.force, side.forecast.force, side.forecast.low,
            side.forecast.high, side.missing, strict=True,
        ):  # fmt: skip
            told = [_said(float(x), "force", preferences) for x in (f, low, high, wanted)]
            yield "", f"  {_said(float(v), 'speed', preferences)}: {told[0]}"
            yield (
                "",
                (f"    95 % band {told[1]} to {told[2]}; {told[3]} wanted, {_share(float(off))}"),
            )
        yield "", f"  basis: {side.forecast.basis}"
        if knob is not None and knob.acts_on == "both_bleed" and len(answer.sides) == 1:
            yield "bold", "  ! the adjuster turns the other direction with it"
        if side.met_at and len(side.met_at) > 1:
            yield "", f"  met from {min(side.met_at):g} to {max(side.met_at):g} clicks"
        if side.over_stressed:
            yield "bold", "  ! the wanted force is beyond what the discs are safe for"
        if side.limits is not None:
            yield from (("", f"  {line}") for line in disc_lines(side.limits, preferences))
        yield (
            "",
            (
                f"  from: preload {in_mm(side.preload)} mm (ring where it is), "
                f"{side.from_hard:g} clicks from full hard"
            ),
        )


def _other_parts(side: Side) -> Iterator[str]:
    valve = side.valve
    spacers = " + ".join(in_mm(one, 2) for one in valve.spacers) or "none"
    yield f"clamp disc {in_mm(valve.clamp)} mm, spacer {spacers}" + (
        f", bleed disc {valve.slots[0]}×{in_mm(valve.slots[1], 2)}×{in_mm(valve.slots[2], 2)}"
        if valve.slots[0]
        else ", no bleed disc"
    )


def goes_in_words(answer: Answer) -> str:
    """`from the box: 27×0.15 ×2, spacer 0.30 ×1`; empty where nothing is needed."""
    needs: Counter[Part] = Counter()
    for side in answer.sides:
        needs.update(side.needs)
        needs.subtract(side.frees)
    told = parts_told(+needs)
    return f"from the box: {told}" if told else ""


def planned_words(answer: Answer) -> str:
    """What was planned, and what the box is to be told once it is done."""
    needs = goes_in_words(answer)
    told = "a strip-down is planned: its build begins when its parts go in"
    return f"{told}; {needs} (the box keeps its count until they are taken out)" if needs else told


def parts_told(parts: Mapping[Part, int]) -> str:
    """`27×0.15 ×2, spacer 0.30 ×1`."""
    return ", ".join(
        f"{part_words(_record(part))} ×{count}" for part, count in sorted(parts.items())
    )


def _record(part: Part) -> BoxPart:
    sort, sizes = part
    body: dict[str, object] = {"sort": sort}
    if sort == "bleed disc":
        body |= {"slot_count": int(sizes[0]), "slot_width": sizes[1] * 1e-6}
        body |= {"thickness": sizes[2] * 1e-6}
    elif sort == "spacer":
        body |= {"thickness": sizes[0] * 1e-6}
    else:
        body |= {"diameter": sizes[0] * 1e-6}
        body |= {"thickness": sizes[1] * 1e-6} if len(sizes) > 1 else {}
    return BoxPart.checked(body)


def result_lines(result: SearchResult, preferences: Preferences) -> Iterator[str]:
    """What the search came to, before its answers: how many were tried, and where nothing in the
    box reaches the target, which force is short and what part would."""
    tried = f"{result.stacks} stacks, {result.combinations} combinations tried"
    yield tried + (", stopped before the end" if result.stopped else "")
    how = "the parts, corrected by today's bench run"
    yield f"forecast from {how if result.from_bench else 'the parts alone: its band is wide'}"
    if not result.answers:
        yield NO_ANSWER
        return
    best = result.answers[0]
    if best.met:
        met = sum(one.met for one in result.answers)
        yield f"{met} of the {len(result.answers)} listed meet it within {100 * best.within:g} %"
        return
    side = max(best.sides, key=lambda one: one.worst)
    off = _furthest(side)[1]
    speed = _furthest_at(side, preferences)
    short = "short" if off < 0 else "too much"
    yield (
        f"nothing in the box reaches it: {side.target.direction} at {speed} is "
        f"{abs(100 * off):.1f} % {short} at best"
    )
    if result.lacking is not None:
        lacking = parts_told(result.lacking)
        yield f"with {lacking} besides it would be met" if lacking else "more discs changed would"
    elif not result.stopped:
        yield "no disc or spacer of the usual sizes would do it alone: ports, needle or piston"


def left_out_words(result: SearchResult) -> str:
    """Which discs of the box were not tried, and why; empty where all were."""
    if not result.left_out:
        return ""
    told = ", ".join(part_words(_record(part)) for part in result.left_out)
    return (
        f"not tried: {told}; wider than the widest disc in there today, or the hole is as wide as "
        "the clamp disc"
    )


def _discs(discs: tuple[tuple[float, float], ...]) -> str:
    return ", ".join(
        disc_text(*disc) + (f" ×{count}" if count > 1 else "")
        for disc, count in Counter(discs).items()
    )


def _position(side: Side) -> str:
    """`12 from S`, as the run sheet has it; a dash without an adjuster."""
    knob = side.target.today.setting.adjuster
    if side.position is None or knob is None:
        return "–"
    return f"{side.position:g} from {knob.counted_from[0].upper()}"


def _share(share: float) -> str:
    return f"{100 * share:+.1f} %".replace("-", "−")


def _said(value: float, quantity: str, preferences: Preferences) -> str:
    return show(value, quantity, preferences.unit(quantity), with_unit=True)
