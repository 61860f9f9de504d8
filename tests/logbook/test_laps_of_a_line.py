"""What lap times give on a line of the pit board and in an export: no table holds it."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import Any

import pytest

from trackside.logbook import Logbook, lap_lookup, patch, put
from trackside.logbook.spreadsheet import export_csv, export_wide_csv

LAPS = ["1:50 out", 95.2, 94.9, "soon", 3.0, "1:20 in"]
"""Two timed laps; 3 s is no lap."""


def _session(logbook: Logbook, **body: Any) -> str:
    run = put("session", {"kind": "practice", "status": "done", **body})
    logbook.write(run)
    return run.entity


def test_a_line_says_what_its_lap_times_give(logbook: Logbook) -> None:
    entity = _session(logbook, lap_times=LAPS)
    line = logbook.session_line(entity)
    assert (line.timed_laps, line.best_timed_s) == (2, 94.9)
    assert (line.laps, line.best_lap_s) == (None, None)
    logbook.write(patch("session", entity, {"lap_times": None}))
    line = logbook.session_line(entity)
    assert (line.timed_laps, line.best_timed_s) == (0, None)


@pytest.mark.parametrize("laps", ["soon", 95.2, {"a": 95.2}, [], [True, None, "95.2"], [1e300]])
def test_what_another_laptop_wrote_there_gives_nothing(logbook: Logbook, laps: Any) -> None:
    entity = _session(logbook, lap_times=laps, FL={"hot_pressure": {"typed": "2", "si": 2e5}})
    logbook.write(put("note", {"session": entity, "words": "loose"}))
    line = logbook.session_line(entity)
    assert (line.timed_laps, line.best_timed_s) == (0, None)
    assert logbook.unfinished() == 1


def test_lap_times_finish_a_line_as_a_best_lap_does(logbook: Logbook) -> None:
    entity = _session(logbook, FL={"hot_pressure": {"typed": "2", "si": 2e5}})
    logbook.write(put("note", {"session": entity, "words": "loose"}))
    assert logbook.unfinished() == 1
    logbook.write(patch("session", entity, {"lap_times": [95.2]}))
    assert logbook.unfinished() == 0
    logbook.write(patch("session", entity, {"lap_times": ["1:50 out", 3.0]}))
    assert logbook.unfinished() == 1


def test_a_damaged_table_hides_no_session(logbook: Logbook, path: Path) -> None:
    """What stands in `current` is no JSON any more: the line is shown as the revisions have it."""
    entity = _session(logbook, lap_times=LAPS)
    logbook.close()
    body = rb'(?<!"body":)\{"kind":"practice","lap_times":\['
    damaged, count = re.subn(body, b'{"kind":"practice","lap_times":{', path.read_bytes())
    assert count == 1
    path.write_bytes(damaged)
    with Logbook.open(path, author="Mara", device="laptop-1") as again:
        [line] = again.session_lines()
        assert (line.entity, line.timed_laps, line.best_timed_s) == (entity, 2, 94.9)


def test_an_export_has_both_what_was_typed_and_what_the_lap_times_give(logbook: Logbook) -> None:
    best = {"typed": "1:35,2", "unit": "s", "si": 95.2}
    _session(logbook, lap_times=LAPS, best_lap=best)
    _session(logbook)
    stream = io.StringIO(newline="")
    export_csv(logbook, stream)
    rows = {row["field"]: row for row in csv.DictReader(io.StringIO(stream.getvalue()))}
    assert (rows["best_lap"]["typed"], rows["best_lap"]["si"]) == ("1:35,2", "95.2")
    best_of = [rows["best_lap_of_laps"][name] for name in ("typed", "unit", "si", "si_unit")]
    assert best_of == ["", "s", "94.9", "s"]
    assert (rows["timed_laps"]["typed"], rows["timed_laps"]["si"]) == ("", "2.0")
    stream = io.StringIO(newline="")
    export_wide_csv(logbook, stream)
    wide = list(csv.DictReader(io.StringIO(stream.getvalue())))
    assert sorted(row["best_lap_of_laps (s)"] for row in wide) == ["", "94.9"]
    assert sorted(row["timed_laps (1)"] for row in wide) == ["", "2.0"]
    assert sorted(row["best_lap (s)"] for row in wide) == ["", "95.2"]


def test_an_export_without_lap_times_has_no_column_for_them(logbook: Logbook) -> None:
    _session(logbook, lap_times=["soon"])
    stream = io.StringIO(newline="")
    export_wide_csv(logbook, stream)
    assert "of_laps" not in stream.getvalue()


def test_what_is_remembered_of_laps_follows_another_window(
    logbook: Logbook, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lap_lookup, "AT_ONCE", 2)
    sessions = [_session(logbook, FL={"hot_pressure": {"si": 2e5}}) for _ in range(5)]
    logbook.write(*(put("note", {"session": entity, "words": "loose"}) for entity in sessions))
    assert logbook.unfinished() == 5
    with Logbook.open(path, author="Otto", device="other") as other:
        other.write(*(patch("session", entity, {"lap_times": [95.2]}) for entity in sessions[:3]))
        assert (logbook.unfinished(), other.unfinished()) == (2, 2)
        other.undo()
        assert (logbook.unfinished(), other.unfinished()) == (5, 5)
        other.redo()
        other.rebuild()
        assert (logbook.unfinished(), other.unfinished()) == (2, 2)
        monkeypatch.setattr(lap_lookup, "MANY", 1)
        other.write(*(patch("session", entity, {"lap_times": [95.2]}) for entity in sessions))
        assert logbook.unfinished() == 0
