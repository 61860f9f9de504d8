"""The file and the one thread that may touch it.

Rollback journal with synchronous=EXTRA: a commit that was acknowledged survives a power cut, and
the file can be copied whole. The write-ahead log was measured and rejected: a file copied without
its -wal loses acknowledged work.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
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
from trackside.logbook.refusals import in_words
from trackside.logbook.rotation import lost
from trackside.logbook.schema import APPLICATION_ID, VERSION, migrate

if TYPE_CHECKING:
    from sqlite_utils import Database

T = TypeVar("T")

WAIT_MS: Final = 5000
"""How long a save waits for another window's."""

SMALL_CACHE: Final = -4096
"""The cache (kB) while a copy is made, which would fill a large one with pages nobody needs."""

JOURNAL: Final = "-journal"
"""What SQLite puts behind the name of the file that holds a save until it is whole."""

SERIALIZED: Final = 3
"""What sqlite3.threadsafety says where threads may share a connection (PEP 249)."""

UNSOUND: Final = (sqlite3.Error, MemoryError, JSONDecodeError, UnicodeDecodeError)
"""What reading a damaged file, or a lack of memory, comes to."""

PRAGMAS: Final = {
    "journal_mode": "delete",
    "synchronous": 3,
    "fullfsync": 1,
    "foreign_keys": 1,
    "recursive_triggers": 1,
    "busy_timeout": WAIT_MS,
    "cell_size_check": 1,
    "mmap_size": 0,
    "cache_size": -4096,
    "temp_store": 2,
}
"""What is set, and read back, at every opening. The cache is in kB."""


class Connection:
    """The only connection to the file, owned by a thread of its own; work is done in order."""

    def __init__(self, path: str | Path, *, read_only: bool = False) -> None:
        self.path = str(path)
        self.read_only = read_only
        self.refusal: LogbookError | None = None
        self._database: Database | None = None
        self._opened: tuple[int, int] | None = None
        self._owner = ThreadPoolExecutor(1, "logbook", self._remember_owner)
        self._owner_id = 0
        self._closed = self._let_go = False
        self._copy: TemporaryDirectory[str] | None = None
        try:
            self._sql: sqlite3.Connection = self.call(self._open)
        except BaseException:
            self._closed = True
            self._owner.shutdown()
            raise

    def _remember_owner(self) -> None:
        self._owner_id = threading.get_ident()

    @property
    def sql(self) -> sqlite3.Connection:
        """The connection itself, for work that the owner does."""
        if threading.get_ident() != self._owner_id:
            raise sqlite3.ProgrammingError("only its own thread may touch the connection")
        return self._sql

    def submit(self, work: Callable[[], T]) -> Future[T]:
        """Have the owner do `work`; the future cannot be cancelled, so no save is lost by it."""
        if self._closed:
            raise _closed()
        return self._submit(lambda: self._on_nothing_open(work))

    def _submit(self, work: Callable[[], T]) -> Future[T]:
        future: Future[T] = Future()
        future.set_running_or_notify_cancel()
        try:
            self._owner.submit(_settle, future, work)
        except RuntimeError as error:  # let go of meanwhile
            raise _closed() from error
        return future

    def _on_nothing_open(self, work: Callable[[], T]) -> T:
        """Do `work`, once a transaction is taken back that could not be when it failed."""
        if self._let_go:
            raise _closed()
        sql: sqlite3.Connection | None = getattr(self, "sql", None)
        if sql is not None and sql.in_transaction:
            sql.execute("ROLLBACK")
        return work()

    def call(self, work: Callable[[], T]) -> T:
        """Have the owner do `work` and wait for it; errors come back as those of the logbook."""
        if threading.get_ident() == self._owner_id:
            return work()
        return self.submit(work).result()

    def beside(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Have `work` read through a second connection in this thread, while saves go on."""
        if self.path == ":memory:":
            return self.call(lambda: work(self.sql))
        self.call(lambda: None)
        try:
            with closing(self._connect(read_only=True)) as sql:
                return work(sql)
        except UNSOUND as error:
            raise in_words(error) from error

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

    def close(self) -> None:
        """Finish what was submitted, then let go of the file; a second time does nothing."""
        if not self._closed:
            try:
                self._submit(self._close).result()
            finally:
                self._closed = True
                self._owner.shutdown()

    def _close(self) -> None:
        """The owner's last work: what was asked for after it is refused."""
        self._let_go = True
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
        self.sql.execute("BEGIN IMMEDIATE")
        try:
            self._check_place()
            with database.atomic():
                yield self.sql
            self.sql.execute("COMMIT")
        except BaseException:
            if self.sql.in_transaction:
                with suppress(sqlite3.Error, MemoryError):
                    self.sql.execute("ROLLBACK")
            raise

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
            if application != APPLICATION_ID and (tables or version or self.read_only):
                raise LogbookDamaged(
                    f"{self.path} is not a logbook", "name another file, or a new one"
                )
            if version > VERSION:
                self.refusal = LogbookNewer(
                    "A newer trackside wrote this logbook, so it is open for reading only",
                    "update trackside to write in it",
                )
            if self.refusal and not self.read_only:
                self.sql.close()
                self.read_only = True
                self._sql = self._connect()
            self._set_pragmas()
            if not self.read_only and version < VERSION:
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

    def _connect(self, *, read_only: bool = False) -> sqlite3.Connection:
        name: str = self.path
        if name != ":memory:":
            mode = "?mode=ro" if self.read_only or read_only else ""
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


def _settle(future: Future[T], work: Callable[[], T]) -> None:
    try:
        future.set_result(work())
    except UNSOUND as error:
        future.set_exception(in_words(error))
    except BaseException as error:
        future.set_exception(error)
    finally:
        del future, work  # the error's frames would keep both, and with them cursors and locks


def _play(file: Path) -> None:
    """Have SQLite take back what a save that was cut short left in that file."""
    with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=rw", uri=True)) as sql:
        sql.execute("SELECT count(*) FROM sqlite_schema").fetchone()


def _closed() -> LogbookError:
    return LogbookError("The logbook is closed", "open it again")
