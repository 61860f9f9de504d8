"""Which events lie behind us, by the day of their newest session."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from trackside.crew.corrections import Corrections
from trackside.logbook import Logbook, put


@pytest.mark.parametrize(("today", "over"), [(9, False), (10, False), (11, False), (12, True)])
def test_an_event_is_over_when_its_last_day_is(tmp_path: Path, today: int, over: bool) -> None:
    """On the morning of the second day nothing of the first is a correction after the event."""
    with Logbook.open(tmp_path / "log.trackside", device="here") as logbook:
        days = {"date": "2026-05-09", "last_day": "2026-05-11"}
        event = put("event", {"venue": "Harrow Fen", **days})
        session = put("session", {"event": event.entity, "start": "2026-05-09 14:00"})
        logbook.write(event, session)
        assert Corrections(logbook, lambda: date(2026, 5, today)).is_over(event.entity) is over


@pytest.mark.parametrize("last_day", ["", "soon", "11 May", "2026-5-11"])
def test_a_last_day_that_is_none_counts_for_nothing(tmp_path: Path, last_day: str) -> None:
    with Logbook.open(tmp_path / "log.trackside", device="here") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09", "last_day": last_day})
        logbook.write(event)
        assert Corrections(logbook, lambda: date(2026, 5, 9)).last_day(event.entity) == "2026-05-09"


@pytest.mark.parametrize(
    ("start", "last"),
    [
        ("21:30", "2026-05-09"),
        ("Sat 14:00", "2026-05-09"),
        ("", "2026-05-09"),
        ("2026-05-10 09:00", "2026-05-10"),
    ],
)
def test_a_start_without_a_date_is_no_day(tmp_path: Path, start: str, last: str) -> None:
    with Logbook.open(tmp_path / "log.trackside", device="here") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        logbook.write(event, put("session", {"event": event.entity, "start": start}))
        corrections = Corrections(logbook, lambda: date(2026, 5, 11))
        assert corrections.last_day(event.entity) == last
        assert corrections.is_over(event.entity)
