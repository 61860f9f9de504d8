"""A document as plain text: never wider than it was told, and nothing of it lost."""

from __future__ import annotations

import pytest

from trackside.analysis.shed import Shed
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.reports.debriefing import debrief_page
from trackside.reports.document import Document, Table
from trackside.reports.run_sheet import run_sheet
from trackside.reports.text import text


@pytest.mark.parametrize("width", [60, 80])
def test_no_line_of_any_sample_is_wider_than_told(samples: Logbook, width: int) -> None:
    shed, preferences = Shed.of(samples), Preferences()
    entities = [line.entity for line in samples.each_session()]
    assert len(entities) > 5
    for entity in entities:
        for page in (run_sheet, debrief_page):
            lines = text(page(samples, entity, shed, preferences), width)
            assert [line for line in lines if len(line) > width] == []


def test_what_is_wrapped_is_whole_and_stands_in_its_column() -> None:
    laps = [f"1:{n:02d}.000" for n in range(30)]
    block = Table("laps", (("laps", ", ".join(laps)), ("best", laps[0])))
    lines = text(Document("title", "heading", (block,)), 40)[4:]
    assert max(map(len, lines)) <= 40
    assert " ".join(line[8:] for line in lines[:-1]) == ", ".join(laps)
    assert lines[-1] == f"  best  {laps[0]}"
