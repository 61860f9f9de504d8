"""CSV for a spreadsheet: every reading, its SI unit, and no formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import TextIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.logbook import Logbook, put
from trackside.logbook.revisions import cleaned
from trackside.logbook.spreadsheet import export_csv, export_wide_csv
from trackside.records.fields import CORNER_FIELDS, CORNERS, SESSION_FIELDS
from trackside.units import QUANTITIES


def rows_of(logbook: Logbook, export: Callable[[Logbook, TextIO], int]) -> list[dict[str, str]]:
    stream = io.StringIO(newline="")
    count = export(logbook, stream)
    rows = list(csv.DictReader(io.StringIO(stream.getvalue(), newline="")))
    assert count == len(rows)
    return rows


def fill(logbook: Logbook) -> str:
    event = put("event", {"venue": "=Harrow Fen", "date": "2026-05-09"})
    run = put(
        "session",
        {
            "event": event.entity,
            "driver": "@Ines",
            "air_temperature": {"typed": "61", "unit": "°F", "si": 16.1},
            "fuel": {"typed": "20", "unit": "kg", "si": 20.0},
            "FL": {
                "camber": {"typed": "-2,5", "unit": "°", "si": -0.0436},
                "toe": {"typed": "1", "unit": "mm", "si": 0.001},
                "rebound_bleed": {"typed": "nine", "unit": "", "si": None},
                "bump_stop": "-soft",
            },
            "items": {"Wing 1.5": "+2 holes"},
        },
    )
    logbook.write(event, run, put("session", {"start": "2026-05-08 10:00"}))
    return run.entity


def test_every_reading_has_a_row(logbook: Logbook) -> None:
    run = fill(logbook)
    rows = {row["field"]: row for row in rows_of(logbook, export_csv) if row["id"] == run}
    assert len(rows) == 8
    assert rows["camber"]["typed"] == "-2,5"  # a number may start with its sign
    assert (float(rows["camber"]["si"]), rows["camber"]["si_unit"]) == (-0.0436, "rad")
    assert rows["camber"]["corner"] == "FL"
    assert rows["toe"]["si_unit"] == "m"
    assert (rows["air_temperature"]["unit"], rows["air_temperature"]["si_unit"]) == ("°F", "°C")
    assert (rows["rebound_bleed"]["typed"], rows["rebound_bleed"]["si"]) == ("nine", "")
    assert rows["bump_stop"]["typed"] == "'-soft"
    assert rows["items.Wing 1.5"]["typed"] == "'+2 holes"
    assert rows["items.Wing 1.5"]["si_unit"] == ""
    assert rows["driver"]["typed"] == "'@Ines"
    assert rows["driver"]["venue"] == "'=Harrow Fen"
    assert rows["driver"]["session"] == run[-6:]


def test_the_readme_names_the_columns(logbook: Logbook) -> None:
    fill(logbook)
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    assert f"`{', '.join(rows_of(logbook, export_csv)[0])}`" in readme


def test_wide_has_a_row_for_each_session_and_the_unit_in_each_header(logbook: Logbook) -> None:
    run = fill(logbook)
    row, other = rows_of(logbook, export_wide_csv)
    assert list(row) == [
        *("date", "venue", "car", "kind", "number", "start", "driver", "session"),
        *("air_temperature (°C)", "fuel (kg)", "items.Wing 1.5"),
        *("FL.rebound_bleed (1)", "FL.bump_stop", "FL.camber (rad)", "FL.toe (m)", "id"),
    ]
    assert (row["id"], row["venue"], row["driver"]) == (run, "'=Harrow Fen", "'@Ines")
    assert float(row["FL.camber (rad)"]) == -0.0436
    assert row["FL.rebound_bleed (1)"] == ""
    assert row["FL.bump_stop"] == "'-soft"
    assert {other[name] for name in list(other)[8:-1]} == {""}


def test_every_field_of_the_sheet_has_its_base_unit(logbook: Logbook) -> None:
    body: dict = {corner: {} for corner in CORNERS}
    wanted = {}
    for name, field in [*SESSION_FIELDS.items(), *CORNER_FIELDS.items()]:
        if field.quantity:
            for unit in QUANTITIES[field.quantity].units:
                wanted[name] = unit.base
                reading = {"typed": "1", "unit": unit.symbol, "si": 1.0}
                (body["RR"] if name in CORNER_FIELDS else body)[name] = reading
    logbook.write(put("session", body))
    found = {row["field"]: row["si_unit"] for row in rows_of(logbook, export_csv) if row["si"]}
    assert found == wanted


def told_back(cell: str) -> str:
    return re.sub(r"""(^|[;\t\n"])'""", r"\1", cell)


@given(
    st.text(max_size=8)
    | st.text(";\t\n\"'=+-@ a", max_size=8)
    | st.from_regex(r"['=+@-].{0,5}", fullmatch=True)
)
def test_what_a_spreadsheet_gets_can_be_told_back(typed: str) -> None:
    words = cleaned(typed)
    with Logbook.open(":memory:") as logbook:
        reading = {"typed": words, "unit": "bar", "si": 0.1 + 0.2}
        logbook.write(put("session", {"driver": words, "items": {words: reading}}))
        [driver, item] = sorted(rows_of(logbook, export_csv), key=lambda row: row["field"])
    assert told_back(driver["typed"]) == told_back(item["typed"]) == words
    assert told_back(item["field"]) == f"items.{words}"
    assert float(item["si"]) == 0.1 + 0.2
    for cell in (*driver.values(), *item.values()):
        assert cell[:1] not in tuple("=@\t\r\n")


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\n"])
@pytest.mark.parametrize("export", [export_csv, export_wide_csv])
def test_no_part_of_a_cell_begins_like_a_formula(
    logbook: Logbook, sign: str, export: Callable
) -> None:
    """Where a semicolon or a tab parts cells, as in a spreadsheet of many a country, what follows
    one, or a quotation mark or a line's end, begins a cell."""
    for mark in (";", "\t", '"', '";', "; ", "\n", ";;"):
        words = f"soft{mark}{sign}cmd|' /C x'!A0"
        logbook.write(put("session", {"kind": words, "FL": {"words": words}}))
    for row in rows_of(logbook, export):
        for cell in (*row, *row.values()):
            for part in re.split(r'[;\t\n"]', cell):
                assert part.strip()[:1] not in tuple("=+-@"), row


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\n"])
@pytest.mark.parametrize("export", [export_csv, export_wide_csv])
def test_no_cell_begins_like_a_formula(logbook: Logbook, sign: str, export: Callable) -> None:
    """The signs are those of OWASP's advice on CSV injection (from memory)."""
    words = f"{sign}cmd|' /C x'!A0"
    car = put("car", {"name": words})
    body = {"car": car.entity, "kind": words, "FL": {words: words}, words: {"typed": words}}
    logbook.write(car, put("session", body))
    for row in rows_of(logbook, export):
        for cell in (*row, *row.values()):
            assert cell[:1] not in tuple("=+-@\t\n\r"), row
