"""A logbook in a folder of its own, and the small records that the tests write."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from trackside.logbook import Logbook


class Ticking:
    """A clock that moves on by one second at each look."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 5, 9, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.moment += timedelta(seconds=1)
        return self.moment


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "pits" / "team.logbook"


@pytest.fixture
def logbook(path: Path) -> Iterator[Logbook]:
    with Logbook.open(path, author="Mara", device="laptop-1", clock=Ticking()) as opened:
        yield opened
