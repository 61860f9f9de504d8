"""What a force was calculated from, and the setting it belongs to, in words."""

from __future__ import annotations

from trackside.analysis.estimate import Setting
from trackside.analysis.origin import Origin, SheetName
from trackside.analysis.reseals import RESEALED, days_between
from trackside.records import Adjuster

BY_PARTS = "calculated from the parts, never on a bench"
SEALS_IN_BAND = f"new seals are in the band with ±{100 * RESEALED:.0f} % of the force"
_RING = {
    "known": "",
    "at full hard": "the preload ring is taken at full hard",
    "lift not known": "lift of the preload ring not known: left out",
    "not measured": "preload not measured: left out",
}


def origin_words(origin: Origin) -> str:
    """`sheet FP-0611-B 2026-03-02; preload not measured: left out`."""
    said = [
        _source(origin),
        resealed_words(origin.resealed, origin.sheet.date)
        if origin.resealed and origin.sheet
        else "",
        "carried to this position by the shop's rule" if origin.by_rule else "",
        _RING[origin.ring],
        twice_words(origin.twice) if origin.twice else "",
    ]
    return "; ".join(part for part in said if part)


def resealed_words(day: str, sheet_day: str) -> str:
    """That a sheet was run with the seals before: `resealed 2026-08-01, 152 days after it: new
    seals are in the band with ±2 % of the force`."""
    age = days_between(sheet_day, day)
    after = f", {age} day{'' if age == 1 else 's'} after it" if age is not None else ""
    return f"resealed {day}{after}: {SEALS_IN_BAND}"


def twice_words(version: str) -> str:
    """That two laptops entered that build, and nobody has decided which entry holds."""
    return f"build {version} was entered twice: not decided which holds"


def sisters_words(names: tuple[str, ...]) -> str:
    """`sisters FP-1 A and FP-2 A`."""
    told = " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    return f"sister{'s' if len(names) > 1 else ''} {told}"


def setting_words(at: Setting) -> str:
    """Where its bleed adjuster was."""
    return position_words(at.position, at.adjuster)


def position_words(position: float | None, adjuster: Adjuster | None) -> str:
    """The position as spoken: `8 of 20 from full hard`."""
    if adjuster is None or position is None:
        return "not adjustable"
    return f"{position:g} of {adjuster.clicks} from full {adjuster.counted_from}"


def _source(origin: Origin) -> str:
    sheet = _named(origin.sheet) if origin.sheet else ""
    if origin.kind == "sisters":
        return " and ".join(part for part in (sheet, sisters_words(origin.sisters)) if part)
    if origin.kind == "carried over":
        same = (
            f"the {origin.direction} parts on record are the same; enter those that the work "
            "changed"
        )
        by = same if origin.same_parts else "by the parts of both"
        return f"{sheet}, carried over to build {origin.to}: {by}"
    if origin.kind == "shop rule":
        return f"the shop's full-hard force, less {100 * (origin.share or 0):.3g} % of it a click"
    return sheet if origin.kind == "sheet" else BY_PARTS


def _named(sheet: SheetName) -> str:
    return f"sheet {sheet.damper}-{sheet.build} {sheet.date}".rstrip()
