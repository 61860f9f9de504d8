"""What sister sheets say of a short one: who is believed, and which run would help most."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from trackside.cli.output import say

if TYPE_CHECKING:
    from trackside.analysis.bench_fit import BenchFit
    from trackside.damper.sisters import NextRun

Speeds = Sequence[float] | None


def sisters_body(
    found: BenchFit, direction: str, asked: Sequence[float], speeds: Speeds
) -> dict[str, Any]:
    """Who teaches a direction, who was refused by how much, and the next run, for scripts."""
    family = found.families.get(direction)
    run = _next_run(found, direction, asked, speeds)
    return {
        "used": [sister.name for sister in family.sisters] if family else [],
        "refused": [
            {
                "source": stranger.name,
                "miss_percent": 100 * stranger.miss,
                "usual_percent": 100 * stranger.expected,
            }
            for stranger in found.strangers[direction]
        ],
        "next_run": run and {
            "position": run.position,
            "half_band_percent": 100 * run.before,
            "then_percent": 100 * run.after,
        },
    }  # fmt: skip


def refused(found: BenchFit) -> Iterator[str]:
    """A sentence for each stranger."""
    from trackside.reports.sister_words import stranger_words

    for direction, strangers in found.strangers.items():
        for stranger in strangers:
            yield f"{direction}: {stranger_words(stranger)}"


def say_sisters(found: BenchFit, asked: Sequence[float], speeds: Speeds) -> None:
    """Who teaches each direction, and the next run."""
    from trackside.reports.sister_words import run_words

    for direction, family in found.families.items():
        names = ", ".join(sister.name for sister in family.sisters)
        say("", f"{direction}: positions not measured are learned from {names}")
        if run := _next_run(found, direction, asked, speeds):
            say(f"  {run_words(run)}")


def _next_run(
    found: BenchFit, direction: str, asked: Sequence[float], speeds: Speeds
) -> NextRun | None:
    family = found.families.get(direction)
    if family is None:
        return None
    places = asked or sorted({p for sister in family.sisters for p in sister.fit.positions})
    return family.next_run(places, speeds or found.speeds(direction))
