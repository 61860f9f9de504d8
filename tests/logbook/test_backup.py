"""Copies of the logbook."""

from __future__ import annotations

import os
import stat
import threading
from pathlib import Path

import pytest

from trackside.errors import LogbookError, LogbookFull
from trackside.logbook import Logbook, backup, put


def test_a_copy_is_a_logbook_of_its_own(logbook: Logbook, tmp_path: Path) -> None:
    logbook.write(put("note", {"words": "one"}))
    target = tmp_path / "stick" / "copy.logbook"
    logbook.back_up(target)
    logbook.write(put("note", {"words": "two"}))
    with Logbook.open(target) as copy:
        assert [body["words"] for _, body in copy.all("note")] == ["one"]
        assert copy.verify()[:2] == (1, ())
    logbook.back_up(target)
    with Logbook.open(target) as copy:
        assert len(copy.all("note")) == 2
    assert os.listdir(target.parent) == ["copy.logbook"]
    if os.name == "posix":
        assert stat.S_IMODE(target.stat().st_mode) == 0o600


def test_a_copy_that_fails_leaves_the_older_one(
    logbook: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "copy.logbook"
    logbook.back_up(target)
    older = target.read_bytes()

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("trackside.logbook.atomic_file.os.fsync", refuse)
    with pytest.raises(LogbookFull, match="No space left"):
        logbook.back_up(target)
    assert target.read_bytes() == older
    assert sorted(os.listdir(tmp_path)) == ["copy.logbook", "pits"]


def test_a_copy_into_a_file_is_refused(logbook: Logbook, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(LogbookFull, match="choose another"):
        logbook.back_up(tmp_path / "file" / "copy.logbook")


def test_a_copy_comes_to_its_end_however_often_one_saves(
    logbook: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backup, "PAGES_A_STEP", 1)
    logbook.write(*(put("note", {"words": "x" * 3000}) for _ in range(900)))
    target = tmp_path / "copy.logbook"
    copying = threading.Thread(target=logbook.back_up, args=(target,))
    copying.start()
    saves = 0
    while copying.is_alive():
        logbook.write(put("note", {"words": "meanwhile"}))
        saves += 1
    copying.join()
    assert saves > 3
    with Logbook.open(target) as copy:
        assert 900 <= copy.verify().revisions <= 900 + saves
        assert copy.verify().problems == ()


def test_what_is_saved_meanwhile_is_in_the_copy(
    logbook: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite promises it for a copy through the connection that writes (its manual on
    sqlite3_backup_step, from memory)."""
    logbook.write(*(put("note", {"words": "x" * 3000}) for _ in range(300)))
    monkeypatch.setattr(backup, "PAGES_A_STEP", 1)
    saved = 0

    def save_between(_: float) -> None:
        nonlocal saved
        if saved < 20:
            logbook.write(put("note", {"words": f"meanwhile {saved}"}))
            saved += 1

    monkeypatch.setattr(backup.time, "sleep", save_between)
    logbook.back_up(tmp_path / "copy.logbook")
    with Logbook.open(tmp_path / "copy.logbook") as copy:
        assert copy.verify()[:2] == (320, ())


def test_another_windows_saves_only_delay_the_copy(
    logbook: Logbook, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    logbook.write(*(put("note", {"words": "x" * 3000}) for _ in range(100)))
    monkeypatch.setattr(backup, "PAGES_A_STEP", 8)
    monkeypatch.setattr(backup, "BEGINNINGS", 3)
    with Logbook.open(path) as other:

        def save_elsewhere(_: float) -> None:
            other.write(put("note", {"words": "elsewhere"}))

        monkeypatch.setattr(backup.time, "sleep", save_elsewhere)
        logbook.back_up(tmp_path / "copy.logbook")
        with Logbook.open(tmp_path / "copy.logbook") as copy:
            assert copy.verify().problems == ()
            assert copy.verify().revisions > 100


def test_a_copy_ends_when_the_logbook_is_closed(
    logbook: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    logbook.write(*(put("note", {"words": "x" * 3000}) for _ in range(300)))
    monkeypatch.setattr(backup, "PAGES_A_STEP", 8)
    monkeypatch.setattr(backup.time, "sleep", lambda _: logbook.close())
    (tmp_path / "stick").mkdir()
    with pytest.raises(LogbookError, match="given up"):
        logbook.back_up(tmp_path / "stick" / "copy.logbook")
    assert list((tmp_path / "stick").iterdir()) == []
