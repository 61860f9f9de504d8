"""Which events lie behind us, by the day of their newest session."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from trackside.crew.corrections import Corrections
from trackside.logbook import Logbook, put


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
