"""Sisters in words: who is refused, by how much, and the run that is worth most."""

from __future__ import annotations

from collections.abc import Callable

from trackside.damper.sisters import NextRun, Stranger


def stranger_words(one: Stranger) -> str:
    """`FP-2 A is no sister: foretold from the others it misses by 31 %, where 9 % is usual`."""
    return (
        f"{one.name} is no sister: foretold from the others it misses by {one.miss:.0%}, where "
        f"{one.expected:.0%} is usual"
    )


def run_words(run: NextRun, counted: Callable[[float], str] = "{:g}".format) -> str:
    """`one run at 8 would take the band from ±30 to ±7 %`."""
    before, after = 100 * run.before, 100 * run.after
    place = counted(run.position)
    return f"one run at {place} would take the band from ±{before:.0f} to ±{after:.0f} %"
