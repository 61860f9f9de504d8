"""The sign over the cells on a walk round the car: at which wheel, which place, and what is typed,
large enough to be read at arm's length."""

from __future__ import annotations

from typing import Final

from rich.cells import cell_len
from rich.text import Text
from textual.widgets import Static

from trackside.tui.widgets.lettering import can_show, large, width

BETWEEN: Final = 4
"""Cells at least between the place and what is typed."""
WIDE: Final = 2
"""Cells to a dot where there is room for two such lines."""


class WalkSign(Static):
    """Hidden but for a walk."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__("", id=id, markup=False)

    def show(self, place: str, typed: str, role: str, plain: bool, twice: bool) -> None:
        """The wheel and place, beside or below it the figure; `role` is the theme's colour of the
        wheel, `plain` a terminal that has no blocks, `twice` room for two lines of letters."""
        room = self.app.size.width - 2
        ink = "#" if plain else "█"
        style = f"bold {self.app.theme_variables.get(role, '')}".rstrip()
        if not can_show(place) or width(place) > room:
            self._put([(place, style), (typed, "bold")])
        elif twice and width(place, WIDE) <= room:
            lines = [(line, style) for line in large(place, ink, WIDE)]
            shown = can_show(typed) and width(typed, WIDE) <= room
            below = large(typed, ink, WIDE) if shown else [typed]
            self._put([*lines, ("", ""), *((line, "bold") for line in below)])
        else:
            self._put(self._beside(large(place, ink), typed, ink, style, room))

    def _beside(
        self, place: list[str], typed: str, ink: str, style: str, room: int
    ) -> list[tuple[str, str] | Text]:
        left = room - cell_len(place[0]) - BETWEEN
        figure = large(typed, ink) if typed and can_show(typed) else []
        if not figure or cell_len(figure[0]) > left:
            figure = [""] * (len(place) - 1) + ([typed] if cell_len(typed) <= left else [""])
        gap = " " * BETWEEN
        return [
            Text.assemble(" ", (a, style), gap, (b, "bold"))
            for a, b in zip(place, figure, strict=True)
        ]

    def _put(self, lines: list[tuple[str, str] | Text]) -> None:
        texts = [one if isinstance(one, Text) else Text(f" {one[0]}", one[1]) for one in lines]
        self.update(Text("\n", no_wrap=True).join(texts))
