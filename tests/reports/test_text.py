"""A document as plain text: never wider than it was told, and nothing of it lost."""

from __future__ import annotations

from trackside.analysis.shed import Shed
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.reports.debriefing import debrief_page
from trackside.reports.document import Corners, Document, Said, Section, Table
from trackside.reports.run_sheet import run_sheet
from trackside.reports.text import text


def test_no_line_of_any_sample_is_wider_than_told(samples: Logbook) -> None:
    shed, preferences = Shed.of(samples), Preferences()
    entities = [line.entity for line in samples.each_session()]
    assert len(entities) > 5
    for entity in entities:
        for page in (run_sheet, debrief_page):
            document = page(samples, entity, shed, preferences)
            for width in (60, 80):
                assert [line for line in text(document, width) if len(line) > width] == []


def test_what_is_wrapped_is_whole_and_stands_in_its_column() -> None:
    laps = [f"1:{n:02d}.000" for n in range(30)]
    block = Table("laps", (("laps", ", ".join(laps)), ("best", laps[0])))
    lines = text(Document("title", "heading", (block,)), 40)[4:]
    assert max(map(len, lines)) <= 40
    assert " ".join(line[8:] for line in lines[:-1]) == ", ".join(laps)
    assert lines[-1] == f"  best  {laps[0]}"


def test_a_block_without_a_title_leaves_its_line_empty_and_marks_what_matters() -> None:
    block = Section("", (Said("big", "big"), Said("care", "caution"), Said("a " * 8)))
    assert text(Document("Title", "Heading", (block, Section("Then", ()))), 14) == [
        "Title", "Heading", "", "", "> big", "! care", "  a a a a a a", "  a a", "", "THEN"
    ]  # fmt: skip


def test_a_corner_that_lacks_a_row_has_a_dash_and_an_empty_one_a_box() -> None:
    rows = {
        "FL": (("camber", "-3"), ("toe", "")),
        "FR": (("camber", "-2"), ("caster", "6")),
        "RL": (("camber", "-1"),),
    }
    told = [line.split() for line in text(Document("T", "", (Corners("Car", rows),)), 60) if line]
    assert told == [
        ["T"],
        ["CAR"],
        ["FL", "FR"],
        ["camber", "-3", "-2"],
        ["toe", "_" * 10, "–"],
        ["caster", "–", "6"],
        ["RL", "RR"],
        ["camber", "-1", "–"],
    ]
