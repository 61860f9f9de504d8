"""What is being typed in a cell: its text, the caret in it, and whether it is marked."""

from __future__ import annotations

from rich.cells import cell_len


class Typed:
    """Text under a caret. `marked`: the first character typed takes its place, a movement goes on
    from it."""

    def __init__(self, text: str, marked: bool = False) -> None:
        self.text, self.caret, self.marked = text, len(text), marked

    def insert(self, text: str) -> None:
        """Put it in at the caret, or in place of what is marked."""
        if self.marked:
            self._clear()
        self.text = self.text[: self.caret] + text + self.text[self.caret :]
        self.caret += len(text)

    def key(self, key: str) -> bool:
        """Move the caret, or take a character away; False for any other key."""
        marked, self.marked = self.marked, False
        text, at = self.text, self.caret
        moves = {"left": max(0, at - 1), "right": min(len(text), at + 1), "home": 0}
        moves["end"] = len(text)
        if key in moves:
            self.caret = moves[key]
        elif key == "ctrl+u" or (key in ("backspace", "delete") and marked):
            self._clear()
        elif key == "backspace":
            self.text, self.caret = text[: max(0, at - 1)] + text[at:], max(0, at - 1)
        elif key == "delete":
            self.text = text[:at] + text[at + 1 :]
        else:
            self.marked = marked
            return False
        return True

    def _clear(self) -> None:
        self.text, self.caret, self.marked = "", 0, False

    def window(self, room: int) -> tuple[str, str, str]:
        """What is seen of it in `room` cells: before the caret, under it, and after. Without room,
        what is under the caret alone."""
        start = max(0, self.caret - max(room, 1) + 1)
        while start < self.caret and cell_len(self.text[start : self.caret]) > room - 1:
            start += 1
        under = self.text[self.caret : self.caret + 1] or " "
        return self.text[start : self.caret], under, self.text[self.caret + 1 :]
