"""What the disc box has for a build, and which stacks can be made of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations_with_replacement

from trackside.records import BoxPart

Disc = tuple[float, float]
"""(diameter, thickness) in m."""
Slots = tuple[int, float, float]
"""How many, width and depth in m; none: (0, 0.0, 0.0)."""
NO_SLOTS: Slots = (0, 0.0, 0.0)
Part = tuple[str, tuple[float, ...]]
"""A sort of part and its sizes in µm to a tenth: what the box counts."""


@dataclass(frozen=True)
class Stock:
    """How many of each size lie in the box."""

    counts: Counter[Part]
    holes: dict[Part, float]
    """The largest hole (m) of a part, where one is known."""

    @classmethod
    def of(cls, parts: Iterable[BoxPart]) -> Stock:
        """The box; what has no size is left out."""
        counts, holes = Counter[Part](), dict[Part, float]()
        for part in parts:
            if part.sizes is not None:
                name = (part.sort, part.sizes)
                counts[name] += part.count
                if part.hole:
                    holes[name] = max(holes.get(name, 0.0), part.hole)
        return cls(+counts, holes)

    def sizes(self, sort: str) -> list[tuple[float, ...]]:
        """The sizes of that sort, in m (a count as it is), the largest first."""
        found = [sizes for kind, sizes in self.counts if kind == sort]
        return sorted((_metres(sort, sizes) for sizes in found), reverse=True)

    def with_endless(self, parts: Iterable[Part]) -> Stock:
        """The same with as many of these parts as anybody wants."""
        more = Counter(dict.fromkeys(parts, 99))
        return Stock(self.counts | more, self.holes)


def _metres(sort: str, sizes: tuple[float, ...]) -> tuple[float, ...]:
    first = (sizes[0],) if sort == "bleed disc" else ()
    return (*first, *(gauged(size * 1e-6) for size in sizes[len(first) :]))


def gauged(size: float) -> float:
    """A size (m) to a tenth of a µm, so that what is one size is one number."""
    return round(size, 7)


def disc_part(disc: Disc) -> Part:
    """What the box calls that disc."""
    return "disc", (_um(disc[0]), _um(disc[1]))


def clamp_part(diameter: float) -> Part:
    """What it calls a clamp disc."""
    return "clamp disc", (_um(diameter),)


def spacer_part(thickness: float) -> Part:
    """What it calls a spacer."""
    return "spacer", (_um(thickness),)


def bleed_part(slots: Slots) -> Part:
    """What it calls a bleed disc."""
    return "bleed disc", (float(slots[0]), _um(slots[1]), _um(slots[2]))


def _um(size: float) -> float:
    return round(size * 1e6, 1)


@dataclass(frozen=True)
class Stacked:
    """Discs from the piston out, and what was changed of the stack before."""

    discs: tuple[Disc, ...]
    put_in: tuple[Disc, ...] = ()
    taken_out: tuple[Disc, ...] = ()

    @property
    def changed(self) -> int:
        """How many discs: one for another counts once."""
        return max(len(self.put_in), len(self.taken_out))


def stacks(
    present: tuple[Disc, ...],
    kinds: Iterable[Disc],
    most_changed: int,
    available: Counter[Part],
    reach: float,
    widest: float,
) -> Iterator[Stacked]:
    """Every stack that is made of the present one by changing at most so many discs, the fewest
    first; diameters in m. The largest disc lies on the piston: in another order the small one would
    hold the large one off, and the plate theory does not follow that. The first disc reaches over
    `reach`, none is wider than `widest`, and no more are used than are `available`."""
    have, seen = Counter(present), set[tuple[Disc, ...]]()
    new = sorted({k for k in kinds if k[0] <= widest}, reverse=True)
    yield Stacked(present)
    seen.add(_in_order(present))
    for changed in range(1, most_changed + 1):
        for out in range(changed + 1):
            for into in range(changed + 1) if out == changed else (changed,):
                for gone in _some(sorted(have), out, have):
                    kept = have - Counter(gone)
                    for added in combinations_with_replacement(new, into):
                        if set(added) & set(gone):
                            continue
                        if any(available[disc_part(d)] < n for d, n in Counter(added).items()):
                            continue
                        discs = _in_order((*kept.elements(), *added))
                        if not discs or discs[0][0] <= reach or discs in seen:
                            continue
                        seen.add(discs)
                        yield Stacked(discs, added, gone)


def _some(kinds: list[Disc], count: int, have: Counter[Disc]) -> Iterator[tuple[Disc, ...]]:
    for some in combinations_with_replacement(kinds, count):
        if all(have[disc] >= n for disc, n in Counter(some).items()):
            yield some


def _in_order(discs: Iterable[Disc]) -> tuple[Disc, ...]:
    """The widest first; of one width the thinnest first."""
    return tuple(sorted(discs, key=lambda disc: (-disc[0], disc[1])))
