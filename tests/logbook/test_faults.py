"""What goes wrong in a pit lane: power cuts, full disks, two windows, broken and newer files."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from trackside.errors import (
    LogbookBusy,
    LogbookDamaged,
    LogbookError,
    LogbookFull,
    LogbookNewer,
)
from trackside.logbook import Logbook, put, turns
from trackside.logbook.schema import VERSION


def note(words: str):
    return put("note", {"words": words})


def test_two_windows_wait_for_each_other_and_lose_nothing(path: Path) -> None:
    Logbook.open(path).close()

    def write(device: str) -> None:
        with Logbook.open(path, device=device) as logbook:
            for number in range(25):
                logbook.write(note(f"{device} {number}"))

    threads = [threading.Thread(target=write, args=(name,)) for name in ("a", "b")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with Logbook.open(path) as logbook:
        assert len(logbook.all("note")) == 50
        assert logbook.verify()[:2] == (50, ())


def test_a_save_waits_for_one_that_has_begun(path: Path) -> None:
    with Logbook.open(path) as logbook:
        logbook.warm().result()
        stranger = sqlite3.connect(path, isolation_level=None, timeout=5)
        stranger.execute("BEGIN IMMEDIATE")
        stranger.execute("CREATE TABLE other (words TEXT)")
        waiting = logbook.submit(note("after"))
        time.sleep(0.1)
        assert not waiting.done()
        stranger.execute("COMMIT")
        stranger.close()
        assert len(waiting.result(5)) == 1


def test_another_windows_save_is_noticed(path: Path) -> None:
    with Logbook.open(path) as here, Logbook.open(path) as there:
        before = here.data_version()
        here.write(note("mine"))
        assert here.data_version() == before
        there.write(note("theirs"))
        assert here.data_version() != before
        assert len(here.all("note")) == 2


def test_a_window_that_never_lets_go_is_named(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "WAIT_S", 0.05)
    with Logbook.open(path) as logbook:
        stranger = sqlite3.connect(path, isolation_level=None)
        stranger.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogbookBusy, match="Another window"):
            logbook.write(note("x"))
        stranger.execute("ROLLBACK")
        stranger.close()
        logbook.write(note("x"))
        assert len(logbook.all("note")) == 1


def test_a_full_disk_keeps_what_was_and_says_so(path: Path) -> None:
    with Logbook.open(path) as logbook:
        logbook.write(note("before"))
        pages = logbook._rows("PRAGMA page_count")[0][0]
        logbook._rows(f"PRAGMA max_page_count = {pages + 2}")
        with pytest.raises(LogbookFull, match="no room left"):
            logbook.write(*(note("x" * 5000 + str(number)) for number in range(100)))
        logbook._rows("PRAGMA max_page_count = 1000000")
        kept = len(logbook.all("note"))
        assert kept == 1
        assert logbook.verify()[:2] == (kept, ())
        logbook.write(note("after"))


@pytest.mark.skipif(sys.platform == "win32", reason="no file size limit")
def test_a_disk_that_refuses_to_grow(path: Path) -> None:
    script = """
import resource, signal, sys
from trackside.errors import LogbookFull
from trackside.logbook import Logbook, put
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with Logbook.open(sys.argv[1]) as logbook:
    logbook.write(put("note", {"words": "before"}))
    resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, resource.RLIM_INFINITY))
    try:
        while True:
            logbook.write(put("note", {"words": "x" * 20_000}))
    except LogbookFull as error:
        print(error)
