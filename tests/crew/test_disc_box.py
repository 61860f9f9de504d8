"""The disc box: what is written on the bench is read, put in and taken out; a count is a count."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.crew.disc_box import DiscBox, read_parts
from trackside.errors import BadInput
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.reports.box_words import moved_words, part_doubts, part_row, part_words

METRIC = Preferences()


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "shop.trackside", author="Mara", device="d") as logbook:
        yield logbook


def counts(logbook: Logbook) -> dict[str, int]:
    return {part_words(part.record): part.record.count for part in DiscBox(logbook).all()}


def put_in(logbook: Logbook, text: str) -> None:
    logbook.write(*DiscBox(logbook).moved(read_parts(text)))


def take_out(logbook: Logbook, text: str) -> None:
    logbook.write(*DiscBox(logbook).moved(comes_out=read_parts(text)))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("27×0.15 ×6", "27×0.15 ×6"),
        ("27x0.15x6, 21*0,10 mm", "27×0.15 ×6, 21×0.10 ×1"),
        ("disc 27.5 x 0.125", "27.5×0.125 ×1"),
        ("clamp 14 ×2; clamp disc 16×2.0", "clamp disc 14 ×2, clamp disc 16×2.00 ×1"),
        ("spacer 0.30 ×4\nspacers 0,1", "spacer 0.30 ×4, spacer 0.10 ×1"),
        ("bleed 4×2.0×0.15 ×2", "bleed disc 4×2.00×0.15 ×2"),
        ("bleed discs 4 x 2 x 0.15", "bleed disc 4×2.00×0.15 ×1"),
    ],
)
def test_parts_are_read_as_they_are_written(text: str, told: str) -> None:
    assert moved_words(read_parts(text), "x") == f"x: {told}"


@pytest.mark.parametrize(
    "text", ["", " , ", "27", "27×", "gasket 3", "27×0.15 ×0", "0×0.15", "27×0.15 ×6 loose", "[/"]
)
def test_what_is_no_part_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_parts(text)
    assert "27×0.15 ×6" in str(refused.value) or "count them" in str(refused.value)


@given(st.text(max_size=40))
def test_any_text_is_parts_or_a_sentence(text: str) -> None:
    try:
        found = read_parts(text)
    except BadInput:
        return
    assert all(one.record.sizes and one.pieces > 0 for one in found)


def test_what_is_put_in_is_there_and_what_is_taken_out_is_not(logbook: Logbook) -> None:
    put_in(logbook, "27×0.15 ×6, spacer 0.30 ×2, 21×0.10")
    put_in(logbook, "27×0.150 ×2, 27×0.15")
    assert counts(logbook) == {"27×0.15": 9, "21×0.10": 1, "spacer 0.30": 2}
    take_out(logbook, "27×0.15 ×4, spacer 0.3")
    assert counts(logbook) == {"27×0.15": 5, "21×0.10": 1, "spacer 0.30": 1}
    take_out(logbook, "21×0.10")
    assert counts(logbook)["21×0.10"] == 0, "the drawer is still there, and empty"


def test_more_than_there_is_cannot_be_taken_out(logbook: Logbook) -> None:
    put_in(logbook, "27×0.15 ×3")
    with pytest.raises(BadInput, match="only 3 of it"):
        take_out(logbook, "27×0.15 ×4")
    with pytest.raises(BadInput, match="only 1 of it"):
        take_out(logbook, "27×0.15 ×2, 27×0.15 ×2")
    with pytest.raises(BadInput, match="none of it"):
        take_out(logbook, "27×0.20")
    assert counts(logbook) == {"27×0.15": 3}


def test_one_size_entered_on_two_laptops_is_one_pile(logbook: Logbook) -> None:
    body = {"sort": "spacer", "thickness": 0.3e-3, "count": 2}
    logbook.write(put("box_part", body), put("box_part", body))
    take_out(logbook, "spacer 0.30 ×3")
    assert sum(part.record.count for part in DiscBox(logbook).all()) == 1


TABLE = """what;Diameter (mm);t (mm);Slots;Slot width (mm);Qty;Drawer;Price
disc;27;0,15;;;12;A1;3
;21;0,10;;;4;A2;3
bleed disc;;0,15;4;2,0;2;B;9
clamp;14;;;;1;;2
oil;;;;;3;shelf;
"""


def test_a_spreadsheet_is_a_count(logbook: Logbook) -> None:
    put_in(logbook, "27×0.15 ×3, spacer 0.30")
    lines = TABLE.replace("oil;;", "spacer;;0,20").replace(";;;;3;shelf", ";;;3;shelf")
    counted = DiscBox(logbook).counted(lines, "box.csv", METRIC)
    assert (counted.added, counted.changed, counted.same) == (4, 1, 0)
    assert counted.unknown == ("Price",)
    logbook.write(*counted.writes)
    assert counts(logbook)["27×0.15"] == 12
    assert counts(logbook)["bleed disc 4×2.00×0.15"] == 2
    assert counts(logbook)["spacer 0.30"] == 1, "what the table does not name stays"
    again = DiscBox(logbook).counted(lines, "box.csv", METRIC)
    assert (again.writes, again.same) == ((), 5)
    row = part_row(DiscBox(logbook).all()[0])
    assert row == ("27×0.15", "12", "", "A1", "")


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ("", "no line of headings"),
        ("a,b\n1,2", "no line of headings"),
        ("diameter,thickness,count\n27,0.15,two", "line 2: .*“two” is not a number"),
        ("diameter,thickness,count\n27,,2", "line 2: a disc lacks a size"),
        ("diameter,thickness,count\n27,0.15,", "line 2: it has no count"),
        ("diameter,thickness,count\n27,0.15,1\n27,0.150,2", "line 3: it is on line 2 already"),
        ("diameter,thickness,count\n27,0,15,2", "4 cells under 3 headings"),
        ("what,diameter,thickness,count\nwasher,27,0.15,2", "line 2: “washer” is not known"),
    ],
)
def test_a_table_that_cannot_be_read_says_where(logbook: Logbook, table: str, told: str) -> None:
    with pytest.raises(BadInput, match=told):
        DiscBox(logbook).counted(table, "box.csv", METRIC)


def test_what_cannot_be_right_is_said_and_kept_as_typed(logbook: Logbook) -> None:
    put_in(logbook, "270×0.15")
    [part] = DiscBox(logbook).all()
    assert part.stored["diameter"]["typed"] == "270"
    assert part_doubts(part.stored, METRIC) == [
        "Diameter: 270.0 mm is outside 4.0 to 80.0 mm: right unit, right field?"
    ]
    body = {"sort": "disc", "diameter": 0.02, "hole": 0.021, "count": 1}
    told = part_doubts(body, METRIC)
    assert told == [
        "a size is not known: no search takes it",
        "the hole is as wide as the disc: swapped?",
    ]
