"""The doubts about a dyno sheet in words, the same wherever they are read."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from trackside.reports.formatting import force, percent
from trackside.units import show

if TYPE_CHECKING:
    from trackside.preferences import Preferences
    from trackside.records import DynoSheet, SheetWarning


def warning_words(warning: SheetWarning, preferences: Preferences) -> str:
    """One doubt as a sentence. A name that this version does not know keeps its own words, and so
    does one without its figures: a remark in a table has none, and another program's may differ."""
    write = _WORDS.get(warning.name)
    if write is not None:
        with suppress(KeyError, TypeError, ValueError):
            return write(warning, preferences)
    return warning.words or f"the sheet carries the warning “{warning.name}”"


OTHER_COUNTS = "another sheet of this build was chosen to count"
"""What is said of a sheet that is the newest and does not count; what changes it comes behind."""


def waiting_words(sheet: DynoSheet) -> str:
    """That a sheet does not count yet, and why."""
    return f"sheet {sheet.date} {sheet.source} does not count until its warnings were seen"


def _at(warning: SheetWarning) -> str:
    places = {"position": warning.position, "preload": warning.preload_position}
    return ", ".join(f"{name} {at:g}" for name, at in places.items() if at is not None)


def _speed(warning: SheetWarning, preferences: Preferences) -> str:
    return show(warning.speed, "speed", preferences.unit("speed"), with_unit=True)


def _stray(warning: SheetWarning, preferences: Preferences) -> str:
    return (
        f"{warning.direction} at {_at(warning)} and {_speed(warning, preferences)} is "
        f"{warning.figures['share']:.0%} off its curve: a typo? It was given little weight"
    )


def _run_off(warning: SheetWarning, _: Preferences) -> str:
    share = warning.figures["share"]
    return (
        f"the {warning.direction} run at {_at(warning)} reads {abs(share):.0%} "
        f"{'above' if share > 0.0 else 'below'} what the other runs say of it: "
        f"{'colder' if share > 0.0 else 'warmer'} oil, or did the load cell slip? "
        "The band is wider for it"
    )


def _misread(warning: SheetWarning, _: Preferences) -> str:
    clicks = warning.figures["clicks"]
    many = max(round(abs(clicks)), 1)
    several = warning.figures.get("runs", 1) > 1
    runs, read, was, it = (
        ("runs", "read", "were", "they") if several else ("run", "reads", "was", "it")
    )
    return (
        f"the {warning.direction} {runs} at {_at(warning)} {read} as if {it} were {many} click"
        f"{'s' if many > 1 else ''} {'softer' if clicks > 0.0 else 'harder'}: {was} {it} filed "
        "under the right position? The band is wider for it"
    )


def _poor(warning: SheetWarning, preferences: Preferences) -> str:
    return (
        f"the {warning.direction} fit misses its rows by {warning.figures['rms_percent']:.1f} % "
        f"rms, most at {_at(warning)} and {_speed(warning, preferences)}: is gas force still in "
        "the sheet, or a run mixed up?"
    )


def _unfollowed(warning: SheetWarning, preferences: Preferences) -> str:
    return (
        f"the flow model does not follow this {warning.direction} valve: it misses by "
        f"{warning.figures['rms_percent']:.1f} % rms, most at {_at(warning)} and "
        f"{_speed(warning, preferences)}. The rows themselves carry the curve; measure near what "
        "you need"
    )


def _few(warning: SheetWarning, _: Preferences) -> str:
    return (
        f"{warning.direction} has only {warning.figures['speeds']:.0f} rod speeds: the curve "
        "between them rests on the model"
    )


def _warm(warning: SheetWarning, preferences: Preferences) -> str:
    unit = preferences.unit("temperature")
    cold, warm = (show(warning.figures[name], "temperature", unit) for name in ("from_C", "to_C"))
    return f"the oil warmed from {cold} to {warm} {unit} during the sheet"


def _change(warning: SheetWarning, preferences: Preferences) -> str:
    mean, share = (percent(100.0 * warning.figures[name]) for name in ("mean", "share"))
    return (
        f"{warning.direction} changed by {mean} % against the sheet before, {share} % at "
        f"{_speed(warning, preferences)}: other valving, gas force, a unit, or another damper?"
    )


def _newton(warning: SheetWarning, name: str, preferences: Preferences) -> str:
    return force(warning.figures[name], preferences, with_unit=True)


def _gas_unlike(warning: SheetWarning, preferences: Preferences) -> str:
    stated, shown = (_newton(warning, name, preferences) for name in ("stated_N", "gas_N"))
    return (
        f"the gas force was given as {stated}, and the rows at {_speed(warning, preferences)} show "
        f"{shown}: another charge, or how the load cell was set to zero?"
    )


def _gas_from_rows(warning: SheetWarning, preferences: Preferences) -> str:
    told = f"gas force {_newton(warning, 'gas_N', preferences)}"
    if "friction_N" in warning.figures:
        told += f" and friction {_newton(warning, 'friction_N', preferences)}"
    return f"{told}, from the rows at {_speed(warning, preferences)}; the gas was taken out for it"


