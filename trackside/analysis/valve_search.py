"""From a wanted curve to the builds that make it, exact over the disc box.

A stack enters the flow law by one number, its lift for each newton: that is tabled once a stack
(`damper.valve_tables`), and every stack × spacer × bleed disc × position is then held against the
wanted forces at once (`damper.valve_scan`). Where the damper was on a bench as it is now, the
forces that the parts have to make are the wanted ones over bench/parts at the same position, so
what is wrong in both builds alike cancels. The curve that is shown of an answer is made by
`damper.calibrated_parts`, as of every build that was not on a bench.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from trackside.analysis.estimate import Floats
from trackside.analysis.shed import Shed
from trackside.analysis.valve_answer import (
    SHOWN,
    Answer,
    SearchResult,
    Valve,
)
from trackside.analysis.valve_piston import (
    Piston,
    bleeds_of,
    clamps_of,
    moved,
    piston_of,
    scan_of,
    spacers_of,
    tables_of,
    usual_parts,
)
from trackside.analysis.valve_side import Tried, side_of
from trackside.analysis.valve_stock import Disc, Part, Slots, Stacked, Stock, disc_part, stacks
from trackside.analysis.valve_target import Target
from trackside.damper.curve import DiscLimits
from trackside.damper.stack import Give
from trackside.damper.valve_scan import Scan

MET: Final = 0.03
"""A target is met where every force is within this share of it: our own, no source; a bench repeats
to about a third of it."""
CHANGED: Final = 2
"""So many discs are changed at most, unless more are asked for: our own."""
_EXACTLY, _A_STACK = 400, 3
"""So many of the scan's best are calculated exactly, of one stack so many."""
_POINTS: Final = 100_000
"""Force points scanned at once: what is worked on stays in the processor's cache."""
_AGAIN: Final = 30
"""So many of the best are calculated again by the curve that every page would show of them."""
_PAIRED: Final = 60
"""So many of the best of either side are tried together."""

Progress = Callable[[float], bool]
"""Told the share that is done; whether to go on."""


@dataclass(frozen=True)
class Asked:
    """How a search is made: discs changed at most; how near is met, as a share; whether clamp disc,
    spacer and bleed disc stay; whether the adjuster stays where it is; whether the nearest build
    comes first, however many discs it changes; whether the adjuster is kept in the middle half of
    its travel."""

    most_changed: int = CHANGED
    within: float = MET
    only_discs: bool = False
    hold_position: bool = False
    nearest_first: bool = False
    mid_range: bool = False


AS_EVER: Final = Asked()


def search(
    targets: Sequence[Target],
    shed: Shed,
    stock: Stock,
    asked: Asked = AS_EVER,
    progress: Progress = lambda _: True,
    *,
    advise: bool = True,
) -> SearchResult:
    """Every build that the box can make of the damper, held against the target of one direction or
    of both. NoEstimate names the parts that are not on record. `advise`: where nothing meets it,
    look for the part that would."""
    pistons = [piston_of(target, shed, asked.hold_position, asked.mid_range) for target in targets]
    box = _with_the_other(stock, pistons) if len(pistons) > 1 else stock
    scanned = [
        _tried(piston, box, asked, _share(progress, n, len(pistons)))
        for n, piston in enumerate(pistons)
    ]
    answers = _answers(pistons, [found.best for found in scanned], stock, asked)
    stopped = any(found.stopped for found in scanned)
    result = SearchResult(
        tuple(targets),
        answers,
        sum(found.stacks for found in scanned),
        sum(found.combinations for found in scanned),
        stopped,
        any(piston.base is not None for piston in pistons),
        left_out=_left_out(pistons, stock, asked),
    )
    if advise and not stopped and not (answers and answers[0].met):
        lacking = _lacking(targets, shed, stock, asked, pistons, progress)
        result = replace(result, lacking=lacking)
    return result


def _left_out(pistons: Sequence[Piston], stock: Stock, asked: Asked) -> tuple[Part, ...]:
    """The discs of the box that fit into none of those directions."""
    rooms = [
        (
            piston.widest,
            max([piston.clamp, *(() if asked.only_discs else clamps_of(piston, stock))]),
        )
        for piston in pistons
    ]
    parts = [disc_part((size[0], size[1])) for size in stock.sizes("disc")]
    return tuple(
        part
        for part in parts
        if not any(
            part[1][0] <= widest * 1e6 + 0.05 and stock.holes.get(part, 0.0) < clamp
            for widest, clamp in rooms
        )
    )


