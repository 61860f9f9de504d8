"""The columns of a list: as wide as their words need, and cut only where not all have room."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from rich.cells import cell_len

from trackside.tui.widgets.cells import fit
from trackside.units import one_line

_GAP = 2
_LEAST = 8
"""So far a telling column gives way before the names do."""


@dataclass(frozen=True)
class Columns:
    """The width of each column, one blank before the first and two between them."""

    widths: tuple[int, ...]

    @classmethod
    def for_words(
        cls,
        heads: Sequence[str],
        rows: Iterable[Sequence[str]],
        room: int,
        *,
        whole: Collection[str] = (),
        told: Collection[str] = (),
    ) -> Columns:
        """Wide enough for those rows and their headings. Without room for all, those headed by one
        of `told` give way first, then the names; `whole` ones never, and none below its heading."""
        widths = [
            max(cell_len(one_line(words)) for words in column)
            for column in zip_longest(heads, *rows, fillvalue="")
        ]
        over = 1 + sum(widths) + _GAP * (len(widths) - 1) - room
        names = [n for n, head in enumerate(heads) if head not in (*whole, *told)]
        for among in ([n for n, head in enumerate(heads) if head in told], names):
            least = [max(cell_len(heads[n]), 0 if among is names else _LEAST) for n in among]
            over = _narrowed(widths, among, least, over)
        return cls(tuple(widths))

    def line(self, words: Sequence[str]) -> str:
        """A row; what is cut ends in an ellipsis."""
        each = (fit(one_line(text), width) for text, width in zip(words, self.widths, strict=True))
        return " " + (" " * _GAP).join(each)


def _narrowed(widths: list[int], among: Sequence[int], least: Sequence[int], over: int) -> int:
    """Narrow the widest of those columns, cell by cell; gives what is still too much."""
    while over > 0:
        can = [n for n, floor in zip(among, least, strict=True) if widths[n] > floor]
        if not can:
            break
        widths[max(can, key=widths.__getitem__)] -= 1
        over -= 1
    return over
