"""What another damper at a corner makes unknown, in a line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from trackside.records.fields import ADJUSTER_WORDS, CORNER_FIELDS
from trackside.reports import formatting

if TYPE_CHECKING:
    from trackside.crew.swapping import Swap
    from trackside.preferences import Preferences


def swap_said(swap: Swap, preferences: Preferences) -> str:
    """The values that were cleared, as the crew reads them, and why."""
    values = ", ".join(
        f"{_label(name)} {formatting.value(value, CORNER_FIELDS[name].quantity, preferences)}"
        for name, value in swap.values.items()
    )
    return f"{swap.corner} cleared: {values} ({'; '.join(_reasons(swap))})"


def _label(name: str) -> str:
    return ADJUSTER_WORDS.get(name) or CORNER_FIELDS[name].label.lower()


def _reasons(swap: Swap) -> Iterator[str]:
    """What the adjusters there are like now, each said once, and whose readings went."""
    if not swap.damper:
        yield "no damper there now"
    elif not swap.known:
        yield f"{swap.damper} is not in the damper shed"
    else:
        knobs = swap.counts.values()
        yield from dict.fromkeys(
            f"{k.clicks} from full {k.counted_from} now" if k else "no such knob" for k in knobs
        )
    if swap.read and swap.damper:
        yield f"read of build {swap.before}" if swap.before else "read of the other one"
