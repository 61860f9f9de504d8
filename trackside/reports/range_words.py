"""An adjuster that lives at an end of its travel, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from trackside.analysis.range_watch import NEAR, AtItsEnd, range_watch, wanted_mid_range
from trackside.analysis.shed import Shed
from trackside.preferences import Preferences
from trackside.records import Build, CornerSheet
from trackside.reports import formatting


def range_words(found: AtItsEnd) -> str:
    """`rebound adjuster: within 2 clicks of full soft in 4 of the last 5 runs`."""
    return (
        f"{found.adjuster.words} adjuster: within {NEAR:g} clicks of full {found.end} in "
        f"{found.near} of the last {found.runs} runs"
    )


def board_words(found: Mapping[str, Sequence[AtItsEnd]]) -> str:
    """One sentence for all cars: `! TW-2241 rebound adjuster: within 2 clicks …; 1 more damper`."""
    if not found:
        return ""
    serial, ends = next(iter(found.items()))
    more = len(found) - 1
    also = f"; {more} more damper{'' if more == 1 else 's'} in the shed" if more else ""
    return f"! {serial} {'; '.join(map(range_words, ends))}{also}"


def range_lines(
    build: Build,
    ran: Sequence[CornerSheet],
    shed: Shed,
    preferences: Preferences,
    how: str = "",
) -> Iterator[tuple[str, str]]:
    """(style, line) for the shed: which adjuster, and the forces that would put it mid-range; `how`
    says what takes them as a target."""
    for found in range_watch(build, ran):
        yield "bold", f"  ! {range_words(found)}"
        table = wanted_mid_range(found, ran[0], shed, preferences.reference_speeds)
        more = f" ({how})" if how else ""
        for direction, wishes in table.items():
            told = ", ".join(
                f"{formatting.force(wish.force, preferences)} at "
                f"{formatting.speed(wish.speed, preferences)}"
                for wish in wishes
            )
            yield (
                "",
                (
                    f"  the same {direction} curve at {found.middle:g}, mid-range, wants "
                    f"{preferences.unit('force')} at {preferences.unit('speed')}: {told}{more}"
                ),
            )
