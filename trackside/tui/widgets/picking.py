"""Words chosen from a list: what is typed narrows it down, Enter takes the row that is lit.

A word that is not on the list is the last row, where the list may grow. Enter there asks; a second
Enter adds it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len

from trackside.records.likeness import likely
from trackside.tui.widgets.typed import Typed
from trackside.units import one_line


@dataclass(frozen=True)
class Offer:
    """The words that a cell may hold, the likeliest first. `new` is what a word that is not among
    them is called; empty where there can be no other."""

    words: tuple[str, ...]
    new: str = ""


@dataclass(frozen=True)
class Row:
    """One line of the list; `new` where taking it adds a word."""

    text: str
    new: bool = False


def fitting(text: str, words: Sequence[str]) -> list[str]:
    """The words that hold every part of the text, however cased: first what is just that, then what
    begins so, then the rest, each in the order given."""
    parts = text.casefold().split()
    folded = " ".join(parts)
    fits = [word for word in words if all(part in word.casefold() for part in parts)]

    def rank(word: str) -> int:
        fold = word.casefold()
        return 0 if fold == folded else 1 if fold.startswith(folded) else 2

    return sorted(fits, key=rank)


class Picking(Typed):
    """What is typed in a cell with a list. While the text is `marked`, it is what the cell holds,
    and the whole list is open."""

    def __init__(self, offer: Offer, text: str, marked: bool = False) -> None:
        super().__init__(text, marked)
        self.offer = offer
        self.holds = text if marked else ""
        self.asked = ""
        """The new word for which Enter was pressed once."""
        self.at = -1
        """The row that is lit; -1 while none is."""
        self.widest = 0
        """Cells that the widest row takes."""
        self._chosen = False
        self._narrow()

    def insert(self, text: str) -> None:
        """Put it in; the list follows."""
        super().insert(text)
        self._narrow()

    def key(self, key: str) -> bool:
        """Move the caret, or take a character away; the list follows."""
        before = self.text
        done = super().key(key)
        if done and before != self.text:
            self._narrow()
        return done

    def _narrow(self) -> None:
        self._fit()
        self.widest = max((cell_len(self.label(row)) for row in self.rows), default=0)

    def label(self, row: Row) -> str:
        """What the list shows of a row."""
        return f"+ new {self.offer.new}: {row.text}" if row.new else row.text

    def _fit(self) -> None:
        self.asked, self._chosen = "", False
        text = one_line(self.text)
        if self.marked:
            self.rows: tuple[Row, ...] = tuple(Row(word) for word in self.offer.words)
            self.at = self.offer.words.index(text) if text in self.offer.words else -1
            return
        self.rows = tuple(Row(word) for word in fitting(text, self.offer.words))
        if self.offer.new and text and text not in self.offer.words:
            self.rows = (*self.rows, Row(text, new=True))
        self.at = 0 if text and self.rows else -1

    def move(self, by: int) -> None:
        """Light another row."""
        if self.rows:
            self.at = max(0, min(len(self.rows) - 1, self.at + by))
            self.asked, self._chosen = "", True

    @property
    def lit(self) -> str:
        """The word that Enter takes; empty where none is lit."""
        return self.rows[self.at].text if 0 <= self.at < len(self.rows) else ""

    def enter(self) -> str | None:
        """The text that Enter takes; None where it only asks, or nothing fits."""
        if self.marked and not self._chosen:
            return self.holds
        if not one_line(self.text) and self.at < 0:
            return ""
        if not 0 <= self.at < len(self.rows):
            return None
        row = self.rows[self.at]
        if row.new and self.asked != row.text:
            self.asked = row.text
            return None
        return row.text

    @property
    def sole(self) -> str:
        """The word that is meant without Enter: chosen with the arrows, the only one that begins
        with the text, or the only one that fits; else empty."""
        text = one_line(self.text).casefold()
        words = [row.text for row in self.rows if not row.new]
        if self._chosen and self.at >= 0:
            return self.rows[self.at].text
        begun = [word for word in words if word.casefold() == text] or [
            word for word in words if text and word.casefold().startswith(text)
        ]
        alone = begun if begun or not text else words
        return alone[0] if len(alone) == 1 else ""

    @property
    def half(self) -> str:
        """What was typed and not taken; empty where nothing was."""
        return "" if self.marked else one_line(self.text)

    def said(self) -> str:
        """What the list asks or cannot do, in a sentence; empty when there is nothing to say."""
        if self.asked:
            near = likely(self.asked, self.offer.words)
            meant = f" · or did you mean {', '.join(f'“{word}”' for word in near[:3])}? ↑" * bool(
                near
            )
            return f"new {self.offer.new} “{self.asked}”: Enter again adds it{meant}"
        if not self.rows and self.half:
            known = ", ".join(self.offer.words[:6]) or "nothing yet"
            return f"“{self.half}” is not on the list: {known}"
        return ""
