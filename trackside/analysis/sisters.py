"""A build's sisters: who they are by the shed, and whether they prove to be ones.

Builds with the same word under *Sisters* are of one model and needle. Where their discs are not the
same on record, and for earlier builds of one damper whose needle has the same words, the needle
alone is shared: that carries a click law to a damper with a run of its own, and no force without.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from trackside.analysis.shed import Shed, fit_of
from trackside.damper.likeness import Kind
from trackside.damper.sheet_fit import DirectionFit
from trackside.damper.sisters import ENOUGH, Family, Sister, Stranger
from trackside.errors import TracksideError
from trackside.records import Build, DynoSheet


@dataclass(frozen=True)
class PassedOver:
    """A sister by name that says nothing of a direction.

    - no adjuster: its adjuster, or this build's, is not on record. other clicks: it has `clicks`,
      this one's has `own_clicks`.
    - few positions: its sheet has fewer than two.
    - needle alone: no more is shared, and this build has no run of its own that would tell it.
    """

    name: str
    why: Literal["no adjuster", "other clicks", "few positions", "needle alone"]
    direction: str
    clicks: int = 0
    own_clicks: int = 0


@dataclass(frozen=True)
class Sisterhood:
    """What a build's sisters know of one direction: `family` answers, None when nobody is left;
    `strangers` were called sisters and prove to be none; `passed_over` cannot be compared."""

    family: Family | None
    strangers: tuple[Stranger, ...] = ()
    passed_over: tuple[PassedOver, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The sisters' names: `FP-1 A`."""
        return tuple(sister.name for sister in self.family.sisters) if self.family else ()


def sisters_of(build: Build, direction: str, shed: Shed) -> Sisterhood | None:
    """Who a build can learn from in that direction; None when nobody is declared, or when its own
    sheet tells enough."""
    named = [(other, kind) for other in shed.builds if (kind := kinship(build, other))]
    if not named:
        return None
    sheet = shed.sheet(build)
    others, passed = [], []
    for other, kind in named:
        theirs = shed.sheet(other)
        if theirs is None:
            continue
        if other_knob := _other_knob(build, other, direction):
            passed.append(other_knob)
        else:
            others.append((theirs, other, kind))
    return _proven(direction, sheet, build, tuple(others), tuple(passed))


def kinship(build: Build, other: Build) -> Kind | None:
    """What another build shares with this one by the shed's words; None for nothing, or itself."""
    one_damper = build.damper.casefold() == other.damper.casefold()
    if one_damper and build.version.casefold() == other.version.casefold():
        return None
    declared = bool(build.family) and _same(build.family, other.family)
    if one_damper and (declared or (build.needle and _same(build.needle, other.needle))):
        return Kind.NEEDLE
    if not declared:
        return None
    pairs = [(getattr(build, n), getattr(other, n)) for n in ("bump_stack", "rebound_stack")]
    same_discs = all(not a or not b or _same(a, b) for a, b in pairs)
    return Kind.MODEL if same_discs else Kind.NEEDLE


def _same(one: str, other: str) -> bool:
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())


def _other_knob(build: Build, other: Build, direction: str) -> PassedOver | None:
    """Why the positions of two builds cannot be compared; None when they can."""
    one, two = (b.bleed_adjuster(direction) for b in (build, other))
    name = f"{other.damper} {other.version}"
    if one is None or two is None:
        return PassedOver(name, "no adjuster", direction)
    if one.clicks != two.clicks:
        return PassedOver(name, "other clicks", direction, two.clicks, one.clicks)
    return None


@lru_cache(maxsize=256)
def _proven(
    direction: str,
    sheet: DynoSheet | None,
    build: Build,
    others: tuple[tuple[DynoSheet, Build, Kind], ...],
    passed_over: tuple[PassedOver, ...],
) -> Sisterhood | None:
    own = None if sheet is None else _fit(sheet, build, direction)
    if own is not None and len(own.positions) >= ENOUGH:
        return None
    sisters, passed = [], list(passed_over)
    for theirs, other, kind in others:
        fit = _fit(theirs, other, direction)
        name = f"{other.damper} {other.version}"
        if fit is None or len(fit.positions) < 2:
            passed.append(PassedOver(name, "few positions", direction))
        elif kind is Kind.MODEL or own is not None:
            sisters.append(Sister(name, fit, kind))
        else:
            passed.append(PassedOver(name, "needle alone", direction))
    if not sisters:
        return Sisterhood(None, (), tuple(passed)) if passed else None
    kept, strangers = Family(direction, own, tuple(sisters)).strangers()
    family = Family(direction, own, kept) if kept else None
    return Sisterhood(family, strangers, tuple(passed))


def _fit(sheet: DynoSheet, build: Build, direction: str) -> DirectionFit | None:
    try:
        return getattr(fit_of(sheet, build), direction)  # type: ignore[no-any-return]
    except TracksideError:
        return None
