"""The file and the one thread that may touch it (see `turns`).

Rollback journal with synchronous=EXTRA: a commit that was acknowledged survives a power cut, and
the file can be copied whole. The write-ahead log was measured and rejected: a file copied without
its -wal loses acknowledged work.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import closing, contextmanager, suppress
from json import JSONDecodeError
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Final, TypeVar

from trackside.errors import (
    LogbookDamaged,
    LogbookError,
    LogbookFull,
    LogbookNewer,
)
from trackside.logbook import turns
from trackside.logbook.backups_beside import lost
from trackside.logbook.refusals import in_words
from trackside.logbook.schema import APPLICATION_ID, VERSION, migrate, version_of
from trackside.logbook.turns import Turn, Turns, is_held, sqlite_busy

if TYPE_CHECKING:
    from sqlite_utils import Database

T = TypeVar("T")

WAIT_MS: Final = round(turns.WAIT_S * 1000)
"""How long a connection beside the owner's waits for a file that is held."""

QUIET_S: Final = 0.05
"""After so long a change of the file has another time: far above the grain of a file's times."""

SMALL_CACHE: Final = -4096
"""The cache (kB) while a copy is made, which would fill a large one with pages nobody needs."""

JOURNAL: Final = "-journal"
"""What SQLite puts behind the name of the file that holds a save until it is whole."""

SERIALIZED: Final = 3
"""What sqlite3.threadsafety says where threads may share a connection (PEP 249)."""

_Look = tuple[int, int, int, int]
"""Device, inode, size and time of a file."""

UNSOUND: Final = (sqlite3.Error, MemoryError, JSONDecodeError, UnicodeDecodeError)
"""What reading a damaged file, or a lack of memory, comes to."""

PRAGMAS: Final = {
    "journal_mode": "delete",
    "synchronous": 3,
    "fullfsync": 1,
    "foreign_keys": 1,
    "recursive_triggers": 1,
    "busy_timeout": 0,
    "cell_size_check": 1,
    "mmap_size": 0,
    "cache_size": -4096,
    "cache_spill": 16383,
    "temp_store": 2,
}
"""What is set, and read back, at every opening. The cache is in kB. It spills into the file only
above 16,383 pages (64 MB): from then on nobody else can read until the save is whole. (SQLite takes
the number's last byte for the switch: 16,384 would be off.) A file that is held is waited for in
`turns`, where what can be done meanwhile goes on."""

OWN_READER_S: Final = 1.0
"""How long a commit waits for a thread of this program that is reading a page of the file."""


