"""Columns of a list: no name is cut while there is room, and headings stand above their words."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tests.tui.conftest import Drive, screen_text, until
from trackside.tui.columns import Columns

HEADS = ("Name", "Day", "Told")
SIZES = [(80, 24), (120, 40)]
words = st.text(max_size=30)


@given(st.lists(st.tuples(words, words, words), max_size=4), st.integers(0, 120))
def test_every_row_fits_and_what_is_cut_says_so(
    rows: list[tuple[str, str, str]], room: int
) -> None:
    columns = Columns.for_words(HEADS, rows, room, told=("Told",))
    lines = [columns.line(row) for row in (HEADS, *rows)]
    assert len({cell_len(line) for line in lines}) == 1
    assert cell_len(lines[0]) <= max(room, 1 + 4 + 2 + 3 + 2 + 8)
    assert all(head in lines[0] for head in HEADS)


def test_what_is_told_gives_way_before_a_name_and_a_date_never() -> None:
    row = ("a name of twenty-four!!!", "2026-10-18", "told at some length, and more")
    whole = Columns.for_words(HEADS, [row], 68, whole=("Day",), told=("Told",))
    assert whole.line(row) == " " + "  ".join(row)
    told = Columns.for_words(HEADS, [row], 55, whole=("Day",), told=("Told",))
    assert told.line(row) == f" {row[0]}  {row[1]}  told at some le…"
    names = Columns.for_words(HEADS, [row], 34, whole=("Day",), told=("Told",))
    assert names.line(row) == f" a name of …  {row[1]}  told at…"


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("keys", "heads", "told"),
    [
        (("b",), "Serial Model Place Build Sheets Last ran", "64, spares box"),
        (("k", "escape"), "Set-up Venue Date Conditions Result", "Averholme, dry race"),
    ],
    ids=["shed", "shelf"],
)
async def test_headings_stand_above_their_columns(
    season_file: Path,
    drive: Drive,
    size: tuple[int, int],
    keys: tuple[str, ...],
    heads: str,
    told: str,
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press(*keys)
        await until(pilot, lambda: told in screen_text(pilot.app))
        lines = screen_text(pilot.app).splitlines()
        [head] = [line for line in lines if line.split() == heads.split()]
        row = next(line for line in lines if told in line)
        column = "Place" if "Place" in heads else "Set-up"
        assert head.index(column) == row.index(told)
        assert lines.index(head) < lines.index(row)
        if "Last ran" in heads:
            await until(pilot, lambda: "2026-05-09 FL" in screen_text(pilot.app))
            row = next(line for line in screen_text(pilot.app).splitlines() if "spares box" in line)
            assert head.index("Last ran") == row.index("2026-05-09 FL")