def _gas_by_build(warning: SheetWarning, preferences: Preferences) -> str:
    unit = preferences.unit("pressure")
    charge = show(warning.figures["gas_Pa"], "pressure", unit, with_unit=True)
    return (
        f"gas force {_newton(warning, 'gas_N', preferences)} from the charge of the build, "
        f"{charge}: was that the charge on the bench?"
    )


def _by_sign(warning: SheetWarning, _: Preferences) -> str:
    column, positive = warning.words.split()
    return f"the sign of the {column} decides the direction: positive was taken as {positive}"


_HOW = {
    "inferred": "as the forces show",
    "assumed": "an assumption, since the forces don't show which",
}


def _counting(what: str, ground: str) -> Callable[[SheetWarning, Preferences], str]:
    def write(warning: SheetWarning, _: Preferences) -> str:
        remedy = "; --count-from makes sure" if what == "positions" else ""
        return f"{what} are taken as counted from full {warning.words}, {_HOW[ground]}{remedy}"

    return write


def _left_out(warning: SheetWarning, _: Preferences) -> str:
    share = f"{warning.figures['share']:.0%}"
    return (
        f"{warning.words}: {share} of the samples belong to no steady run of two cycles, and were "
        "left out"
    )


def _gas_still_in(warning: SheetWarning, preferences: Preferences) -> str:
    slow = show(warning.figures["up_to"], "speed", preferences.unit("speed"), with_unit=True)
    return (
        f"no run is slow enough (up to {slow}) to give the gas force: it is still in these forces"
    )


def _gas_below_zero(warning: SheetWarning, preferences: Preferences) -> str:
    return (
        f"the gas force is below zero ({_newton(warning, 'gas_N', preferences)}): was the load "
        "cell set to zero with the damper in, or are bump and rebound swapped?"
    )


def _fullness(warning: SheetWarning, _: Preferences) -> str:
    return (
        f"{warning.words}: the loop fills {warning.figures['fullness']:.2f} of its rectangle, "
        "where a damper fills 0.67 to 1: is the force late against the displacement?"
    )


def _rebound_left_out(warning: SheetWarning, preferences: Preferences) -> str:
    gas, by = (_newton(warning, name, preferences) for name in ("gas_N", "by_N"))
    return f"{warning.words}: gas of {gas} outweighs the rebound force by {by}, so it is left out"


def _warm_runs(warning: SheetWarning, preferences: Preferences) -> str:
    unit = preferences.unit("temperature")
    cold, warm = (show(warning.figures[name], "temperature", unit) for name in ("from_C", "to_C"))
    return f"the oil warmed from {cold} to {warm} {unit} over the runs"


_WORDS: dict[str, Callable[[SheetWarning, Preferences], str]] = {
    "samples_left_out": _left_out,
    "gas_still_in": _gas_still_in,
    "gas_below_zero": _gas_below_zero,
    "loop_fullness": _fullness,
    "rebound_left_out": _rebound_left_out,
    "warming_over_runs": _warm_runs,
    "stray_row": _stray,
    "run_off": _run_off,
    "position_doubtful": _misread,
    "poor_fit": _poor,
    "valve_not_followed": _unfollowed,
    "few_speeds": _few,
    "warming_oil": _warm,
    "large_change": _change,
    "unit_doubtful": lambda warning, preferences: (
        f"the fastest row runs at {_speed(warning, preferences)}: is that the header's unit?"
    ),
    "gas_left": lambda warning, preferences: (
        f"the rows at {_speed(warning, preferences)} show a gas force of "
        f"{_newton(warning, 'gas_N', preferences)}, and the sheet is said to hold none: how was "
        "the load cell set to zero?"
    ),
    "gas_unlike": _gas_unlike,
    "gas_from_rows": _gas_from_rows,
    "gas_by_build": _gas_by_build,
    "zeroed_with_damper": lambda _, __: (
        "the load cell was set to zero with the damper in it: friction may have held part of the "
        "gas force, and what the stroke adds to it is still there"
    ),
    "direction_by_sign": _by_sign,
    "direction_by_name": lambda warning, _: (
        f"the file's name says that its rows are {warning.direction}"
    ),
    "counting_by_words": lambda warning, _: (
        f"hard and soft were put at the ends of positions counted from full {warning.words}"
    ),
    "no_rows": lambda warning, _: (
        f"the sheet has no {warning.direction} rows: nothing is said of {warning.direction}"
    ),
    "one_position": lambda warning, _: (
        f"{warning.direction} was measured at one position: no other can be estimated from it"
    ),
    "shop_rule_only": lambda warning, _: (
        f"only one {warning.direction} position was measured: all others follow the shop rule"
    ),
    "positions_lacking": lambda warning, _: (
        f"{warning.direction} lacks position {warning.words}, which the other direction has: "
        "is the file whole?"
    ),
    "last_line_short": lambda warning, _: (
        f"the file ends in the middle of its last line ({warning.words}): the number there may be "
        "cut short; export the sheet again"
    ),
    **{
        f"{column}counting_{ground}": _counting(what, ground)
        for column, what in (("", "positions"), ("preload_", "preload positions"))
        for ground in _HOW
    },
}
