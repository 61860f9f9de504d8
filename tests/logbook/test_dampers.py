"""Dampers by serial: entered once, stripped down, renamed with builds and sheets."""

from __future__ import annotations

import pytest

from trackside.errors import BadInput
from trackside.logbook import Logbook, dampers, put


@pytest.mark.parametrize(
    ("present", "taken", "following"),
    [("A", {"a"}, "B"), ("Z", set(), "AA"), ("A", {"a", "b"}, "C"), ("", set(), "A"),
     ("A2", {"a2"}, "A2 2"), ("rebuilt", {"rebuilt", "rebuilt 2"}, "rebuilt 3")],
)  # fmt: skip
def test_versions_follow(present: str, taken: set, following: str) -> None:
    assert dampers.next_version(present, taken) == following


def _entered(logbook: Logbook, serial: str = "Q-77") -> dict[str, str]:
    logbook.write(*dampers.new_damper(logbook, serial))
    return dampers.records_of(logbook, serial)


def test_a_serial_is_entered_once_however_its_letters_are_cased(logbook: Logbook) -> None:
    records = _entered(logbook)
    assert set(records) == {"damper", "build"}
    with pytest.raises(BadInput, match="in the shed already"):
        dampers.new_damper(logbook, " q-77 ")
    with pytest.raises(BadInput, match="no serial"):
        dampers.new_damper(logbook, " ")


def test_a_strip_down_copies_what_stays_and_forgets_what_was_let_out(logbook: Logbook) -> None:
    _entered(logbook)
    logbook.write(put("build", {"damper": "Q-77", "version": "B", "date": "2999-01-01",
                                "gas_pressure": 2e6, "oil": "thin", "work": "old"}))  # fmt: skip
    build = dampers.strip_down(logbook, "q-77", " new seal ")
    assert build.body["version"] == "C"
    assert (build.body["oil"], build.body["work"]) == ("thin", "new seal")
    assert "gas_pressure" not in build.body


def test_a_name_put_right_takes_builds_and_sheets_along_in_one_step(logbook: Logbook) -> None:
    records = _entered(logbook)
    sheet = put("sheet", {"damper": "Q-77", "build": "A"})
    logbook.write(sheet)
    body = logbook.state(records["damper"])
    assert body is not None
    logbook.write(*dampers.rename(logbook, "damper", records["damper"], body, {"serial": "Q-78"}))
    for entity in (records["build"], sheet.entity):
        state = logbook.state(entity)
        assert state is not None
        assert state["damper"] == "Q-78"
    logbook.undo()
    assert dampers.records_of(logbook, "Q-77") == records


def test_a_name_that_is_taken_or_that_a_session_ran_under_stands(logbook: Logbook) -> None:
    records, _ = _entered(logbook), _entered(logbook, "Q-78")
    body = logbook.state(records["damper"])
    assert body is not None
    with pytest.raises(BadInput, match="is taken"):
        dampers.rename(logbook, "damper", records["damper"], body, {"serial": "q-78"})
    logbook.write(put("session", {"start": "2026-05-09 10:00", "FL": {"damper": "Q-77"}}))
    with pytest.raises(BadInput, match="a session names Q-77"):
        dampers.rename(logbook, "damper", records["damper"], body, {"serial": "Q-79"})


def test_a_damper_last_ran_where_its_newest_session_says(logbook: Logbook) -> None:
    for start, corner in (("2026-05-09 10:00", "FL"), ("2026-05-10 10:00", "RR")):
        body = {"start": start, "status": "done", corner: {"damper": "Q-77"}}
        logbook.write(put("session", body))
    found = dampers.last_ran(logbook)["q-77"]
    assert (found.corner, found.date) == ("RR", "2026-05-10")


def test_a_session_not_yet_run_is_not_where_a_damper_last_ran(logbook: Logbook) -> None:
    planned = {"status": "planned", "start": "2026-05-11 10:00", "FR": {"damper": "Q-77"}}
    logbook.write(put("session", planned))
    assert dampers.last_ran(logbook) == {}
    ran = {"status": "done", "start": "2026-05-10 10:00", "RR": {"damper": "Q-77"}}
    logbook.write(put("session", ran))
    assert dampers.last_ran(logbook)["q-77"].corner == "RR"