def _share(progress: Progress, n: int, of: int) -> Progress:
    return lambda done: progress((n + done) / of)


@dataclass(frozen=True)
class _Scanned:
    best: list[Tried]
    stacks: int
    combinations: int
    stopped: bool


def _tried(piston: Piston, stock: Stock, asked: Asked, progress: Progress) -> _Scanned:
    """The best of one direction, exactly, and how many were scanned."""
    parts = piston.now.parts
    kinds = {(disc[0], disc[1]) for disc in stock.sizes("disc")} | set(piston.discs)
    spacers, slots = [piston.spacers], [piston.slots]
    clamps = [piston.clamp]
    if not asked.only_discs:
        spacers, slots = spacers_of(piston, stock), bleeds_of(piston, stock)
        clamps = clamps_of(piston, stock)
    scan = scan_of(piston, spacers, slots)
    rooms, stopped, count = list[tuple[float, Stacked, Give]](), False, 0
    for clamp in clamps:
        tables = tables_of(piston, clamp, kinds)
        usable = [d for d in kinds if stock.holes.get(disc_part(d), 0.0) < clamp]
        reach = max(tables.load, tables.seat) + 1e-8
        every = list(
            stacks(piston.discs, usable, asked.most_changed, stock.counts, reach, piston.widest)
        )
        for n, stack in enumerate(every):
            done = (clamps.index(clamp) + n / len(every)) / len(clamps)
            if stopped or (n % 16 == 0 and not progress(0.9 * done)):
                stopped = True
                break
            if tables.fits(stack.discs):
                rooms.append((clamp, stack, tables.give(stack.discs)))
    share = parts.pressed / parts.piston_area
    lifts = np.array([give.seat * share for _, _, give in rooms])
    best = list[tuple[float, int, int, int]]()
    size = scan.preloads.size * scan.bleeds.size * piston.target.speed.size
    step = max(1, _POINTS // max(size, 1))
    for begin in range(0, lifts.size, step):
        off = np.abs(scan.misses(lifts[begin : begin + step])).max(axis=-1)
        count += off.size
        nearest = off.min(axis=-1)
        flat = nearest.reshape(nearest.shape[0], -1)
        for row, places in enumerate(np.argsort(flat, axis=1)[:, :_A_STACK]):
            for place in places:
                p, b = divmod(int(place), nearest.shape[2])
                best.append((float(flat[row, place]), begin + row, p, b))
        progress(0.9 + 0.1 * min(begin + step, lifts.size) / max(lifts.size, 1))
    best.sort()
    best = _kept(best, rooms, asked.within)
    return _Scanned(
        _exactly(piston, scan, best, rooms, lifts, spacers, slots), len(rooms), count, stopped
    )


def _kept(
    best: list[tuple[float, int, int, int]],
    rooms: list[tuple[float, Stacked, Give]],
    within: float,
) -> list[tuple[float, int, int, int]]:
    """The nearest ones, and those with the fewest discs changed that may meet the target."""
    near = best[: _EXACTLY // 2]
    may = [one for one in best if one[0] <= 2.0 * within]
    may.sort(key=lambda one: (rooms[one[1]][1].changed, one[0]))
    return list(dict.fromkeys((*near, *may[: _EXACTLY // 2])))


def _exactly(
    piston: Piston,
    scan: Scan,
    best: list[tuple[float, int, int, int]],
    rooms: list[tuple[float, Stacked, Give]],
    lifts: Floats,
    spacers: list[tuple[float, ...]],
    slots: list[Slots],
) -> list[Tried]:
    if not best:
        return []
    s, p, b = np.array([one[1:] for one in best]).T
    missing = scan.forces(lifts[s], scan.preloads[p], b) / piston.wanted[None] - 1.0
    found = []
    for n, (_, row, at, bleed) in enumerate(best):
        clamp, stack, give = rooms[row]
        valve = Valve(stack, clamp, spacers[at], slots[bleed])
        needs, frees = moved(piston, valve)
        others = (
            (clamp != piston.clamp)
            + (round(sum(spacers[at]) * 1e7) != round(piston.spacer * 1e7))
            + (slots[bleed] != piston.slots)
        )
        found.append(Tried(valve, give, float(scan.preloads[at]), missing[n], needs, frees, others))
    return found


def _with_the_other(stock: Stock, pistons: Sequence[Piston]) -> Stock:
    """The box with the discs of both sides in it: what comes out of one may go into the other."""
    both = Counter(disc_part(disc) for piston in pistons for disc in piston.discs)
    return replace(stock, counts=stock.counts + both)


def _answers(
    pistons: Sequence[Piston], tried: Sequence[list[Tried]], stock: Stock, asked: Asked
) -> tuple[Answer, ...]:
    """The best builds: those that meet the target first, with the fewest discs changed."""
    ranked = [_ranked(piston, some, asked) for piston, some in zip(pistons, tried, strict=True)]
    shared = len(pistons) > 1 and all(
        piston.at.adjuster is not None and piston.at.adjuster.acts_on == "both_bleed"
        for piston in pistons
    )
    rooms: list[tuple[tuple[float, ...], tuple[tuple[Tried, int], ...]]] = []
    for pair in itertools.product(*(some[:_PAIRED] for some in ranked)):
        if not _enough(pair, stock):
            continue
        worst = [one.worst for one in pair]
        if shared:
            k = int(np.argmin(np.max(worst, axis=0)))
            places = [k] * len(pair)
        else:
            places = [int(np.argmin(one)) for one in worst]
        chosen = tuple(zip(pair, places, strict=True))
        rooms.append((_rank(pistons, chosen, asked), chosen))
    rooms.sort(key=lambda room: room[0])
    answers, seen = list[Answer](), set[tuple[tuple[Disc, ...] | float, ...]]()
    for _, chosen in rooms:
        name = tuple(x for one, _ in chosen for x in (one.valve.stack.discs, one.valve.clamp))
        if name in seen:
            continue
        seen.add(name)
        sides = tuple(
            side_of(piston, one, k if shared else None, asked.within)
            for piston, (one, k) in zip(pistons, chosen, strict=True)
        )
        answers.append(Answer(sides, asked.within))
        if len(answers) == _AGAIN:
            break
    answers.sort(
        key=lambda one: _order(one.worst, one.rms, one.strained, one.changed, one.others, asked)
    )
    return tuple(answers[:SHOWN])


def _ranked(piston: Piston, some: list[Tried], asked: Asked) -> list[Tried]:
    return sorted(some, key=lambda one: _rank([piston], ((one, int(np.argmin(one.worst))),), asked))


def _rank(
    pistons: Sequence[Piston], chosen: Sequence[tuple[Tried, int]], asked: Asked
) -> tuple[float, ...]:
    worst = max(float(one.worst[k]) for one, k in chosen)
    squares = [float(np.mean(np.square(one.missing[k]))) for one, k in chosen]
    strained = any(
        piston.target.force[-1] > _limits(piston, one.give, one.valve).safe_to
        for piston, (one, _) in zip(pistons, chosen, strict=True)
    )
    changed = sum(one.valve.stack.changed for one, _ in chosen)
    others = sum(one.others for one, _ in chosen)
    rms = float(np.sqrt(np.mean(squares)))
    return _order(worst, rms, strained, changed, others, asked)


def _order(
    worst: float, rms: float, strained: bool, changed: int, others: int, asked: Asked
) -> tuple[float, ...]:
    """What comes first: what meets the target, with discs that are safe there, the fewest of them
    changed; of what does not meet it, the nearest."""
    missed = float(worst > asked.within)
    if missed or asked.nearest_first:
        return missed, rms, float(strained), float(changed), float(others)
    return missed, float(strained), float(changed), float(others), rms


def _enough(pair: Sequence[Tried], stock: Stock) -> bool:
    """Whether the box, with what comes free, has what all sides need together."""
    needs: Counter[Part] = Counter()
    for one in pair:
        needs.update(one.needs)
        needs.subtract(one.frees)
    return all(count <= stock.counts[part] for part, count in needs.items())


def _limits(piston: Piston, give: Give, valve: Valve) -> DiscLimits:
    parts = piston.now.parts
    seen = parts.piston_area / parts.pressed
    return DiscLimits(give.linear_to * seen, give.safe_to * seen)


def _lacking(
    targets: Sequence[Target],
    shed: Shed,
    stock: Stock,
    asked: Asked,
    pistons: Sequence[Piston],
    progress: Progress,
) -> Counter[Part] | None:
    """The parts that the box lacks of the first build that meets the target, had it as many of the
    usual sizes as anybody wants; None where none does."""
    wished = stock.with_endless(part for piston in pistons for part in usual_parts(piston))
    brief = replace(asked, most_changed=min(asked.most_changed, CHANGED))
    found = search(targets, shed, wished, brief, progress, advise=False)
    if not found.answers or not found.answers[0].met:
        return None
    needs: Counter[Part] = Counter()
    for side in found.answers[0].sides:
        needs.update(side.needs)
    return needs - stock.counts
