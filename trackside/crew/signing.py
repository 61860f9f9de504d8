"""The name that the crew's work is signed with."""

from __future__ import annotations

from trackside.logbook import Logbook
from trackside.preferences import Preferences, data_folder


class Signing:
    """The login name signs until the crew names an author; to be said until it was seen with a
    write."""

    def __init__(self, logbook: Logbook, preferences: Preferences) -> None:
        self._author = logbook.author
        self._marker = data_folder() / "signed-as"
        self._said = False
        self._known = bool(preferences.author or logbook.read_only or self._is_marked())

    def _is_marked(self) -> bool:
        try:
            return self._marker.read_text("utf-8").strip() == self._author
        except (OSError, UnicodeDecodeError):
            return False

    def to_say(self) -> str:
        """The login name that signs, which is said by whoever asks; empty once it is known."""
        if self._known:
            return ""
        self._said = True
        return self._author

    def written(self) -> None:
        """Something was signed: when the sentence has been seen, it need not be said again."""
        if self._said and not self._known:
            self._known = True
            try:
                self._marker.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                self._marker.write_text(f"{self._author}\n", "utf-8")
            except OSError:
                pass  # it is said once more at the next start
