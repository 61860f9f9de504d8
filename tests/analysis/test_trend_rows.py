"""The trend's rows: worked out a page at a time, and the same as if all were worked out at once."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from trackside.analysis.lap_figures import best_lap
from trackside.analysis.recall import ordered_sessions
from trackside.analysis.shed import Shed
from trackside.analysis.trend import trend
from trackside.analysis.trend_rows import PAGE, TrendRows
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Reading

PREFERENCES = Preferences()
MANY = 2 * PAGE + 9


@pytest.fixture
def logbook(samples_log: Path, tmp_path: Path) -> Iterator[Logbook]:
    """The sample season, and many more sessions of its car, a knob turned in each third."""
    season_file = Path(shutil.copy(samples_log, tmp_path / "season.trackside"))
    with Logbook.open(season_file, author="Olle", device="d") as logbook:
        body = logbook.state(logbook.session("last"))
        assert body is not None
        clicks = [Reading.of_si(n // 3 % 15 + 2, "clicks").body() for n in range(MANY)]
        logbook.write(
            *(
                put("session", body | {
                    "start": f"2026-08-{n // 20 + 1:02d} {n % 20 + 4:02d}:00",
                    "FL": body["FL"] | {"rebound_bleed": clicks[n]},
                })
                for n in range(MANY)
            )
        )  # fmt: skip
        yield logbook


def _rows(logbook: Logbook) -> tuple[TrendRows, str, Shed]:
    car, shed = logbook.session_lines(limit=1)[0].car, Shed.of(logbook)
    return TrendRows(logbook, car, "FL", "rebound", shed, PREFERENCES.reference_speeds), car, shed


def test_the_rows_are_those_of_one_calculation(logbook: Logbook) -> None:
    rows, car, shed = _rows(logbook)
    sessions = ordered_sessions(logbook, car)
    points = trend(sessions, "FL", "rebound", shed, PREFERENCES.reference_speeds)
    assert len(rows) == len(points) > MANY
    assert [row.point.session for row in rows] == [point.session for point in points]
    assert [row.point.moved for row in rows] == [point.moved for point in points]
    assert [(row.start, row.driver, row.best_lap) for row in rows] == [
        (session.start, session.driver, best_lap(session)) for _, session in sessions
    ]
    assert sum(bool(row.point.moved) for row in rows) > MANY // 3


def test_only_what_is_read_is_known(logbook: Logbook) -> None:
    rows, *_ = _rows(logbook)
    last = len(rows) - 1
    assert rows.known(last) is None
    rows.read([last, last + 1, -5])
    assert rows.known(last) is rows[-1]
    assert rows.known(0) is None
    rows.read([0])
    assert rows.known(0) is rows[0]
    with pytest.raises(IndexError):
        rows[len(rows)]
