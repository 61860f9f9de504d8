"""A file that another program holds: saves wait in their order, and reading goes on."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from trackside.errors import LogbookBusy, LogbookError
from trackside.logbook import Logbook, put, turns
from trackside.logbook.connection import QUIET_S
from trackside.logbook.revisions import Write


def note(words: str) -> Write:
    return put("note", {"words": words})


def words_in(logbook: Logbook) -> list[str]:
    return [str(body["words"]) for _, body in logbook.all("note")]


@contextmanager
def holding(path: Path, how: str = "EXCLUSIVE") -> Iterator[sqlite3.Connection]:
    time.sleep(2 * QUIET_S)  # the file was quiet before
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute(f"BEGIN {how}")
        yield other
        if other.in_transaction:
            other.execute("ROLLBACK")


@pytest.fixture
def logbook(path: Path) -> Iterator[Logbook]:
    with Logbook.open(path, device="d") as logbook:
        logbook.write(note("before"))
        yield logbook


@pytest.mark.parametrize("how", ["IMMEDIATE", "EXCLUSIVE"])
def test_saves_wait_in_their_order_and_reads_pass_them_by(
    logbook: Logbook, path: Path, how: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(turns, "WAIT_S", 0.1)
    told: list[int] = []
    with holding(path, how):
        saves = [logbook.submit(note(str(n)), held=lambda n=n: told.append(n)) for n in range(5)]
        longest = 0.0
        for _ in range(20):
            began = time.monotonic()
            assert words_in(logbook) == ["before"]
            longest = max(longest, time.monotonic() - began)
        assert longest < 0.2
        time.sleep(0.3)  # longer than anybody else would wait
        assert not any(save.done() for save in saves)
        assert told == list(range(5))
        assert logbook.held_for > 0.3
    for save in saves:
        assert len(save.result(5)) == 1
    assert words_in(logbook) == ["before", *"01234"]
    assert logbook.held_for == 0
    assert logbook.verify().problems == ()


@pytest.mark.parametrize("how", ["IMMEDIATE", "EXCLUSIVE"])
def test_the_thread_that_paints_is_refused_soon(logbook: Logbook, path: Path, how: str) -> None:
    logbook.hurry_in(threading.get_ident())
    with holding(path, how):
        began = time.monotonic()
        with pytest.raises(LogbookBusy):
            logbook.write(note("now"))
        assert time.monotonic() - began < 0.2
        assert words_in(logbook) == ["before"]
    logbook.write(note("after"))
    assert words_in(logbook) == ["before", "after"]


def test_the_thread_that_paints_is_refused_soon_where_it_reads_beside(
    logbook: Logbook, path: Path
) -> None:
    logbook.hurry_in(threading.get_ident())
    with holding(path):
        began = time.monotonic()
        with pytest.raises(LogbookBusy):
            logbook.open_conflicts()
        assert time.monotonic() - began < 2
    assert logbook.open_conflicts() == []


def test_the_thread_that_paints_waits_for_a_reader_of_its_own_program(logbook: Logbook) -> None:
    """The look-through after the start reads page by page: that is no other window."""
    logbook.hurry_in(threading.get_ident())
    reading = threading.Event()

    def read_slowly(sql: sqlite3.Connection) -> None:
        sql.execute("BEGIN")
        sql.execute("SELECT count(*) FROM revision").fetchone()
        reading.set()
        time.sleep(3 * turns.HURRY_S)
        sql.execute("ROLLBACK")

    reader = threading.Thread(target=logbook._connection.beside, args=[read_slowly])
    reader.start()
    assert reading.wait(5)
    logbook.write(note("meanwhile"))
    reader.join()
    assert words_in(logbook) == ["before", "meanwhile"]


def test_who_is_refused_behind_a_save_that_waits_writes_nothing(
    logbook: Logbook, path: Path
) -> None:
    logbook.hurry_in(threading.get_ident())
    with holding(path):
        first = logbook.submit(note("first"))
        with pytest.raises(LogbookBusy):
            logbook.write(note("refused"))
    first.result(5)
    logbook.flush()
    assert words_in(logbook) == ["before", "first"]


def test_nothing_is_read_while_it_is_being_written(logbook: Logbook, path: Path) -> None:
    logbook.hurry_in(threading.get_ident())
    with holding(path) as other:
        assert words_in(logbook) == ["before"]
        other.execute("PRAGMA cache_size = 1")
        other.execute("CREATE TABLE other (x)")
        other.executemany("INSERT INTO other VALUES (?)", [("x" * 3000,)] * 100)
        assert Path(f"{path}-journal").exists()
        with pytest.raises(LogbookBusy):
            words_in(logbook)
        other.execute("DROP TABLE other")
        other.execute("COMMIT")
    assert words_in(logbook) == ["before"]


WRITER = """
import sqlite3, sys, time
sql = sqlite3.connect(sys.argv[1], isolation_level=None, timeout=10)
sql.execute("PRAGMA cache_size = 1")
print(flush=True)
for n in range(10_000):
    sql.execute("BEGIN EXCLUSIVE")
    sql.execute("UPDATE pair SET n = ? WHERE k < 40", (n,))
    sql.execute("UPDATE pair SET n = ? WHERE k >= 40", (n,))
    sql.execute("COMMIT")
    time.sleep(n % 7 * 0.03)
