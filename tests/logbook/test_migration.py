"""Files of earlier versions, kept as they were written, open and go on.

fixtures/version-1: an event, a car, a session, two notes, an undo, a redo, one note dropped; nine
revisions. fixtures/version-2: the same file, as version 2 went on with it, and a draft.
"""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from trackside.logbook import Logbook, patch
from trackside.logbook.schema import VERSION

FIXTURES = Path(__file__).parent / "fixtures"


@pytest.fixture(params=sorted(FIXTURES.glob("*.gz")), ids=lambda file: file.name)
def older(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / "older.trackside"
    path.write_bytes(gzip.decompress(request.param.read_bytes()))
    return path


def test_every_earlier_version_has_a_fixture() -> None:
    names = {file.name for file in FIXTURES.glob("*.gz")}
    assert names == {f"version-{number}.trackside.gz" for number in range(1, VERSION)}


def test_an_older_file_opens_and_goes_on(older: Path) -> None:
    with Logbook.open(older, device="laptop-1") as logbook:
        assert logbook.verify()[:2] == (9, ())
        session = logbook.session("last")
        assert logbook.readings("FL", "rebound_bleed") == [(session, "9", "clicks", 9.0)]
        assert [found.kind for found in logbook.search("entry")] == ["note"]
        assert logbook._rows("PRAGMA user_version") == [(VERSION,)]
        logbook.keep_draft(session, "driver", "I").result()
        logbook.write(patch("session", session, {"driver": "Otto"}))
        last, before = logbook.undo(steps=2)
        assert last.changes == {"driver": ("Otto", "Ines")}
        assert before.changes["words"] == (None, "wrong")
        assert logbook.verify().problems == ()


def test_an_older_file_can_be_looked_at_without_changing_it(older: Path) -> None:
    content = older.read_bytes()
    with Logbook.open(older, read_only=True) as logbook:
        assert logbook.session_count() == 1
        assert logbook.drafts() == []
        assert logbook.verify()[:2] == (9, ())
    assert older.read_bytes() == content


def test_an_older_file_has_the_views_of_a_new_one(older: Path, tmp_path: Path) -> None:
    schemas = []
    for path in (older, tmp_path / "new.trackside"):
        with Logbook.open(path) as logbook:
            logbook.rebuild()
            found = logbook._rows("SELECT type, name, sql FROM sqlite_schema ORDER BY type, name")
            schemas.append(found)
    assert schemas[0] == schemas[1]
