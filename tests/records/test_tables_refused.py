"""What of a sheet's text is refused, each with its cause and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from trackside.errors import BadSheet
from trackside.records import files, read_sheet
from trackside.records.fields import CORNER_NAMES, OTHER_SIDE
from trackside.records.likeness import alike
from trackside.records.sheet_lines import Said

HEAD = "position,direction,speed_mm_s,force_N\n"
TRADE = "Clicks,Direction,Speed [mm/s],Force [N]\n"


@pytest.mark.parametrize(
    ("text", "cause", "remedy"),
    [
        ("", "a.csv is empty", "export the sheet again"),
        (" \n\n", "a.csv is empty", "export the sheet again"),
        (HEAD, "a.csv has a header and no rows", "export the sheet again"),
        (HEAD + "8,bump,50\n", "a.csv line 2 has 3 cells where the header has more",
         "the file may have been cut off: export it again"),
        (HEAD + "8,bump,50,100,7\n", "a.csv line 2 has 5 cells where the header has 4",
         "decimal commas in a comma-separated file? Save it with semicolons"),
        (HEAD + "8,left,50,100\n", "a.csv line 2: direction “left”", "write bump or rebound"),
        (HEAD + "8,bump,fast,100\n", "a.csv line 2: speed “fast” is not a number",
         "correct that cell"),
        (HEAD + "8,bump,50,1e999\n", "a.csv line 2: force “1e999” is too large to be a number",
         "correct that cell"),
        (HEAD + ",bump,50,100\n", "a.csv line 2 has no position",
         "write Position: 8 in a line above the table; on the command line, --position 8"),
        (HEAD + "8,bump,50,-100\n8,bump,100,-200\n", "a.csv line 2: bump forces are negative",
         "bump is positive; rebound may be negative. Are the directions swapped?"),
        (HEAD + "8,rebound,50,-100\n8,rebound,100,200\n8,rebound,150,-300\n",
         "a.csv line 3: this rebound force has the other sign",
         "give all rebound forces one sign"),
        (TRADE.replace(" [mm/s]", "") + "8,bump,50,100\n",
         "a.csv line 1 has no column speed_mm_s",
         "“Speed” has no unit: --columns \"Speed=speed_mm_s\" says what it is"),
        ("Time [s],Displacement [mm],Force [N]\n0,1,2\n",
         "a.csv line 1 is the header of a recording over the stroke, not of a table of peak speeds",
         "trackside dyno runs a.csv --position P reduces it, from time_s,displacement_mm,force_N"),
        (TRADE.replace("\n", ",Load [N]\n") + "8,bump,50,100,100\n",
         "a.csv line 1 names force twice", "keep one column of it"),
        ("Clicks,Speed [mm/s],Force [N]\n8,50,100\n8,100,200\n",
         "a.csv line 1 has no column direction, and neither its speeds nor its forces change sign",
         "write bump or rebound in a line above the table, or in the file's name"),
        (HEAD + "8,bump,50000,100\n", "a.csv line 2: the largest speed is 50000 mm/s, more than a "
         "damper's", "check the unit in the speed header"),
        (HEAD + "8,bump,0.05,100\n", "a.csv line 2: the largest speed is 0.05 mm/s, less than a "
         "damper's", "in m/s or in/s perhaps? Then the header is speed_m_s or speed_in_s"),
        (HEAD + "8,bump,50,0.1\n", "a.csv line 2: the largest force is 0.1 N, less than a damper's",
         "in kN perhaps? Then the header is force_kN"),
    ],
)  # fmt: skip
def test_a_text_that_is_no_sheet(text: str, cause: str, remedy: str) -> None:
    with pytest.raises(BadSheet) as refused:
        read_sheet(text, "a.csv")
    assert (refused.value.cause, refused.value.remedy) == (cause, remedy)


def test_a_cell_that_does_not_end_is_no_table() -> None:
    with pytest.raises(BadSheet) as refused:
        read_sheet(HEAD + '8,bump,50,"' + "1" * 200_000, "a.csv")
    assert refused.value.cause.startswith("a.csv is not a table (")
    assert refused.value.remedy == "export the sheet again"


def test_forces_that_are_all_zero_say_nothing_of_their_unit() -> None:
    text = HEAD + "8,bump,50,0\n8,bump,100,0\n"
    assert [row.force for row in read_sheet(text, "a.csv").rows] == [0.0, 0.0]
    some = HEAD + "8,bump,50,0\n8,bump,100,300\n"
    assert [row.force for row in read_sheet(some, "a.csv").rows] == [0.0, 300.0]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("Bump\n" + TRADE.replace("Direction,", "") + "8,50,100\n", [(8.0, "bump", 100.0)]),
        ("Position: 4\nCompression\nSpeed [mm/s];Force [N]\n50;100\n", [(4.0, "bump", 100.0)]),
        ("Speed [mm/s];Bump 8 [N];Rebound 8 [N]\n50;100;200\n",
         [(8.0, "bump", 100.0), (8.0, "rebound", 200.0)]),
        ("Clicks;Speed;Force\n-;mm/s;N\n8;50;100\n8;-50;-200\n",
         [(8.0, "bump", 100.0), (8.0, "rebound", 200.0)]),
        (TRADE + "8,bump,50,100\nClicks,Direction,Speed [m/s],Force [N]\n8,bump,0.1,200\n",
         [(8.0, "bump", 100.0), (8.0, "bump", 200.0)]),
        (TRADE + "\n8,C,50,100\n8,R,50,-200\n", [(8.0, "bump", 100.0), (8.0, "rebound", 200.0)]),
    ],
)  # fmt: skip
def test_titles_units_and_signs_say_what_a_row_is(
    text: str, rows: list[tuple[float, str, float]]
) -> None:
    found = read_sheet(text, "a.csv").rows
    assert [(row.position, row.direction, row.force) for row in found] == rows
    assert found[0].speed == pytest.approx(0.05)


def test_the_far_end_of_an_adjuster_needs_its_clicks() -> None:
    text = HEAD + "hard,bump,50,200\nsoft,bump,50,100\n"
    said = Said(ends={"bump": ("hard", 20.0)})
    assert [row.position for row in read_sheet(text, "a.csv", said).rows] == [0.0, 20.0]
    turned = Said(ends={"bump": ("soft", 20.0)})
    assert [row.position for row in read_sheet(text, "a.csv", turned).rows] == [20.0, 0.0]
    with pytest.raises(BadSheet) as refused:
        read_sheet(text, "a.csv")
    assert refused.value.cause == (
        "a.csv line 3: position “soft” is at the far end, and how many clicks the adjuster has is "
        "not known"
    )
    assert refused.value.remedy == "write the count; on the command line, --clicks N"


def test_a_file_without_an_end_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(b"1" * 50)
    with pytest.raises(BadSheet) as refused:
        files.read_bytes("/dev/zero", BadSheet, 10)
    assert "is a device, not a file" in refused.value.cause
    with pytest.raises(BadSheet) as refused:
        files.read_bytes(str(tmp_path), BadSheet, 10)
    assert (refused.value.cause, refused.value.remedy) == (
        f"{tmp_path} is a folder", "name a file in it"
    )  # fmt: skip
    with pytest.raises(BadSheet) as refused:
        files.read_bytes(f"{tmp_path}/none", BadSheet, 10)
    assert refused.value.cause == f"there is no file {tmp_path}/none"
    assert refused.value.remedy == "check its name and folder"


def test_corners_by_name_and_the_other_side_of_each() -> None:
    assert CORNER_NAMES == {
        "FL": "front left", "FR": "front right", "RL": "rear left", "RR": "rear right"
    }  # fmt: skip
    for one, other in OTHER_SIDE.items():
        assert one[0] == other[0]
        assert one[1] != other[1]
    assert alike("Teo", "Toe")