class Connection:
    """The only connection to the file, owned by a thread of its own; work is done in order."""

    def __init__(self, path: str | Path, *, read_only: bool = False) -> None:
        self.path = str(path)
        self.read_only = read_only
        self.refusal: LogbookError | None = None
        self._database: Database | None = None
        self._opened: tuple[int, int] | None = None
        self._turns = Turns(_as_error)
        self._hurried = 0
        self._still: tuple[_Look, sqlite3.Connection] | None = None
        self._closed = self._let_go = self._failed = False
        self._readers = 0
        """Threads of this program that read the file through a connection of their own."""
        self._copy: TemporaryDirectory[str] | None = None
        try:
            self._sql: sqlite3.Connection = self.call(self._open)
        except BaseException:
            self._closed = True
            self._turns.end()
            raise

    @property
    def sql(self) -> sqlite3.Connection:
        """The connection itself, for work that the owner does."""
        if not self._turns.is_mine:
            raise sqlite3.ProgrammingError("only its own thread may touch the connection")
        return self._sql

    @property
    def held_for(self) -> float:
        """Seconds for which the oldest save has been waiting for another program; 0 for none."""
        return self._turns.held_for

    def hurry_in(self, thread: int) -> None:
        """What that thread (its ident) waits for is refused soon where another holds the file."""
        self._hurried = thread

    def submit(
        self,
        work: Callable[[], T],
        *,
        held: Callable[[], object] | None = None,
        until: float | None = None,
        reads: bool = False,
    ) -> Future[T]:
        """Have the owner do `work`; the future cannot be cancelled, so no save is lost by it.

        Where another program holds the file it is done once that lets go, again from its beginning,
        until its patience ends (`until`, monotonic s); `held` is called when it begins to wait.
        What only `reads` is not held up by saves that wait.
        """
        if self._closed:
            raise _closed()
        doing = self._reading if reads else self._on_nothing_open
        return self._turns.ask(Turn(lambda: doing(work), until, reads, held))

    def _on_nothing_open(self, work: Callable[[], T]) -> T:
        """Do `work`, once a transaction is taken back that could not be when it failed."""
        if self._let_go:
            raise _closed()
        sql: sqlite3.Connection | None = getattr(self, "_sql", None)
        if sql is not None and sql.in_transaction:
            sql.execute("ROLLBACK")
        return work()

    def _reading(self, work: Callable[[], T]) -> T:
        try:
            return self._on_nothing_open(work)
        except sqlite3.Error as error:
            # while the file is held SQLite cannot look for a table that another program has made
            # meanwhile, and says that there is none
            code = getattr(error, "sqlite_errorcode", None)
            if self.path == ":memory:" or not (is_held(error) or code == sqlite3.SQLITE_ERROR):
                raise
        return self._as_it_lies(work)

    def _as_it_lies(self, work: Callable[[], T]) -> T:
        """Read without a lock, while another program has one but does not write.

        What is read is true only where nothing was written meanwhile: SQLite makes its journal
        before it changes the file, and every change gives the file another time.
        """
        before = self._look()
        if before is None:
            raise sqlite_busy()
        if self._still is None or self._still[0] != before:
            self._let_lie()
            self._still = before, self._connect(read_only=True, lock=False)
        own, self._sql = self._sql, self._still[1]
        try:
            found = work()
        except UNSOUND as error:
            if self._look() != before:
                raise sqlite_busy() from error
            raise
        finally:
            self._sql = own
        if self._look() != before:
            raise sqlite_busy()
        return found

    def _look(self) -> _Look | None:
        """How the file lies there; None where it may be being written at this moment."""
        if any(os.path.exists(self.path + suffix) for suffix in (JOURNAL, "-wal")):
            return None
        try:
            found = os.stat(self.path)
        except OSError:
            return None
        if not 0 <= found.st_mtime_ns <= time.time_ns() - QUIET_S * 1e9:
            return None
        return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns

    def _let_lie(self) -> None:
        if self._still is not None:
            self._still[1].close()
            self._still = None

    def call(self, work: Callable[[], T], *, reads: bool = False) -> T:
        """Have the owner do `work` and wait for it; errors come back as those of the logbook."""
        if self._turns.is_mine:
            return work()
        return self.submit(work, until=time.monotonic() + self._patience(), reads=reads).result()

    def _patience(self) -> float:
        """Seconds for which this thread waits for a file that another program holds."""
        return turns.HURRY_S if threading.get_ident() == self._hurried else turns.WAIT_S

    def flush(self) -> None:
        """Wait for everything that was asked for, in any thread as long as one that can wait."""
        self.submit(lambda: None, until=time.monotonic() + turns.WAIT_S).result()

    def beside(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Have `work` read through a second connection in this thread, while saves go on."""
        if self.path == ":memory:":
            return self.call(lambda: work(self.sql))
        self.call(lambda: None)  # it sees what was saved before
        self._readers += 1
        try:
            with closing(self._connect(read_only=True)) as sql:
                sql.execute(f"PRAGMA busy_timeout = {round(self._patience() * 1000)}")
                return work(sql)
        except UNSOUND as error:
            raise in_words(error) from error
        finally:
            self._readers -= 1

    def alongside(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Have `work` copy the owner's own connection from this thread, while saves go on.

        For sqlite3's backup alone: what is saved meanwhile goes into its copy by itself.
        """
        if sqlite3.threadsafety < SERIALIZED:
            return self.beside(work)
        self.call(lambda: self.sql.execute(f"PRAGMA cache_size = {SMALL_CACHE}"))
        try:
            return work(self._sql)
        except UNSOUND as error:
            raise in_words(error) from error
        finally:
            if not self._closed:
                size = PRAGMAS["cache_size"]
                self.call(lambda: self.sql.execute(f"PRAGMA cache_size = {size}"))

    @property
    def is_closed(self) -> bool:
        """Whether the file was let go of."""
        return self._closed

    def close(self, wait: float | None = None) -> None:
        """Finish what was submitted, then let go of the file; a second time does nothing. What has
        to wait for another program does so for `wait` seconds more."""
        if self._closed:
            return
        self._turns.hurry(time.monotonic() + (turns.WAIT_S if wait is None else wait))
        try:
            self._turns.ask(Turn(self._close, None)).result()
        finally:
            self._closed = True
            self._turns.end()

    def _close(self) -> None:
        """The owner's last work: what was asked for after it is refused. A transaction that could
        not be taken back for want of memory goes with the connection."""
        self._let_go = True
        self._let_lie()
        self._sql.close()
        if self._copy is not None:
            self._copy.cleanup()

    @property
    def database(self) -> Database:
        """The connection in sqlite-utils' hands, imported on first use: it costs 160 ms."""
        if self._database is None:
            from sqlite_utils import Database

            self._database = Database(self.sql, execute_plugins=False)
        return self._database

    @contextmanager
    def transaction(self) -> Iterator[sqlite3.Connection]:
        """All or nothing. BEGIN IMMEDIATE waits for another window's save before it reads."""
        if self.refusal:
            raise self.refusal
        if self.read_only:
            raise LogbookFull("The logbook is open for reading only", "open it for writing")
        database = self.database
        self._forget_what_failed()
        self.sql.execute("BEGIN IMMEDIATE")
        try:
            self._check_place()
            with database.atomic():
                yield self.sql
            self._commit()
        except BaseException:
            self._failed = True
            if self.sql.in_transaction:
                with suppress(sqlite3.Error, MemoryError):
                    self.sql.execute("ROLLBACK")
            raise

    def _wait_for_nobody(self) -> None:
        self.sql.execute(f"PRAGMA busy_timeout = {PRAGMAS['busy_timeout']}")

    def _forget_what_failed(self) -> None:
        """After a transaction that failed the index of words is read from the file again: where
        memory had run out, SQLite's FTS5 (3.40) went on with words of what was taken back, and the
        next save wrote a broken index. Loading the schema again lets go of what it had in mind."""
        if self._failed:
            self.sql.execute("PRAGMA writable_schema = RESET")
            self._wait_for_nobody()
            self._failed = False

    def _commit(self) -> None:
        """A reader is waited for here, as long as this turn can: what was done is not done twice
        for it, but where a turn has no end of patience."""
        turn = self._turns.now
        waits = turn.left if turn else turns.WAIT_S
        if self._readers:  # not another window: this program reads beside, a page at a time
            waits = max(waits, OWN_READER_S)
        self.sql.execute(f"PRAGMA busy_timeout = {round(waits * 1000)}")
        try:
            self.sql.execute("COMMIT")
        finally:
            try:
                self._wait_for_nobody()
            except (sqlite3.Error, MemoryError):
                self._failed = True  # what was committed stays so, whatever memory is left

    @property
    def displaced(self) -> LogbookError | None:
        """Why nothing more is written here: the file was moved, removed or restored meanwhile."""
        if self.path == ":memory:" or self._place() == self._opened:
            return None
        return LogbookError(
            f"{self.path} was moved, removed or restored while it was open here, so nothing "
            "more is written",
            "leave trackside and open it again",
        )

    def _check_place(self) -> None:
        """Refuse to save into a file that has lost its name: nobody would find it again."""
        if self.displaced:
            raise self.displaced

    def _place(self) -> tuple[int, int] | None:
        try:
            found = os.stat(self.path)
        except OSError:
            return None
        return found.st_dev, found.st_ino

    def _open(self) -> sqlite3.Connection:
        if self.path != ":memory:" and (error := lost(Path(self.path))):
            raise error
        if not self.read_only:
            self._make_file()
        self._sql = self._connect()
        if self.read_only:
            self._take_back()
        self._opened = self._place()
        try:
            version, application = self._pragma("user_version"), self._pragma("application_id")
            tables = self.sql.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
            known = version_of(self.sql, version, application) if tables else version
            is_empty = application != APPLICATION_ID and not tables
            if known is None or (is_empty and (version or self.read_only)):
                raise LogbookDamaged(
                    f"{self.path} is not a logbook", "name another file, or a new one"
                )
            if known > VERSION:
                self.refusal = LogbookNewer(
                    "A newer trackside wrote this logbook, so it is open for reading only",
                    "update trackside to write in it",
                )
            if self.refusal and not self.read_only:
                self.sql.close()
                self.read_only = True
                self._sql = self._connect()
            self._set_pragmas()
            marks_are_wrong = (known, APPLICATION_ID) != (version, application)
            if not self.read_only and (known < VERSION or marks_are_wrong):
                with self.transaction():
                    migrate(self.database)
        except BaseException:
            self.sql.close()
            raise
        return self._sql

    def _take_back(self) -> None:
        """A save that was cut short has to be taken back before anything can be read, and that
        needs to write. Where nothing may be written, it is taken back in a copy."""
        journal = Path(self.path + JOURNAL)
        try:
            self._sql.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            return
        except sqlite3.Error as error:
            code = getattr(error, "sqlite_errorcode", 0) & 0xFF
            if code not in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
                raise
            if not journal.exists():
                raise
        self._sql.close()
        try:
            _play(Path(self.path))
        except sqlite3.Error:
            self._copy = TemporaryDirectory(prefix="trackside-")
            there = Path(self._copy.name) / Path(self.path).name
            for suffix in ("", JOURNAL):
                shutil.copyfile(self.path + suffix, f"{there}{suffix}")
            _play(there)
        self._sql = self._connect()

    def _make_file(self) -> None:
        """A new file is for its owner alone; one that cannot be written is opened for reading."""
        if self.path == ":memory:":
            return
        try:
            Path(self.path).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            os.close(os.open(self.path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        except FileExistsError:
            if not os.access(self.path, os.W_OK) and not Path(self.path).is_dir():
                self.read_only = True
                self.refusal = LogbookFull(
                    f"{self.path} may not be written, so it is open for reading only",
                    "check who owns the file and its folder",
                )
        except OSError as error:
            raise LogbookFull(
                f"{self.path} cannot be made ({error.strerror})", "name a file in your own folder"
            ) from error

    def _connect(self, *, read_only: bool = False, lock: bool = True) -> sqlite3.Connection:
        name: str = self.path
        if name != ":memory:":
            mode = "?mode=ro" if self.read_only or read_only else ""
            mode += "" if lock else "&immutable=1"
            file = Path(self.path)
            if self._copy is not None:
                file = Path(self._copy.name) / file.name
            name = file.absolute().as_uri() + mode
        sql = sqlite3.connect(
            name,
            timeout=WAIT_MS / 1000,
            isolation_level=None,
            uri=True,
            check_same_thread=False,  # `alongside`; everything else is done by the owner
        )
        try:
            sql.create_function("casefold", 1, str.casefold, deterministic=True)
        except sqlite3.Error as error:
            sql.close()
            raise MemoryError from error  # nothing else can be lacking; Python does not say it
        return sql

    def _set_pragmas(self) -> None:
        wanted = dict(PRAGMAS)
        if self.read_only or self.path == ":memory:":
            del wanted["journal_mode"]
        for name, value in wanted.items():
            self.sql.execute(f"PRAGMA {name} = {value}").fetchall()
        for name, value in wanted.items():
            found = self._pragma(name)
            if found is not None and found != value:
                raise LogbookDamaged(
                    f"{self.path} cannot be kept safely ({name} stays {found})",
                    "close every program that has it open, then try again",
                )

    def _pragma(self, name: str) -> Any:
        row = self.sql.execute(f"PRAGMA {name}").fetchone()
        return row[0] if row else None


def _play(file: Path) -> None:
    """Have SQLite take back what a save that was cut short left in that file."""
    with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=rw", uri=True)) as sql:
        sql.execute("SELECT count(*) FROM sqlite_schema").fetchone()


def _as_error(error: BaseException) -> BaseException:
    return in_words(error) if isinstance(error, UNSOUND) else error


def _closed() -> LogbookError:
    return LogbookError("The logbook is closed", "open it again")