"""


def test_a_read_never_sees_half_of_what_another_program_writes(
    logbook: Logbook, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trackside.logbook.connection.QUIET_S", 0.02)
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE pair (k, n, filling)")
        other.executemany("INSERT INTO pair VALUES (?, 0, ?)", [(k, "x" * 500) for k in range(80)])
        other.commit()
    with subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE
    ) as writer:
        try:
            assert writer.stdout is not None
            writer.stdout.readline()
            seen, end = set(), time.monotonic() + 1.5
            while time.monotonic() < end:
                found = {n for (n,) in logbook._rows("SELECT n FROM pair")}
                assert len(found) == 1, found
                seen |= found
        finally:
            writer.kill()
    assert len(seen) > 2


def test_a_table_that_another_program_made_is_found_while_it_holds_the_file(
    logbook: Logbook, path: Path
) -> None:
    assert words_in(logbook) == ["before"]
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE later (x)")
        other.execute("INSERT INTO later VALUES (7)")
        other.commit()
    with holding(path):
        assert list(logbook._rows("SELECT x FROM later")) == [(7,)]
    with holding(path), pytest.raises(LogbookError, match="no such table"):
        logbook._rows("SELECT x FROM never")


def test_a_save_that_meets_a_long_reader_is_made_once(logbook: Logbook, path: Path) -> None:
    with holding(path, "DEFERRED") as other:
        other.execute("SELECT count(*) FROM revision").fetchone()
        save = logbook.submit(note("after"))
        time.sleep(0.5)
        assert not save.done()
        assert words_in(logbook) == ["before"]
    assert len(save.result(5)) == 1
    assert words_in(logbook) == ["before", "after"]


def test_leaving_names_what_another_program_kept_out(logbook: Logbook, path: Path) -> None:
    with holding(path):
        save = logbook.submit(note("late"))
        began = time.monotonic()
        logbook.close(0.3)
        assert 0.2 < time.monotonic() - began < 2
        assert isinstance(save.exception(0), LogbookBusy)
    with Logbook.open(path) as again:
        assert words_in(again) == ["before"]


def test_a_program_that_ends_waits_for_the_file(logbook: Logbook, path: Path) -> None:
    script = (
        "import sys; from trackside.logbook import Logbook, put;"
        "logbook = Logbook.open(sys.argv[1], device='w'); print(flush=True); sys.stdin.readline();"
        "logbook.submit(put('note', {'words': 'handed over'})); print(flush=True)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as writer:
        assert writer.stdout is not None
        assert writer.stdin is not None
        writer.stdout.readline()
        with holding(path):
            writer.stdin.write(b"\n")
            writer.stdin.flush()
            writer.stdout.readline()
            time.sleep(0.5)
            assert writer.poll() is None
        writer.wait(10)
    # in any order: the codes of this process are ahead of the clock after a test that set it on
    assert set(words_in(logbook)) == {"before", "handed over"}
