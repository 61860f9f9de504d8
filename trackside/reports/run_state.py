"""Whether a run was run, in words: until it was, its settings are what is to be set."""

from __future__ import annotations

from typing import Final

NOT_YET: Final = "not run yet"
TO_SET: Final = "not run yet: the settings are to be set on the car"
RAN_NOW: Final = "it counts as run now: Status done"
PLANNED: Final = ("", "planned")


def state_words(status: str, ran: bool, at_length: bool = False) -> str:
    """What is to be known of a run's state: that it was not run yet, else its status where somebody
    typed one."""
    if not ran:
        return TO_SET if at_length else NOT_YET
    return "" if status.casefold() in PLANNED else status
