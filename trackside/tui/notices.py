"""What stands on the pit board until it is dealt with: conflicts, backups that failed, a file that
was replaced, and once the name that the crew's work is signed with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.logbook.clock import now, stamp
from trackside.preferences import data_folder, preferences_file
from trackside.tui.commands import key_of

if TYPE_CHECKING:
    from trackside.tui.desk import Desk

NEWS_FOR = 1.0
"""How long (s) a page that just came up repeats what it was sent with, over its own detail."""


def conflicts_said(count: int) -> str:
    """How many values wait for a decision, and the key to them; empty for none."""
    if not count:
        return ""
    values = "1 value differs" if count == 1 else f"{count} values differ"
    key = key_of("conflicts")
    return f"{values} between windows or laptops: {key} shows every side."


def clock_behind_said(until: str) -> str:
    """That the clock is behind what this computer wrote at `until`, and what follows from it."""
    from trackside.review.naming import moment_in_words

    shows = moment_in_words(stamp(now()))
    return (
        f"The clock of this computer is wrong: it shows {shows}, but you wrote here at "
        f"{moment_in_words(until)}. Set it; until then a new session gets no time, and you type it."
    )


def unread_said(desk: Desk) -> str:
    """The first of what could not be read, that of the session in hand before others, and how many
    more there are; empty for none."""
    logbook, session = desk.logbook, desk.session if desk.has_session else None
    found = list(logbook.unread.of())
    if not found:
        return ""
    car, dampers = (session.car, session.dampers) if session else ("", ())
    nearest = logbook.unread.about([desk.entity], car, dampers) or found
    more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
    return f" ! cannot be read{more}: {nearest[0].brief}"


class Signing:
    """The login name signs until the crew names an author; said until it was seen with a write."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._marker = data_folder() / "signed-as"
        self._said = False
        self._told = desk.preferences.author or desk.logbook.read_only or self._known()

    def _known(self) -> bool:
        try:
            return self._marker.read_text("utf-8").strip() == self._desk.logbook.author
        except (OSError, UnicodeDecodeError):
            return False

    def sentence(self) -> str:
        """Who signs, and where to change it; empty once it is known."""
        if self._told:
            return ""
        self._said = True
        return (
            f"Signed as “{self._desk.logbook.author}”, the login name: "
            f'author = "your name" in {preferences_file()} changes it.'
        )

    def written(self) -> None:
        """Something was signed: when the sentence has been seen, it need not be said again."""
        if self._said and not self._told:
            self._told = True
            try:
                self._marker.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                self._marker.write_text(f"{self._desk.logbook.author}\n", "utf-8")
            except OSError:
                pass  # it is said once more at the next start
