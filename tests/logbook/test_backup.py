"""Copies of the logbook."""

from __future__ import annotations

import os
import stat
import threading
from pathlib import Path

import pytest

from trackside.errors import LogbookFull
from trackside.logbook import Logbook, backup, put


def test_a_copy_is_a_logbook_of_its_own(logbook: Logbook, tmp_path: Path) -> None:
    logbook.write(put("note", {"words": "one"}))
    target = tmp_path / "stick" / "copy.logbook"
    logbook.back_up(target)
    logbook.write(put("note", {"words": "two"}))
    with Logbook.open(target) as copy:
        assert [body["words"] for _, body in copy.all("note")] == ["one"]
        assert copy.verify() == (1, ())
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

    monkeypatch.setattr("trackside.logbook.files.os.fsync", refuse)
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
