"""A clock that was set back: it is noticed, and what is new still sorts as the newest."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from trackside.logbook import Logbook, put
from trackside.logbook.clock import STEP
from trackside.logbook.restore import restore

NOW = datetime(2026, 5, 9, 10, 20, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _fresh(monkeypatch: pytest.MonkeyPatch) -> None:
    """Moments that a test invents must not hold back the identifiers of the others."""
    monkeypatch.setattr("trackside.logbook.uuid7._last", 0)


@pytest.fixture
def written(path: Path) -> Path:
    with Logbook.open(path, device="laptop-1", clock=lambda: NOW) as logbook:
        logbook.write(put("session", {"driver": "Ines"}))
    with Logbook.open(path, device="laptop-2", clock=lambda: NOW + timedelta(days=400)) as logbook:
        logbook.write(put("note", {}))
    return path


@pytest.mark.parametrize(
    ("moment", "told"),
    [
        (NOW, ""),
        (NOW + timedelta(days=1), ""),
        (NOW - STEP, ""),
        (NOW - STEP - timedelta(seconds=1), "2026-05-09T10:20:00.000Z"),
        (datetime(1970, 1, 1, tzinfo=UTC), "2026-05-09T10:20:00.000Z"),
    ],
)
def test_only_a_clock_behind_its_own_writing_is_told(
    written: Path, moment: datetime, told: str
) -> None:
    with Logbook.open(written, device="laptop-1", clock=lambda: moment) as logbook:
        assert logbook.ahead_of_clock() == told
        logbook.write(put("note", {}))  # what is written by the wrong clock does not hide it
        assert logbook.ahead_of_clock() == told
    with Logbook.open(written, device="laptop-3", clock=lambda: moment) as other:
        assert other.ahead_of_clock() == ""


def test_a_computer_that_goes_on_under_a_new_name_remembers(written: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.trackside"
    with Logbook.open(written, device="laptop-1") as logbook:
        logbook.back_up(copy)
    restore(copy, written, device="laptop-1")
    with Logbook.open(
        written, device="laptop-1", clock=lambda: NOW - timedelta(hours=1)
    ) as logbook:
        logbook.write(put("note", {}))
        assert logbook.ahead_of_clock() == "2026-05-09T10:20:00.000Z"


def test_what_is_new_sorts_as_the_newest(written: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    set_back = datetime(2025, 1, 1, tzinfo=UTC)
    monkeypatch.setattr("time.time_ns", lambda: int(set_back.timestamp()) * 10**9)
    with Logbook.open(written, device="laptop-1", clock=lambda: set_back) as logbook:
        assert logbook.ahead_of_clock()
        [saved] = logbook.write(put("session", {"driver": "Maud"}))
        assert logbook.session("last") == saved.entity
