"""The pit board's lines: names whole while there is room, and what is open at the end."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.tui.conftest import Drive, screen_text
from trackside.logbook import SessionLine
from trackside.tui.board_row import Columns, from_laps, unfinished
from trackside.tui.widgets.ledger import Ledger

LONG = ("Silhouette coupé", "Wilhelmina van der Achterberg")


def _line(car: str, driver: str, **more: object) -> SessionLine:
    known = dict.fromkeys(SessionLine._fields, "") | {
        "car_name": car, "driver": driver, "kind": "qualifying", "number": "1",
        "start": "2026-05-09 16:00", "status": "done", "wet": True, "laps": 19,
        "best_lap_s": 94.31, "hot_pressures": True, "ran": True, "notes": 1, "changes": 0,
        "kept": True,
    }  # fmt: skip
    return SessionLine(**known | more)  # type: ignore[arg-type]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=str)
async def test_no_name_is_cut_on_the_sample_board(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        shown = screen_text(pilot.app)  # type: ignore[arg-type]
        ledger = pilot.app.screen.query_one(Ledger)
        heading = next(iter(ledger.render_line(0)))
        assert heading.text.startswith("▌Averholme")
        assert heading.style is not None
        assert heading.style.bold
        assert "…" not in shown.partition("\n")[2], "below the heading, which names the file"
        if "aborte" in shown:
            assert "aborted" in shown, "beside the scroll bar too"
        for name in ("Marla Quintrey", "Teo Vannick", "Ida Kestrup", "Coupé", "Tourer"):
            assert f" {name}  " in shown


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("width", [60, 79, 80, 119])
@pytest.mark.parametrize("names", [("GT", "Al"), ("GT", LONG[1]), (LONG[0], "Al"), LONG, ("", "")])
def test_a_line_keeps_to_its_width_and_says_what_is_open(
    names: tuple[str, str], width: int, narrow: bool
) -> None:
    if not narrow and width < 80:
        width = 79
    columns = Columns.for_names(width, narrow, [("Coupé", "Teo Vannick"), names])
    open_line = _line(*names, hot_pressures=False, notes=0, best_lap_s=None)
    row = columns.row(open_line).plain
    assert cell_len(row) <= width
    assert row.endswith(("lacks 3", "no hot pressures, no note, no best lap"))
    for status in ("aborted", "planned"):
        row = columns.row(_line(*names, status=status, ran=status != "planned")).plain
        assert cell_len(row) <= width
        assert row.endswith(("aborted", "not run"))
    whole = columns.row(_line(*names)).plain
    assert "★≈" in whole
    if width == 119:
        assert all(name in whole for name in names), "nothing is cut with room free"


def test_of_two_names_without_room_the_longer_gives_way() -> None:
    columns = Columns.for_names(80, False, [("GT", LONG[1])])
    assert "GT " in columns.row(_line("GT", LONG[1])).plain
    assert f"{LONG[1][:10]}" in columns.row(_line("GT", LONG[1])).plain
    both = Columns.for_names(80, False, [LONG])
    assert min(both.car, both.driver) >= 10


@pytest.mark.parametrize("narrow", [False, True])
def test_a_best_lap_of_the_lap_times_is_told_from_a_typed_one(narrow: bool) -> None:
    columns = Columns.for_names(79 if narrow else 119, narrow, [("Coupé", "Teo Vannick")])
    untyped = _line("Coupé", "Teo Vannick", best_lap_s=None, laps=None, timed_laps=8,
                    best_timed_s=94.31)  # fmt: skip
    row = columns.row(untyped).plain
    assert "1:34.310= " in row
    assert ("8 timed" in row) != narrow
    assert unfinished(untyped) == []
    assert from_laps(untyped) == "= from the lap times: best 1:34.310, 8 timed"
    typed = _line("Coupé", "Teo Vannick", timed_laps=8, best_timed_s=94.0)
    assert "1:34.310  " in columns.row(typed).plain
    assert "=" not in columns.row(typed).plain + from_laps(typed)
