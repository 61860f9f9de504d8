"""The day of a build is what somebody typed: a first build has none until then, and a strip-down's
is the day of entry, which is told as that. The program's own rule, no source."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from trackside.analysis.shed import Shed
from trackside.crew.cell_text import change, text_of
from trackside.crew.copies import copied_damper
from trackside.crew.forms import entries
from trackside.crew.record_table import take_rows
from trackside.logbook import Logbook, dampers, patch
from trackside.preferences import Preferences
from trackside.reports.when_words import made_words

DATE = entries("damper")["build.date"]
PREFERENCES = Preferences()


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        logbook.write(*dampers.new_damper(logbook, "D1"))
        yield logbook


def dates(logbook: Logbook) -> list[str]:
    return [str(body.get("date", "")) for _, body in logbook.all("build")]


def test_a_first_build_has_no_date_by_whatever_door_it_comes(logbook: Logbook) -> None:
    logbook.write(*copied_damper(logbook, "D1", ["D2"]).writes)
    logbook.write(*take_rows(logbook, "damper", "Serial\nD3\n", "list.csv", PREFERENCES).writes)
    assert dates(logbook) == ["", "", ""]


def test_a_strip_down_is_told_as_entered_until_its_date_is_typed(logbook: Logbook) -> None:
    logbook.write(dampers.strip_down(logbook, "D1", "new needle"))
    today = date.today().isoformat()
    first, second = Shed.of(logbook).builds_of("D1")
    assert (first.version, second.version) == ("A", "B"), "in their order, though A has no date"
    assert (made_words(first), made_words(second)) == ("", f"entered {today}")
    entity, body = dampers.builds_of(logbook, "D1")[-1]
    assert text_of(DATE, body, PREFERENCES) == ""
    values = change("build", body, {DATE: today}, PREFERENCES)
    logbook.write(patch("build", entity, values))
    now = Shed.of(logbook).build("D1")
    assert now is not None
    assert (now.date_said, made_words(now)) == (today, today), "also where it is that very day"
    again = dampers.strip_down(logbook, "D1", "").body
    assert again["entered"] == today, "the next one is told as entered again"
