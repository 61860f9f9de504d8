"""What all runs of a car came to, read in one go, is what each says that is read at length; a copy
that was damaged is not believed."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from trackside.errors import BadRecord
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.driven import Driven, driven, of_record


def reading(typed: str, unit: str, si: Any) -> dict[str, Any]:
    return {"typed": typed, "unit": unit, "si": si}


def at_length(logbook: Logbook, car: str) -> list[Driven]:
    """The same, a run at a time."""
    found = []
    for line in logbook.session_lines(car=car):
        try:
            run = logbook.session_record(line.entity)
        except BadRecord:
            continue
        found.append(of_record(line.entity, line.sort_key, run))
    return [each._replace(lap_times=list(each.lap_times)) for each in found]


def in_one_go(logbook: Logbook, car: str) -> list[Driven]:
    return [each._replace(lap_times=list(each.lap_times)) for each in logbook.driven(car)]


NUMBER = st.sampled_from(
    [None, reading("12", "min", 720.0), reading("8", "", 8), reading("?", "", None), "8", [], True,
     {"typed": "8"}, reading("8", "", 1e301), reading("8", "", True)]
)  # fmt: skip
WORD = st.sampled_from([None, "S1", " S1 ", "", "planned", "Planned", "run", "a\nb", {"x": 1}])
LAPS = st.none() | st.lists(
    st.sampled_from([95.1, 96, "2:10 out", "in", " in ", True, None, 1e9, [95.0]]), max_size=4
)
BODY = st.fixed_dictionaries(
    {"car": st.sampled_from(["c1", "c1", "c2"])},
    optional={
        "event": st.sampled_from(["e1", "e2"]),
        "start": st.sampled_from(["", "2026-05-09 10:00", "10:00", "soon", 5]),
        "status": WORD,
        "tyre_set": WORD,
        "rear_set": WORD,
        "run_time": NUMBER,
        "laps": NUMBER,
        "tyre_age": NUMBER,
        "lap_times": LAPS,
        "FL": st.just({"hot_pressure": reading("1.8", "bar", 180000.0)}),
    },
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@example([{"car": "c1"}, {"car": "c1", "lap_times": [95.1]}])
@given(st.lists(BODY, max_size=6))
def test_what_runs_came_to_is_what_each_says(bodies: list[dict[str, Any]]) -> None:
    with Logbook.open(":memory:", device="d") as logbook:
        logbook.write(put("event", {"venue": "Aldermoor", "date": "2026-05-08"}, "e1"))
        writes = [put("session", body) for body in bodies]
        if writes:
            logbook.write(*writes)
            logbook.write(drop("session", writes[0].entity))
        assert in_one_go(logbook, "c1") == at_length(logbook, "c1")


def test_runs_as_they_are_written_are_not_read_at_length(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        [run] = logbook.write(
            put("session", {"car": "c1", "status": "run", "start": "2026-05-09 10:00"})
        )
        laps = ["2:10 out", 95.1, "in"]
        values = {"lap_times": laps, "laps": reading("3", "", 3.0), "tyre_set": "S1"}
        logbook.write(patch("session", run.entity, values))
        assert logbook.look(lambda sql: driven(sql, "c1")) == (
            [Driven(run.entity, "2026-05-09 2026-05-09 10:00", True, {"laps": 3.0}, laps, "S1")],
            [],
        )
        assert logbook.driven("c1", "2026-05-10") == []


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE reading SET si = 9.0 WHERE field = 'laps'",
        "UPDATE reading SET typed = 'S2' WHERE field = 'tyre_set'",
        "DELETE FROM reading WHERE field = 'rear_set'",
        "DELETE FROM reading WHERE field = 'laps'",
        "UPDATE current SET body = replace(body, '95.1', '15.1')",
        "UPDATE current SET body = replace(body, '\"si\":3.0', '\"si\":7.0')",
        "UPDATE current SET body = replace(body, 'lap_times', 'lap_tines')",
        "UPDATE session_line SET sort_key = '2026-05-09 2026-05-09 19:00'",
        "UPDATE session_line SET status = 'planned'",
    ],
)
def test_a_damaged_copy_is_not_believed(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "log"
    body = {
        "car": "c1", "status": "run", "start": "2026-05-09 10:00", "tyre_set": "S1",
        "rear_set": "S3", "laps": reading("3", "", 3.0), "lap_times": ["2:10 out", 95.1, "in"],
    }  # fmt: skip
    with Logbook.open(path, device="d") as logbook:
        logbook.write(put("session", body))
        [whole] = in_one_go(logbook, "c1")
    sql = sqlite3.connect(path)
    sql.execute(damage)
    sql.commit()
    sql.close()
    with Logbook.open(path, device="d") as logbook:
        assert in_one_go(logbook, "c1") == [whole]
