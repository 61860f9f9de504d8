"""The name that the crew's work is signed with."""

from __future__ import annotations

from contextlib import suppress

from trackside.logbook import Logbook
from trackside.preferences import Preferences, data_folder


class Signing:
    """The login name signs until the crew names an author; to be said until it was seen with a
    write."""

    def __init__(self, logbook: Logbook, preferences: Preferences) -> None:
        self._author = logbook.author
        self._marker = data_folder() / "signed-as"
        self._said = False
        known = bool(preferences.author or logbook.read_only or self._is_marked())
        self._to_say = "" if known else self._author

    def _is_marked(self) -> bool:
        try:
            return self._marker.read_text("utf-8").strip() == self._author
        except (OSError, UnicodeDecodeError):
            return False

    def to_say(self) -> str:
        """The login name that signs, which is said by whoever asks; empty once it is known."""
        self._said = bool(self._to_say)
        return self._to_say

    def written(self) -> None:
        """Something was signed: when the sentence has been seen, it need not be said again."""
        if not self._said:
            return
        self._said, self._to_say = False, ""
        with suppress(OSError):  # where it cannot be written it is said again at the next start
            self._marker.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._marker.write_text(f"{self._author}\n", "utf-8")
