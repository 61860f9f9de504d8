"""The logbook as the rest of the program sees it. Every method may be called from any thread."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, Self, TypeVar

from trackside.errors import LogbookFull, UnknownRecord
from trackside.logbook import clock as clocks
from trackside.logbook import history as past
from trackside.logbook import pitboard, projections
from trackside.logbook.backup import back_up
from trackside.logbook.connection import Connection
from trackside.logbook.fold import build, fold, leaves
from trackside.logbook.history import Entry, Undone
from trackside.logbook.merge import Line, Taken, names, take
from trackside.logbook.pitboard import SessionLine
from trackside.logbook.projections import Progress, Standing, body_of, revisions_of
from trackside.logbook.revisions import Body, Revision, Write, seal
from trackside.logbook.rotation import extent
from trackside.logbook.search import Found, search
from trackside.logbook.uuid7 import uuid7
from trackside.logbook.verify import Check, check, prove

if TYPE_CHECKING:
    from trackside.records import Record


class Imported(NamedTuple):
    """What became of a file: entities added, here already, and here but different (left so)."""

    added: int
    same: int
    left: tuple[str, ...]


T = TypeVar("T")
Step = Literal["undo", "redo"]


class Logbook:
    """One logbook file, open. Use `Logbook.open`, as a context manager or with `close`."""

    def __init__(
        self, connection: Connection, author: str, device: str, clock: Callable[[], datetime]
    ) -> None:
        self.author = author
        self.device = device
        self._clock = clock
        self._connection = connection

    @classmethod
    def open(
        cls,
        path: str | Path,
        *,
        author: str = "",
        device: str | Path | None = None,
        read_only: bool = False,
        clock: Callable[[], datetime] | None = None,
    ) -> Self:
        """Open the logbook at `path`, made when it is missing.

        `device` names this computer: the name itself, or the Path of a small file that holds it,
        made when missing; without one, undo ends when the program does. A newer file, and one
        that may not be written, opens for reading: see `read_only` and `notice`.
        LogbookDamaged, LogbookBusy and LogbookFull say why it cannot be opened.
        """
        name = _device_in(device) if isinstance(device, Path) else device or uuid7()
        return cls(Connection(path, read_only=read_only), author, name, clock or clocks.now)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def path(self) -> str:
        """The file."""
        return self._connection.path

    @property
    def read_only(self) -> bool:
        """Whether nothing can be written."""
        return self._connection.read_only

    @property
    def notice(self) -> str:
        """Why it opened for reading only, in one sentence; "" when nobody needs to be told."""
        return str(self._connection.refusal or "")

    def close(self) -> None:
        """Finish every save, then let go of the file."""
        self._connection.close()

    def flush(self) -> None:
        """Wait for every save that was submitted."""
        self._connection.call(lambda: None)

    def warm(self) -> Future[None]:
        """Import what the first save needs, ahead of it."""
        return self._connection.submit(lambda: (self._connection.database, None)[1])

    # Writing

    def write(self, *writes: Write, reason: str = "") -> list[Revision]:
        """Write all of it down, or nothing; on the disk when it returns. One step of undo."""
        return self._connection.call(lambda: self._save(writes, reason))

    def submit(self, *writes: Write, reason: str = "") -> Future[list[Revision]]:
        """As `write`, without waiting; a read asked for later sees it."""
        return self._connection.submit(lambda: self._save(writes, reason))

    def adopt(self, *puts: Write, reason: str = "") -> Imported:
        """Write down those that are new here, in one transaction, and leave the others alone."""

        def work() -> Imported:
            same, left, new = 0, [], []
            with self._connection.transaction() as sql:
                for put in puts:
                    if not past.heads(sql, put.entity):
                        new.append(put)
                    elif body_of(sql, put.entity) == build(leaves(put.body)):
                        same += 1
                    else:
                        left.append(put.entity)
                self._append(sql, tuple(new), reason, "import")
            return Imported(len(new), same, tuple(left))

        return self._connection.call(work)

    def take(self, lines: Iterable[Line], *, via: str) -> Taken:
        """Add proved revisions that are new here, in one transaction; the union of both."""

        def work() -> Taken:
            with self._connection.transaction() as sql:
                return take(sql, lines, clocks.stamp(self._clock()), via)

        return self._connection.call(work)

    def undo(self, *, entity: str | None = None, steps: int = 1) -> list[Undone]:
        """Take back this device's last saves (to one entity); [] when there is nothing left."""
        return self._connection.call(lambda: self._step("undo", entity, steps))

    def redo(self, *, entity: str | None = None, steps: int = 1) -> list[Undone]:
        """Take back the last undo, unless something fresh was written since."""
        return self._connection.call(lambda: self._step("redo", entity, steps))

    def _save(self, writes: tuple[Write, ...], reason: str, via: str = "hand") -> list[Revision]:
        with self._connection.transaction() as sql:
            return self._append(sql, writes, reason, via)

    def _append(
        self, sql: sqlite3.Connection, writes: tuple[Write, ...], reason: str, via: str
    ) -> list[Revision]:
        last = sql.execute(
            "SELECT coalesce(max(seq), 0) FROM revision WHERE device = ?", (self.device,)
        ).fetchone()[0]
        received_at = clocks.stamp(self._clock())
        touched = projections.Touched(sql)
        saved = []
        for seq, write in enumerate(writes, last + 1):
            if write.op != "put" and not write.undoes and body_of(sql, write.entity) is None:
                raise UnknownRecord(
                    f"This {write.kind} is not in the logbook", "write it down first, or undo"
                )
            heads = past.heads(sql, write.entity) if write.parents is None else write.parents
            revision, envelope = seal(
                write,
                parents=heads,
                device=self.device,
                seq=seq,
                save=last + 1,
                author=self.author if write.author is None else write.author,
                reason=write.reason or reason,
                recorded_at=write.recorded_at or received_at,
            )
            sql.execute(
                "INSERT INTO revision (rev, envelope, received_at, via) VALUES (?, ?, ?, ?)",
                (revision.rev, envelope, received_at, via),
            )
            touched.add(revision)
            saved.append(revision)
        touched.refresh()
        return saved

    def _step(self, step: Step, entity: str | None, steps: int) -> list[Undone]:
        done: list[Undone] = []
        with self._connection.transaction() as sql:
            for _ in range(steps):
                writes = []
                for revision in past.next_step(sql, self.device, step, entity):
                    known = revisions_of(sql, revision.entity)
                    write, undone = past.take_back(known, revision)
                    writes.append(write)
                    done.append(undone)
                if not writes:
                    break
                self._append(sql, tuple(writes), "", step)
        return done

    # Reading

    def _read(self, work: Callable[[sqlite3.Connection], T]) -> T:
        return self._connection.call(lambda: work(self._connection.sql))

    def state(self, entity: str) -> Body | None:
        """The body that stands for the entity; None when it is unknown or dropped."""
        return self._read(lambda sql: body_of(sql, entity))

    def kind_of(self, entity: str) -> str | None:
        """The kind of the entity, dropped or not; None when it is unknown."""
        found = self._rows("SELECT kind FROM current WHERE entity = ?", entity)
        return found[0][0] if found else None

    def record(self, entity: str) -> Record:
        """The entity as its record; UnknownRecord if there is none, BadRecord if it is at odds."""
        from trackside.records import KINDS

        kind, body = self.kind_of(entity), self.state(entity)
        if kind is None or body is None:
            raise UnknownRecord(f"There is nothing named {entity}", "look it up in the list")
        if kind not in KINDS:
            raise UnknownRecord(f"This is a {kind}, which needs a newer trackside", "update it")
        return KINDS[kind].checked(body)

    def all(self, kind: str) -> list[tuple[str, Body]]:
        """Every entity of that kind with its body, in the order of creation."""
        return self._bodies("kind = ?", kind)

    def of_session(self, kind: str, session: str) -> list[tuple[str, Body]]:
        """What of that kind belongs to the session (its body names it), in order of creation."""
        return self._bodies("kind = ? AND session = ?", kind, session)

    def notes(self, session: str) -> list[tuple[str, Body]]:
        """The driver's notes on that session."""
        return self.of_session("note", session)

    def changes(self, session: str) -> list[tuple[str, Body]]:
        """The engineer's reasons and verdicts on that session."""
        return self.of_session("change", session)

    def session_lines(
        self,
        *,
        offset: int = 0,
        limit: int | None = None,
        event: str | None = None,
        car: str | None = None,
        driver: str | None = None,
        before: str | None = None,
    ) -> list[SessionLine]:
        """The pit board, newest first; with `before`, only sessions older than that one."""
        return self._read(
            lambda sql: pitboard.lines(
                sql,
                offset=offset,
                limit=limit,
                before=before,
                event=event,
                car=car,
                driver=driver,
            )
        )

    def session_count(
        self, *, event: str | None = None, car: str | None = None, driver: str | None = None
    ) -> int:
        """How many sessions `session_lines` lists."""
        return self._read(lambda sql: pitboard.count(sql, event=event, car=car, driver=driver))

    def session_line(self, entity: str) -> SessionLine:
        """One line of the pit board; UnknownRecord if there is none."""
        return self._read(lambda sql: pitboard.line(sql, entity))

    def session(self, name: str) -> str:
        """The session that `name` means: last, last-1, its code, or 4 or more letters of its
        start or end; UnknownRecord, with what would do, if that is none or several."""
        return self._read(lambda sql: pitboard.find(sql, name))

    def readings(
        self, corner: str, field: str, *, car: str | None = None, limit: int | None = None
    ) -> list[tuple[str, str, str | None, float | None]]:
        """One value through the sessions, newest first: (session, typed, unit, SI number)."""
        return self._read(lambda sql: pitboard.readings(sql, corner, field, car=car, limit=limit))

    def session_readings(self) -> list[tuple]:
        """Every reading of every session: date, venue, car, kind, number, start, driver, session,
        corner, field, typed, unit, SI number; newest session first."""
        return self._rows("SELECT * FROM session_reading")

    def standing(self) -> list[Standing]:
        """Everything that stands, in the order of creation."""
        return self._read(projections.standing)

    def search(self, text: str, limit: int = 50) -> list[Found]:
        """Where every word of `text` occurs, best first. Any text is safe."""
        return self._read(lambda sql: search(sql, text, limit))

    def history(self, entity: str, path: str | None = None) -> list[Entry]:
        """What was changed, newest first; with `path`, of that value or section alone."""
        return past.entries(self._revisions(entity), path)

    def as_of(self, entity: str, when: str | datetime) -> Body | None:
        """The body as it was recorded by `when` (ISO text or a datetime; bare ones are UTC)."""
        moment = clocks.stamp_of(when) if isinstance(when, str) else clocks.stamp(when)
        return past.as_of(self._revisions(entity), moment)

    def conflicts(self) -> dict[str, dict[str, tuple[Any, ...]]]:
        """Values on which two laptops differ: entity to path to the values."""
        branched = self._rows("SELECT entity FROM current WHERE NOT linear ORDER BY id")
        found = {entity: fold(self._revisions(entity)).conflicts for (entity,) in branched}
        return {entity: paths for entity, paths in found.items() if paths}

    def lines(self) -> list[Line]:
        """Every revision with its envelope, in the order of arrival: what a bundle carries."""
        found = self._rows("SELECT rev, envelope FROM revision ORDER BY id")
        return [Line(*row) for row in found]

    def names(self) -> set[str]:
        """The names of all revisions that are here."""
        return self._read(names)

    def data_version(self) -> int:
        """A number that changes when another window has written."""
        return self._rows("PRAGMA data_version")[0][0]

    # Keeping

    def verify(self, progress: Progress | None = None) -> Check:
        """Recompute every hash and compare every projection with a fresh one; changes nothing.

        Where nothing can be written, the projections are not compared.
        """
        if self.read_only:
            return self._read(prove)

        def work() -> Check:
            found: Check | None = None
            try:
                with self._connection.transaction() as sql:
                    found = check(sql, progress)
                    raise _RollBack
            except _RollBack:
                assert found is not None
                return found

        return self._connection.call(work)

    def back_up(self, target: str | Path) -> None:
        """Put a proved copy of the logbook at `target`, replacing what is there only then.

        It is made in this thread: saves go on meanwhile.
        """
        self._connection.beside(lambda sql: back_up(sql, Path(target)))

    def extent(self) -> tuple[int, str]:
        """How far the logbook reaches: the number and the name of its last revision."""
        return self._read(extent)

    def rebuild(self, progress: Progress | None = None) -> None:
        """Make every projection anew from the revisions, in one transaction."""

        def work() -> None:
            with self._connection.transaction() as sql:
                projections.rebuild(sql, progress)

        self._connection.call(work)

    def _rows(self, query: str, *values: str) -> list[tuple]:
        return self._read(lambda sql: sql.execute(query, values).fetchall())

    def _revisions(self, entity: str) -> list[Revision]:
        return self._read(lambda sql: revisions_of(sql, entity))

    def _bodies(self, where: str, *values: str) -> list[tuple[str, Body]]:
        def work(sql: sqlite3.Connection) -> list[tuple[str, Body]]:
            return projections.bodies(sql, where, values)

        return self._read(work)


class _RollBack(Exception):
    """Ends a transaction that was only for looking."""


def _device_in(path: Path) -> str:
    """The name of this computer, from its file; a new one is made for a new file."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with path.open("a+", encoding="utf-8") as file:
            file.seek(0)
            name = file.read().strip()
            if not name:
                name = uuid7()
                file.write(f"{name}\n")
    except OSError as error:
        raise LogbookFull(
            f"This computer's name cannot be kept in {path} ({error.strerror})",
            "check who owns the folder of the preferences",
        ) from error
    return name
