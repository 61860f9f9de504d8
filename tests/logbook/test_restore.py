"""Going back to a backup: the present file is kept, and no window writes into a lost one."""

from __future__ import annotations

import os
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from trackside.errors import LogbookBusy, LogbookDamaged, LogbookError
from trackside.logbook import Logbook, put
from trackside.logbook import restore as module
from trackside.logbook.restore import restore

MOMENT = datetime(2026, 5, 9, 10, 20, tzinfo=UTC)


def note(words: str):
    return put("note", {"words": words})


def words(path: Path) -> list[str]:
    with Logbook.open(path, read_only=True) as logbook:
        assert logbook.verify().problems == ()
        return [body["words"] for _, body in logbook.all("note")]


@pytest.fixture
def copy(path: Path, tmp_path: Path) -> Path:
    """A backup with one note; the live logbook has two."""
    target = tmp_path / "copy.trackside"
    with Logbook.open(path) as logbook:
        logbook.write(note("one"))
        logbook.back_up(target)
        logbook.write(note("two"))
    return target


def test_back_to_a_backup_and_forth_again(path: Path, copy: Path) -> None:
    kept = restore(copy, path, moment=MOMENT)
    assert kept is not None
    assert kept.name == "team.logbook.2026-05-09-102000"
    assert (words(path), words(kept), words(copy)) == (["one"], ["one", "two"], ["one"])
    again = restore(kept, path, moment=MOMENT)
    assert again is not None
    assert again.name.endswith("-102000-2")
    assert words(path) == ["one", "two"]
    assert sorted(os.listdir(path.parent)) == sorted([path.name, kept.name, again.name])


def test_where_there_was_nothing(copy: Path, tmp_path: Path) -> None:
    assert restore(copy, tmp_path / "new" / "team.logbook") is None
    assert words(tmp_path / "new" / "team.logbook") == ["one"]


def test_a_damaged_live_file_is_set_aside(path: Path, copy: Path) -> None:
    path.write_bytes(b"not a database at all" * 500)
    kept = restore(copy, path)
    assert words(path) == ["one"]
    assert kept is not None
    assert kept.read_bytes().startswith(b"not a database")


def test_a_journal_left_behind_is_not_played_into_the_restored_file(path: Path, copy: Path) -> None:
    writer = sqlite3.connect(path, isolation_level=None)
    writer.execute("PRAGMA cache_size = 1")
    writer.execute("BEGIN")
    writer.execute("CREATE TABLE x AS SELECT zeroblob(1000000) AS y")  # spills into the file
    journal = path.with_name(path.name + "-journal")
    content = journal.read_bytes()
    writer.close()
    path.unlink()
    journal.write_bytes(content)
    assert restore(copy, path, moment=MOMENT) is None
    assert words(path) == ["one"]
    aside = path.with_name(path.name + ".2026-05-09-102000-journal")
    assert (aside.read_bytes(), journal.exists()) == (content, False)


def test_a_backup_that_is_not_sound_changes_nothing(path: Path, copy: Path) -> None:
    copy.write_bytes(copy.read_bytes().replace(b'"words":"one"', b'"words":"two"'))
    with pytest.raises(LogbookDamaged, match="not what was written"):
        restore(copy, path)
    (copy.parent / "letter").write_text("a letter home" * 100)
    with pytest.raises(LogbookDamaged, match="not a logbook"):
        restore(copy.parent / "letter", path)
    with pytest.raises(LogbookError, match="itself"):
        restore(path, path)
    assert words(path) == ["one", "two"]
    assert os.listdir(path.parent) == [path.name]


def test_an_open_window_reads_on_and_writes_nothing_more(path: Path, copy: Path) -> None:
    with Logbook.open(path) as window:
        kept = restore(copy, path)
        with pytest.raises(LogbookError, match="restored while it was open"):
            window.write(note("three"))
        assert len(window.all("note")) == 2
    assert kept is not None
    assert (words(path), words(kept)) == (["one"], ["one", "two"])


def test_a_save_in_progress_is_waited_for(
    path: Path, copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "WAIT_MS", 20)
    stranger = sqlite3.connect(path, isolation_level=None)
    stranger.execute("BEGIN IMMEDIATE")
    with pytest.raises(LogbookBusy):
        restore(copy, path)
    stranger.execute("ROLLBACK")
    stranger.close()
    assert words(path) == ["one", "two"]


def test_a_disk_without_links_keeps_the_present_file_too(
    path: Path, copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr("trackside.logbook.restore.os.link", refuse)
    kept = restore(copy, path)
    assert kept is not None
    assert (words(path), words(kept)) == (["one"], ["one", "two"])
