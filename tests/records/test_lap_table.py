"""Timing sheets: invented tables, each with the one thing that it is about."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import BadInput
from trackside.records.lap_columns import LapsSaid, named_columns, only_rows
from trackside.records.lap_table import MOST, LapTable, pasted_laps, read_lap_table
from trackside.records.laps import read_laps


def laps(text: str, said: LapsSaid | None = None) -> tuple[float | str, ...]:
    return table(text, said).laps


def table(text: str, said: LapsSaid | None = None) -> LapTable:
    return read_lap_table(text, "laps.csv", said or LapsSaid())


@pytest.mark.parametrize(
    "text",
    [
        "lap,lap time\n1,1:35.2\n2,1:34.9\n",
        "lap;lap time\r\n1;1:35,2\r\n2;1:34,9\r\n",
        "Lap\tLap Time\n1\t95.2\n2\t94,9\n",
        "LAPTIME\n1:35.2\n1:34.9",
        "Lap\n1:35,2\n1:34,9\n",
        '"No";"Lap_Time (min)"\n"1";"00:01:35,200"\n"2";"00:01:34,900"\n',
        "\ufeffTime\n1:35.2\n1:34.9\n",
        "Practice 1, A\n14:20\n\nLap,Time of day,Lap time\n1,14:21,1:35.2\n2,14:23,1:34.9\n",
        "Lap;Lap time;\n1;1:35.2;\n;;\n2;1:34.9;\nAverage;1:35.0;\n",
        "No,Driver,Lap time\n27,Ann,1:35.2\n27,Ann,1:34.9\n",
        "Lap,Gap,Time\n1,,1:35.2\n2,-0.3,1:34.9\n",
    ],
)
def test_any_timing_sheet_is_read_by_its_headings(text: str) -> None:
    assert laps(text) == (95.2, 94.9)


def test_marks_and_what_cannot_be_read_are_kept() -> None:
    rows = "1;1:52,4;Pit out\n2;1:35,2;\n3;lost;\n4;1:20 in;\n5;;\n6;1:50;in, out\n"
    text = f"Lap;Lap time;In/out\n{rows}"
    found = table(text)
    assert found.laps == ("1:52,4 out", 95.2, "lost", "1:20 in", 110.0)
    assert (found.column, found.left_out) == ("Lap time", 1)


def test_names_of_their_own_are_said_once() -> None:
    text = "Runde;Zeit;Ort\n1;1:35,2;x\n"
    columns = named_columns(["Zeit=lap_time; Runde = lap"])
    assert columns == {"zeit": "lap_time", "runde": "lap"}
    assert laps(text, LapsSaid(columns)) == laps(text, LapsSaid(known=[{"a": "lap"}, columns]))
    with pytest.raises(BadInput, match="no column of lap times that is known"):
        laps(text, LapsSaid(known=[{**columns, "more": "ignore"}]))
    both = "Time;Lap time\n1:35.2;1:36.0\n"
    assert laps(both) == (96.0,)
    assert laps(both, LapsSaid(named_columns(["Time=lap_time"]))) == (95.2,)


@pytest.mark.parametrize("said", ["Zeit", "=lap_time", "Zeit=speed", "Zeit="])
def test_what_says_nothing_of_a_column_is_refused(said: str) -> None:
    with pytest.raises(BadInput, match="does not say what a column is"):
        named_columns([said])


@pytest.mark.parametrize("said", ["27", "=27", "No="])
def test_what_says_nothing_of_rows_is_refused(said: str) -> None:
    with pytest.raises(BadInput, match="does not say which rows"):
        only_rows(said)


CARS = "No,Driver,Lap,Lap time\n27,Ann,1,1:35.2\n31,Bo,1,1:34.2\n27,Ann,2,1:34.9\n"


def test_one_car_is_taken_from_the_sheet_of_all() -> None:
    assert laps(CARS, LapsSaid(only=only_rows("no = 27"))) == (95.2, 94.9)
    assert laps(CARS, LapsSaid(only=only_rows("Driver=bo"))) == (94.2,)


@pytest.mark.parametrize(
    ("text", "only", "cause", "remedy"),
    [
        ("", "", "is empty", "export"),
        (" \n\n", "", "is empty", "export"),
        ("speed,force\n100,500\n", "", "no column of lap times", "--columns"),
        ("lap,lap time\n", "", "no lap time under “lap time”", "--columns"),
        ("lap,lap time\n1,\n2,-\n", "", "no lap time under “lap time”", "--columns"),
        ("lap,lap time\n1,lost\n", "", "no lap time under “lap time”", "--columns"),
        ("lap,lap time\n1,1:35,2\n", "", "line 2 has 3 cells under 2 headings", "semicolons"),
        ("lap,lap time,x\n1,1:35,2\n2,1:34,95\n", "", "without decimals", "semicolons"),
        ("lap,lap time\n1,1:35.2\n2,1:3", "", "breaks off: its last lap is “1:3”", "again"),
        ("lap,lap time\n1,1:35.2\n2", "", "breaks off on its last line", "again"),
        ('lap,lap time\n1,"1:35.2"\n2,"1:34', "", "within a quotation mark", "again"),
        (CARS, "", "has the laps of Ann, Bo", "--only “Driver=Ann”"),
        (CARS.replace("Driver", "x"), "", "has lap 1 more than once", "--only"),
        (CARS, "No=28", "no row with No “28”", "check"),
        (CARS, "Wing=28", "no column “wing”", "No, Driver, Lap, Lap time"),
        ("x" * 200_000 + ",lap time\n1,1:35.2\n", "", "is no table", "CSV"),
        ("lap time\n" + "1:35.2\n" * (MOST + 1), "", f"has {MOST + 1} laps", "one session"),
    ],
)
def test_what_cannot_be_used_is_named_with_its_remedy(
    text: str, only: str, cause: str, remedy: str
) -> None:
    said = LapsSaid(only=only_rows(only) if only else ("", ""))
    with pytest.raises(BadInput) as refused:
        table(text, said)
    assert cause in refused.value.cause
    assert refused.value.cause.startswith("laps.csv")
    assert remedy in refused.value.remedy


@given(st.text(max_size=200))
def test_any_text_is_laps_or_one_sentence(text: str) -> None:
    for read in (text, f"lap,lap time\n{text}", f"time\n1:35.2\n{text}"):
        with suppress(BadInput):
            assert laps(read)


@given(st.lists(st.sampled_from(["1:35.2", "95,2", "1:50 out", "soon"]), min_size=1, max_size=9))
def test_half_a_file_gives_no_lap_that_was_not_in_it(times: list[str]) -> None:
    """Cut anywhere: an error, or the first laps as they are. A time that breaks off after its
    decimals cannot be told from a whole one where others have no more."""
    rows = [f"{n};{time};x\n" for n, time in enumerate(times, 1)]
    whole = "lap;lap time;car\n" + "".join(rows)
    known = [lap for time in times for lap in read_laps(time)]
    for end in range(len(whole)):
        try:
            found = list(laps(whole[:end]))
        except BadInput:
            continue
        assert found[:-1] == known[: len(found) - 1]


@pytest.mark.parametrize(
    ("pasted", "typed"),
    [
        ("1:35.2", "1:35.2"),
        ("1:35.2\t1:34.9", "1:35.2 1:34.9"),
        ("1:35.2\r\n1:34.9 in\r\n", "1:35.2; 1:34.9 in"),
        ("1\t1:35.2\n2\t1:34.9", "1:35.2; 1:34.9"),
        ("7. 1:35,2\n8. 1:34,9", "1:35,2; 1:34,9"),
        ("95.2\n96.1", "95.2; 96.1"),
        ("95,2\n96,1", "95,2; 96,1"),
        ("95 in\n96 out", "95 in; 96 out"),
        ("1 1:35.2\n3 1:34.9", "1 1:35.2; 3 1:34.9"),
        ("Lap\tTime\tSpeed\n1\t1:35,2\t201\n2\t1:34,9\t202", "1:35.200; 1:34.900"),
        ("", ""),
        ("\n\n", ""),
    ],
)
def test_lines_that_were_pasted_are_laps(pasted: str, typed: str) -> None:
    assert pasted_laps(pasted) == typed


@given(st.text(max_size=200))
def test_any_paste_is_text(pasted: str) -> None:
    read_laps(pasted_laps(pasted))