"""
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)], capture_output=True, text=True, timeout=60
    )
    assert "nothing of it was saved" in done.stdout, done.stderr
    with Logbook.open(path) as logbook:
        assert logbook.verify().problems == ()
        assert logbook.all("note")[0][1] == {"words": "before"}


def test_a_newer_file_opens_for_reading(path: Path) -> None:
    with Logbook.open(path) as logbook:
        [saved] = logbook.write(note("from here"))
    stranger = sqlite3.connect(path)
    stranger.execute(f"PRAGMA user_version = {VERSION + 1}")
    stranger.execute("ALTER TABLE session_line ADD COLUMN mood TEXT")
    stranger.close()
    with Logbook.open(path) as logbook:
        assert logbook.read_only
        assert "newer trackside" in logbook.notice
        assert logbook.state(saved.entity) == {"words": "from here"}
        assert logbook.session_lines() == []
        for refused in (lambda: logbook.write(note("x")), logbook.undo, logbook.rebuild):
            with pytest.raises(LogbookNewer, match="update trackside"):
                refused()


def test_open_for_reading_only(path: Path) -> None:
    with pytest.raises(LogbookFull, match="cannot be opened"):
        Logbook.open(path, read_only=True)
    assert not path.exists()
    with Logbook.open(path) as logbook:
        logbook.write(note("x"))
    with Logbook.open(path, read_only=True) as logbook:
        assert len(logbook.all("note")) == 1
        assert logbook.verify()[:2] == (1, ())
        assert (logbook.read_only, logbook.notice) == (True, "")
        with pytest.raises(LogbookFull, match="reading only"):
            logbook.write(note("y"))


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write")
def test_a_file_that_may_not_be_written_opens_for_reading(path: Path) -> None:
    Logbook.open(path).close()
    path.chmod(0o400)
    with Logbook.open(path) as logbook:
        assert logbook.read_only
        assert "may not be written" in logbook.notice


@pytest.mark.parametrize(
    "content", [b"not a database at all, but a letter home" * 30, b"\x00" * 5000, b"short"]
)
def test_a_file_of_something_else_is_refused_and_left_alone(path: Path, content: bytes) -> None:
    path.parent.mkdir()
    path.write_bytes(content)
    with pytest.raises(LogbookDamaged, match="not a logbook"):
        Logbook.open(path)
    assert path.read_bytes() == content


def test_another_programs_database_is_refused_and_left_alone(path: Path) -> None:
    path.parent.mkdir()
    stranger = sqlite3.connect(path)
    stranger.execute("CREATE TABLE recipes (name TEXT)")
    stranger.close()
    content = path.read_bytes()
    with pytest.raises(LogbookDamaged, match="not a logbook"):
        Logbook.open(path)
    assert path.read_bytes() == content


def test_a_folder_is_no_logbook(tmp_path: Path) -> None:
    with pytest.raises(LogbookError):
        Logbook.open(tmp_path)
    with pytest.raises(LogbookFull):
        Logbook.open(tmp_path / "file" / "x" / ("n" * 300))


@pytest.mark.parametrize("keep", [0.3, 0.6, 0.95])
def test_a_torn_file_gives_a_sentence_never_a_wrong_answer(path: Path, keep: float) -> None:
    with Logbook.open(path) as logbook:
        logbook.write(*(note(f"{number} " + "x" * 200) for number in range(200)))
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * keep)])
    with pytest.raises(LogbookDamaged, match="damaged"):
        _read_whole(path)


def _read_whole(path: Path) -> None:
    with Logbook.open(path) as logbook:
        assert len(logbook.all("note")) == 200
        logbook.verify()


def test_flipped_bits_in_what_was_written_are_noticed(path: Path) -> None:
    with Logbook.open(path) as logbook:
        logbook.write(note("rebound two clicks harder"))
    content = bytearray(path.read_bytes())
    start = content.index(b"rebound two clicks harder")
    while start >= 0:
        content[start] ^= 1
        start = content.find(b"rebound two clicks harder")
    path.write_bytes(content)
    with Logbook.open(path) as logbook:
        assert "Revision 1 is not what was written down." in logbook.verify().problems


def test_opening_and_listing_needs_neither_sqlite_utils_nor_pydantic(path: Path) -> None:
    Logbook.open(path).close()
    script = """
import sys
from trackside.logbook import Logbook
with Logbook.open(sys.argv[1]) as logbook:
    logbook.session_lines(limit=50)
print([name for name in ("sqlite_utils", "pydantic", "numpy", "textual") if name in sys.modules])
"""
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
