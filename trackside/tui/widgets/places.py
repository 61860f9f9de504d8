"""Where cells stand: blocks side by side in columns, a line for each of their rows."""

from __future__ import annotations

from collections.abc import Sequence

from trackside.tui.widgets.cells import Block, Cell


class Places:
    """The cells of a sheet, line by line, and the way from one to the next."""

    def __init__(self, blocks: Sequence[Block], cells: Sequence[Cell], columns: int) -> None:
        self.blocks, self.cells, self.columns = tuple(blocks), tuple(cells), columns
        self.by_path = {cell.path: cell for cell in cells}
        self.line_of: dict[str, int] = {}
        self._on_line: dict[int, list[Cell | int]] = {}
        self.lines = 0
        """As many as the blocks take."""
        for first in range(0, len(blocks), columns):
            self._add_band(range(first, min(first + columns, len(blocks))))

    def _add_band(self, band: range) -> None:
        """Blocks that stand side by side: their titles, then their rows."""
        self._on_line[self.lines] = list(band)
        height = 0
        for cell in sorted((c for c in self.cells if c.block in band), key=lambda c: c.block):
            line = self.lines + 1 + cell.row
            self._on_line.setdefault(line, []).append(cell)
            self.line_of[cell.path] = line
            height = max(height, cell.row + 1)
        self.lines += 1 + height

    def on_line(self, line: int) -> Sequence[Cell | int]:
        """What stands on a line, from left to right: cells, or the numbers of titled blocks."""
        return self._on_line.get(line, ())

    def column_of(self, entry: Cell | int) -> int:
        """The column of a cell, or of a block by its number."""
        return (entry if isinstance(entry, int) else entry.block) % self.columns

    def at(self, line: int, column: int) -> str:
        """The path of the cell there; empty when there is none."""
        for entry in self.on_line(line):
            if isinstance(entry, Cell) and self.column_of(entry) == column:
                return entry.path
        return ""

    def beside(self, path: str, lines: int, columns: int) -> str:
        """The path of the cell up or down within a column of blocks, or in the column beside;
        the same where there is none."""
        if path not in self.by_path:
            return path
        column = self.column_of(self.by_path[path]) + columns
        line = self.line_of[path]
        found = [
            cell.path
            for cell in self.cells
            if self.column_of(cell) == column
            and (lines == 0 or (self.line_of[cell.path] - line) * lines > 0)
        ]
        return min(found, key=lambda p: abs(self.line_of[p] - line), default=path)

    def following(self, path: str) -> str:
        """The path of the cell that comes next as a form is read: down its block, then the block
        beside it, then those below; the same at the end."""
        cell = self.by_path.get(path)
        if cell is None:
            return path
        behind = [c for c in self.cells if (c.block, c.row) > (cell.block, cell.row)]
        return min(behind, key=lambda c: (c.block, c.row), default=cell).path
