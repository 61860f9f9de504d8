"""Going back to a backup: the present file is kept, and no window writes into a lost one."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from trackside.errors import LogbookBusy, LogbookDamaged, LogbookError
from trackside.logbook import Logbook, connection, put
from trackside.logbook import restore as module
from trackside.logbook.restore import restore
from trackside.logbook.rotation import keep_backups

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


def test_half_typed_words_undo_and_the_name_of_the_computer_outlive_it(
    path: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.trackside"
    with Logbook.open(path, device="d") as logbook:
        [one] = logbook.write(note("one"))
        logbook.back_up(copy)
        [two] = logbook.write(note("two"))
        logbook.keep_draft(one.entity, "words", "one and a ha").result()
        stick = logbook.lines()
    assert restore(copy, path, device="d")
    with Logbook.open(path, device="d") as logbook:
        assert [draft.text for draft in logbook.drafts()] == ["one and a ha"]
        [three] = logbook.write(note("three"))
        assert (three.seq, three.device == "d") == (1, False)
        assert logbook.history(three.entity)[0].device == "d"
        assert logbook.verify().problems == ()
        assert logbook.take(stick, via="bundle") == (1, len(stick) - 1, ())
        assert logbook.verify().problems == ()
        assert [undone.entity for undone in logbook.undo(steps=2)] == [three.entity, two.entity]
        assert [undone.entity for undone in logbook.redo(steps=2)] == [two.entity, three.entity]


def test_another_computer_that_wrote_more_gives_no_number_out_twice(
    path: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.trackside"
    with Logbook.open(path, device="d") as logbook:
        logbook.write(note("one"))
        logbook.back_up(copy)
    with Logbook.open(path, device="e") as other:
        lost = other.write(note("two"))
    restore(copy, path, device="d")
    with Logbook.open(path, device="e") as other:
        [again] = other.write(note("three"))
    assert (again.device, again.seq) != (lost[0].device, lost[0].seq)


@pytest.mark.skipif(os.name != "posix", reason="links")
def test_a_link_is_followed(path: Path, copy: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.trackside"
    link.symlink_to(path)
    kept = restore(copy, link)
    assert link.is_symlink()
    assert kept is not None
    assert kept.parent == path.parent
    assert (words(path), words(kept)) == (["one"], ["one", "two"])


@pytest.mark.parametrize("what", ["gone", "empty"])
def test_a_logbook_that_is_gone_offers_its_backups(path: Path, what: str) -> None:
    with Logbook.open(path) as logbook:
        logbook.write(note("one"))
        made = keep_backups(logbook)
    path.unlink()
    if what == "empty":
        path.touch()
    for read_only in (False, True):
        with pytest.raises(LogbookError, match="restore") as told:
            Logbook.open(path, read_only=read_only)
        assert str(made) in str(told.value)
        assert path.exists() == (what == "empty")
    restore(made, path)
    assert words(path) == ["one"]


BREAK_OFF = """
import os, sqlite3, sys
sql = sqlite3.connect(sys.argv[1], isolation_level=None)
sql.execute("PRAGMA cache_size = 1")
sql.execute("BEGIN IMMEDIATE")
sql.execute("UPDATE current SET reason = ?", ("x" * 3000,))
sql.execute("DELETE FROM words")
os._exit(9)
"""
"""A save that is cut short after SQLite has begun to change the file."""


@pytest.fixture
def cut_short(path: Path) -> Path:
    with Logbook.open(path, device="d") as logbook:
        for number in range(60):
            logbook.write(note(f"loose {number}"))
    subprocess.run([sys.executable, "-c", BREAK_OFF, str(path)], check=False)
    assert path.with_name(f"{path.name}-journal").exists()
    return path


def test_reading_takes_back_a_save_that_was_cut_short(cut_short: Path) -> None:
    assert len(words(cut_short)) == 60
    assert not cut_short.with_name(f"{cut_short.name}-journal").exists()


def test_where_nothing_may_be_written_reading_goes_on_in_a_copy(
    cut_short: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = connection._play

    def refuse(file: Path) -> None:
        if file == cut_short:
            raise sqlite3.OperationalError("attempt to write a readonly database")
        play(file)

    before = cut_short.read_bytes()
    monkeypatch.setattr(connection, "_play", refuse)
    assert len(words(cut_short)) == 60
    assert cut_short.read_bytes() == before
