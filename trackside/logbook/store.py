"""The logbook as the rest of the program sees it. Every method may be called from any thread."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Literal, NamedTuple, Self, TypeVar

from trackside.errors import LogbookError, LogbookFull, UnknownRecord
from trackside.logbook import clock as clocks
from trackside.logbook import drafts as half_typed
from trackside.logbook import history as past
from trackside.logbook import projections, twins
from trackside.logbook.backup import apart, back_up
from trackside.logbook.conflicts import Branched, decision
from trackside.logbook.connection import Connection
from trackside.logbook.drafts import Draft
from trackside.logbook.fold import normal
from trackside.logbook.history import Undone
from trackside.logbook.identity import move_on, names_of, own_name, written_until
from trackside.logbook.lap_lookup import SessionsWithLaps
from trackside.logbook.merge import Line, MergeResult, take
from trackside.logbook.projections import Progress, body_of, revisions_of
from trackside.logbook.proof import Proof
from trackside.logbook.reader import Reader
from trackside.logbook.revisions import LONGEST_NAME, Body, Revision, Write, seal, unveiled
from trackside.logbook.twins import TWICE
from trackside.logbook.unread import UnreadRecords
from trackside.logbook.uuid7 import uuid7
from trackside.logbook.verify import Check, check, differing, let_saves_through
from trackside.units import one_line


class Imported(NamedTuple):
    """What became of a file: entities added, here already, and here but different (left so)."""

    added: int
    same: int
    left: tuple[str, ...]


T = TypeVar("T")
Step = Literal["undo", "redo"]


class Logbook(Reader):
    """One logbook file, open. Use `Logbook.open`, as a context manager or with `close`."""

    def __init__(
        self, connection: Connection, author: str, device: str, clock: Callable[[], datetime]
    ) -> None:
        self.author = author
        self.device = device
        self._clock = clock
        self._connection = connection
        self._branched = Branched()
        self._with_laps = SessionsWithLaps()
        self.unread = UnreadRecords()
        self._proof = Proof(self.unread)
        self._seen: dict[str, tuple[str, ...]] = {}
        """The heads of what was taken up here: what is written to it next stands above them alone,
        and beside what another window has written since."""

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
        name = device_in(device) if isinstance(device, Path) else _name_in(device or "") or uuid7()
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

    @property
    def displaced(self) -> str:
        """Why nothing more can be written, in one sentence, when another file took this one's
        place (a backup was restored); else ""."""
        return str(self._connection.displaced or "")

    def close(self, wait: float | None = None) -> None:
        """Finish every save, then let go of the file; what another program holds up is waited for
        `wait` seconds (None: five)."""
        self._connection.close(wait)

    def flush(self) -> None:
        """Wait for every save that was submitted; LogbookBusy where the file stays held."""
        self._connection.flush()

    def hurry_in(self, thread: int) -> None:
        """That thread (its ident) paints: where the file is held it waits for no more than 0.1 s,
        then LogbookBusy."""
        self._connection.hurry_in(thread)

    @property
    def held_for(self) -> float:
        """Seconds for which a save has been waiting for another program; 0 when none is."""
        return self._connection.held_for

    def warm(self) -> Future[None]:
        """Import what the first save needs, ahead of it."""
        return self._connection.submit(lambda: (self._connection.database, None)[1], reads=True)

    def take_up(self, entity: str) -> Body | None:
        """The body that stands for the entity, for a person to see and change.

        What is written to it from now on stands above what was read, never above what another
        window wrote meanwhile: two values for one place become a conflict, and none is lost.
        """

        def work(sql: sqlite3.Connection) -> Body | None:
            self._seen[entity] = past.heads(sql, entity)
            return self._proof.body(sql, entity)

        return self._read(work)

    # Writing

    def write(self, *writes: Write, reason: str = "") -> list[Revision]:
        """Write all of it down, or nothing; on the disk when it returns. One step of undo."""
        return self._kept(lambda sql: self._append(sql, writes, reason, "hand"))

    def submit(
        self,
        *writes: Write,
        reason: str = "",
        drop_drafts: Iterable[tuple[str, str]] = (),
        held: Callable[[], object] | None = None,
    ) -> Future[list[Revision]]:
        """As `write`, without waiting; a read asked for later sees it.

        With it go the drafts (entity, path) that it was made from. Where another program holds the
        file it waits for as long as that takes, reads pass it by, and `held` is called in the
        logbook's thread.
        """
        places = tuple(drop_drafts)

        def work(sql: sqlite3.Connection) -> list[Revision]:
            saved = self._append(sql, writes, reason, "hand")
            for entity, path in places:
                half_typed.drop(sql, self.device, entity, path)
            return saved

        return self._connection.submit(lambda: self._done(work), held=held)

    def adopt(self, *puts: Write, reason: str = "") -> Imported:
        """Write down those that are new here, in one transaction, and leave the others alone."""

        def work(sql: sqlite3.Connection) -> Imported:
            same, left, new = 0, [], []
            for put in puts:
                if not past.heads(sql, put.entity):
                    new.append(put)
                elif body_of(sql, put.entity) == normal(put.body):
                    same += 1
                else:
                    left.append(put.entity)
            self._append(sql, tuple(new), reason, "import")
            return Imported(len(new), same, tuple(left))

        return self._kept(work)

    def take(self, lines: Iterable[Line], *, via: str) -> MergeResult:
        """Add proved revisions that are new here, in one transaction; the union of both. What
        cannot be of the computer that it names is held back, with a sentence: see `quarantine`."""

        received_at = clocks.stamp(self._clock())
        return self._kept(lambda sql: take(sql, lines, received_at, via))

    def move_on(self) -> str:
        """Write under a new name in this logbook from now on: another computer, with a copy of this
        one's home, writes under the present one. The new name; undo and drafts stay."""
        return self._kept(lambda sql: move_on(sql, self.device))

    def within(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Do `work` in one transaction; for rooms of the logbook that keep more than revisions."""
        return self._kept(work)

    def look(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Have `work` read, outside of a transaction; for rooms of the logbook."""
        return self._read(work)

    def settle(
        self, entity: str, values: Body, reason: str = "", *, between: Iterable[str] = ()
    ) -> list[Revision]:
        """Decide conflicts of an entity: path to the value that holds, either version's or another.

        The path "" takes "kept" or "dropped"; the path TWICE one of the twins, or another name for
        the second (see `twins.decision`). `between` names the versions (their `rev`) that were
        looked at. BadInput where nothing is in dispute, or another version has come in since.
        """
        looked_at = frozenset(between)

        def work(sql: sqlite3.Connection) -> list[Revision]:
            writes: tuple[Write, ...]
            if TWICE in values:
                found = (one for one in self._twins(sql) if one.entities[0] == entity)
                writes = twins.decision(sql, next(found, None), values[TWICE], looked_at)
            else:
                writes = (decision(sql, entity, values, looked_at),)
            return self._append(sql, writes, reason, "settle")

        return self._kept(work)

    def keep_draft(
        self, entity: str, path: str, text: str, held: Callable[[], object] | None = None
    ) -> Future[None]:
        """Keep what is half typed in a field, without waiting; empty text lets it go. `held` as in
        `submit`."""
        draft = Draft(entity, path, text, clocks.stamp(self._clock()))

        def work(sql: sqlite3.Connection) -> None:
            if text:
                half_typed.keep(sql, self.device, draft)
            else:
                half_typed.drop(sql, self.device, entity, path)

        return self._connection.submit(lambda: self._done(work), held=held)

    def undo(self, *, entity: str | None = None, steps: int = 1) -> list[Undone]:
        """Take back this device's last saves (to one entity); [] when there is nothing left."""
        return self._kept(lambda sql: self._step(sql, "undo", entity, steps))

    def redo(self, *, entity: str | None = None, steps: int = 1) -> list[Undone]:
        """Take back the last undo, unless something fresh was written since."""
        return self._kept(lambda sql: self._step(sql, "redo", entity, steps))

    def preview_undo(self, *, entity: str | None = None, steps: int = 1) -> list[Undone]:
        """What `undo` would do now; nothing is changed."""
        return self._tried(lambda sql: self._step(sql, "undo", entity, steps))

    def preview_redo(self, *, entity: str | None = None, steps: int = 1) -> list[Undone]:
        """What `redo` would do now; nothing is changed."""
        return self._tried(lambda sql: self._step(sql, "redo", entity, steps))

    def _kept(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Do `work` in one transaction."""
        return self._connection.call(lambda: self._done(work))

    def _tried(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Do `work` in one transaction, and take it back: only to see what comes of it."""

        def tried() -> T:
            found: list[T] = []
            with suppress(_RollBack), self._transaction() as sql:
                found.append(work(sql))
                raise _RollBack
            return found[0]

        return self._connection.call(tried)

    def _done(self, work: Callable[[sqlite3.Connection], T]) -> T:
        with self._transaction() as sql:
            return work(sql)

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        seen = dict(self._seen)
        try:
            with self._connection.transaction() as sql:
                yield sql
        except BaseException:
            self._seen = seen
            raise

    def _append(
        self, sql: sqlite3.Connection, writes: tuple[Write, ...], reason: str, via: str
    ) -> list[Revision]:
        device, last, before = own_name(sql, self.device)
        received_at = clocks.stamp(self._clock())
        touched = projections.Touched(sql)
        saved = []
        for seq, write in enumerate(writes, last + 1):
            if write.op != "put" and not write.undoes and body_of(sql, write.entity) is None:
                raise UnknownRecord(
                    f"This {write.kind} is not in the logbook", "write it down first, or undo"
                )
            revision, envelope = seal(
                write,
                parents=self._parents(sql, write, via),
                device=device,
                seq=seq,
                save=last + 1,
                author=self.author if write.author is None else write.author,
                reason=write.reason or reason,
                recorded_at=write.recorded_at or received_at,
                before=before,
            )
            before = revision.rev
            sql.execute(
                "INSERT INTO revision (rev, envelope, received_at, via) VALUES (?, ?, ?, ?)",
                (revision.rev, envelope, received_at, via),
            )
            touched.add(revision)
            saved.append(revision)
            if write.entity in self._seen:
                self._seen[write.entity] = (revision.rev,)
        touched.refresh()
        return saved

    def _parents(self, sql: sqlite3.Connection, write: Write, via: str) -> tuple[str, ...]:
        """What a write stands above: what was seen, where a hand writes; else all there is."""
        if write.parents is not None:
            return write.parents
        seen = self._seen.get(write.entity) if via == "hand" else None
        return seen or past.heads(sql, write.entity)

    def _step(
        self, sql: sqlite3.Connection, step: Step, entity: str | None, steps: int
    ) -> list[Undone]:
        done: list[Undone] = []
        for _ in range(steps):
            writes = []
            for revision in past.next_step(sql, names_of(sql, self.device), step, entity):
                write, undone = past.take_back(revisions_of(sql, revision.entity), revision)
                writes.append(write)
                done.append(undone)
            if not writes:
                break
            self._append(sql, tuple(writes), "", step)
        return done

    # Keeping

    def ahead_of_clock(self) -> str:
        """The latest moment (as `clock.stamp` writes it) at which this computer wrote, where its
        clock is behind that now: it was set back, or was ahead then. "" where it is not.

        New identifiers then count on from that moment, so that what is new sorts as the newest.
        """
        latest = self._read(lambda sql: written_until(sql, self.device))
        if latest <= clocks.stamp(self._clock() + clocks.STEP):
            return ""
        uuid7(clocks.milliseconds(latest))
        return latest

    def verify(self, progress: Progress | None = None) -> Check:
        """Recompute every hash and compare every table with what the revisions say.

        It looks at a copy of this moment, also where nothing can be written: no save waits for it.
        """

        def work(sql: sqlite3.Connection) -> Check:
            with apart(sql) as copy:
                return check(copy, progress)

        return self._connection.beside(work)

    def look_through(self) -> tuple[str, ...]:
        """The same of the tables alone, in this thread and with pauses: what pages show and the
        revisions do not say, one sentence each. LogbookError when the logbook is closed."""
        connection = self._connection

        def pause(records: int) -> None:
            if connection.is_closed:
                raise LogbookError("The logbook was closed", "open it again")
            let_saves_through(records)

        return connection.beside(lambda sql: tuple(differing(sql, pause=pause)))

    def back_up(self, target: str | Path) -> None:
        """Put a proved copy of the logbook at `target`, replacing what is there only then.

        It is made in this thread: saves go on meanwhile.
        """
        connection = self._connection
        connection.alongside(
            lambda sql: back_up(sql, Path(target), given_up=lambda: connection.is_closed)
        )

    def rebuild(self, progress: Progress | None = None) -> None:
        """Make every projection anew from the revisions, in one transaction."""

        self._kept(lambda sql: projections.rebuild(sql, progress))


class _RollBack(Exception):
    """Ends a transaction that was only for looking."""


def _for_its_owner(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _name_in(text: str) -> str:
    """As much of it as other laptops take for a computer's name."""
    return one_line(unveiled(one_line(text)))[:LONGEST_NAME]


def device_in(path: Path) -> str:
    """The name of this computer, from its file; a new one is made for a new file."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with open(path, "a+", encoding="utf-8", errors="replace", opener=_for_its_owner) as file:
            file.seek(0)
            name = _name_in(file.read(LONGEST_NAME))
            if not name:
                name = uuid7()
                file.write(f"{name}\n")
    except OSError as error:
        raise LogbookFull(
            f"This computer's name cannot be kept in {path} ({error.strerror})",
            "check who owns the folder of the preferences",
        ) from error
    return name
