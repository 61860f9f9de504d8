"""What is read from the logbook: bodies, the pit board, history, words, conflicts."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, TypeVar

from trackside.errors import BadRecord, UnknownRecord
from trackside.logbook import clock as clocks
from trackside.logbook import drafts as half_typed
from trackside.logbook import history as past
from trackside.logbook import pitboard, projections, run_columns
from trackside.logbook.conflicts import Branched, Conflict, conflicts, entered_twice, open_conflicts
from trackside.logbook.connection import Connection
from trackside.logbook.drafts import Draft
from trackside.logbook.history import Entry
from trackside.logbook.identity import names_of
from trackside.logbook.lap_lookup import SessionsWithLaps, lap_columns
from trackside.logbook.last_read import Asked, LastRead, last_read
from trackside.logbook.merge import Line, extent, names
from trackside.logbook.pitboard import EventGroup, SessionLine
from trackside.logbook.projections import CurrentState, heads_in, proved_revisions
from trackside.logbook.proof import Proof
from trackside.logbook.revisions import Body, Revision
from trackside.logbook.run_columns import RunWords, Said, Value
from trackside.logbook.search import Found, search
from trackside.logbook.twins import NAMED, Twins, name_of, sessions_twice, twins_among
from trackside.logbook.unread import UnreadRecords

if TYPE_CHECKING:
    from trackside.logbook.driven import Driven
    from trackside.records import Record, Session

R = TypeVar("R", bound="Record")

T = TypeVar("T")

AT_ONCE: Final = 200
"""Records read in one go where all of them are wanted."""

PAGE = 50
"""Sessions that are read at a time."""


class Reader:
    """The half of a logbook that only looks. Every method may be called from any thread."""

    device: str
    unread: UnreadRecords
    """What was met and cannot be read, or not wholly."""
    _connection: Connection
    _branched: Branched
    _with_laps: SessionsWithLaps
    _proof: Proof
    _begun = False
    _twins_to: tuple[tuple[int, str], list[Twins]] = (-1, ""), []
    """How far the logbook reached when it was last looked at for what was entered twice, and what
    was found."""

    def _read(self, work: Callable[[sqlite3.Connection], T]) -> T:
        return self._connection.call(lambda: work(self._connection.sql), reads=True)

    def in_one_turn(self, work: Callable[[], T]) -> T:
        """Do `work`, which asks several things, in one turn of the thread that owns the file: none
        of them waits for its own, and nothing is saved between them."""
        return self._connection.call(work, reads=True)

    def state(self, entity: str) -> Body | None:
        """The body that stands for the entity, its links followed to the records that hold (see
        `links`); None when it is unknown or dropped."""
        return self._read(lambda sql: self._proof.body(sql, entity))

    def kind_of(self, entity: str) -> str | None:
        """The kind of the entity, dropped or not; None when it is unknown."""
        found = self._rows("SELECT kind FROM current WHERE entity = ?", entity)
        return found[0][0] if found else None

    def record(self, entity: str) -> Record:
        """The entity as its record, as far as it can be read (see `unread`); UnknownRecord if there
        is none, BadRecord if nothing of it can be read."""
        kind, body = self.kind_of(entity), self.state(entity)
        if kind is None or body is None:
            raise UnknownRecord(f"There is nothing named {entity}", "look it up in the list")
        return self.as_record(kind, entity, body)

    def as_record(self, kind: str, entity: str, body: Body) -> Record:
        """The same, of a body that is at hand."""
        from trackside.records import KINDS

        if kind not in KINDS:
            raise UnknownRecord(f"This is a {kind}, which needs a newer trackside", "update it")
        try:
            record, why = KINDS[kind].as_far_as_read(body)
        except BadRecord as error:
            self.unread.take(kind, entity, body, [str(error)], whole=True)
            raise
        self.unread.take(kind, entity, body, why, whole=False)
        return record

    def session_record(self, entity: str, body: Body | None = None) -> Session:
        """That session, as far as it can be read; an empty one where it was dropped meanwhile."""
        from trackside.records import Session

        if body is None:
            found = self.state(entity)
        else:
            found = self._read(lambda sql: self._proof.followed(sql, body))
        record = Session() if found is None else self.as_record("session", entity, found)
        assert isinstance(record, Session)
        return record

    def records(self, model: type[R], kind: str, session: str = "") -> list[tuple[str, R]]:
        """Every record of that kind (of that session), in the order of creation, as far as each can
        be read. What cannot be is named in `unread`, and takes nothing else away."""
        found = []
        bodies = self.of_session(kind, session) if session else self.all(kind)
        self.unread.stand(kind, session, {entity for entity, _ in bodies})
        for entity, body in bodies:
            with suppress(BadRecord):
                record = self.as_record(kind, entity, body)
                assert isinstance(record, model)
                found.append((entity, record))
        return found

    def session_records(self, entities: Iterable[str]) -> list[tuple[str, Session]]:
        """These sessions, in that order, as far as each can be read; one that was dropped meanwhile
        is empty. What cannot be read is named in `unread`, and takes nothing else away."""
        found = []
        for entity in entities:
            with suppress(BadRecord):
                found.append((entity, self.session_record(entity)))
        return found

    def driven(self, car: str, since: str = "") -> list[Driven]:
        """What each run of that car came to, newest first, of events and days from `since` on: for
        a sum of very many."""
        from trackside.logbook.driven import driven, of_record

        found, doubtful = self._read(lambda sql: driven(sql, car, since))
        for entity in doubtful:
            with suppress(BadRecord, UnknownRecord):
                line = self.session_line(entity)
                found.append(of_record(entity, line.sort_key, self.session_record(entity)))
        return sorted(found, key=lambda one: (one.sort_key, one.entity), reverse=True)

    def all(self, kind: str) -> list[tuple[str, Body]]:
        """Every entity of that kind with its body, in the order of creation, the same on every
        laptop."""
        return self._bodies("kind = ?", kind)

    def once(self, kind: str) -> list[tuple[str, Body]]:
        """The same, and of what laptops entered twice only the one that counts: for looking a
        record up by its name."""
        aside = self.doubles(kind)
        return [(entity, body) for entity, body in self.all(kind) if entity not in aside]

    def doubles(self, kind: str) -> dict[str, str]:
        """Records of that kind that were entered again on another laptop, each with the one that
        counts until a person decides; of every kind that has names (`twins.NAMED`)."""
        found = self._read(lambda sql: self._twins_of(sql, kind))
        return {entity: one.entities[0] for one in found for entity in one.entities[1:]}

    def _twins_of(self, sql: sqlite3.Connection, kind: str) -> list[Twins]:
        bodies = self._proof.bodies(sql, "kind = ?", (kind,))
        named = ((entity, name_of(kind, body)) for entity, body in bodies)
        return twins_among(sql, kind, ((entity, name) for entity, name in named if name))

    def _twins(self, sql: sqlite3.Connection) -> list[Twins]:
        """Everything that was entered twice; looked for again when something was written."""
        last = extent(sql)
        if last != self._twins_to[0]:
            found = [
                one for kind in NAMED if kind != "session" for one in self._twins_of(sql, kind)
            ]
            same = {entity: one.entities[0] for one in found for entity in one.entities}
            self._twins_to = last, [*found, *sessions_twice(sql, same)]
        return self._twins_to[1]

    def newest(self, kind: str) -> str:
        """The entity of that kind that was written down last; "" when there is none."""
        found = self._rows(
            "SELECT entity FROM current WHERE kind = ? ORDER BY id DESC LIMIT 1", kind
        )
        return found[0][0] if found else ""

    def of_session(self, kind: str, session: str) -> list[tuple[str, Body]]:
        """What of that kind belongs to the session (its body names it), in order of creation."""
        return self._read(lambda sql: self._proof.of_session(sql, kind, session))

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
            lambda sql: self._proof.lines(
                sql,
                pitboard.lines(
                    sql,
                    offset=offset,
                    limit=limit,
                    before=before,
                    event=event,
                    car=car,
                    driver=driver,
                ),
            )
        )

    def each_session(
        self, *, car: str | None = None, driver: str | None = None, before: str | None = None
    ) -> Iterator[SessionLine]:
        """The same, read a page at a time: for a search that may end early."""
        while page := self.session_lines(car=car, driver=driver, before=before, limit=PAGE):
            yield from page
            before = page[-1].entity

    def session_groups(self, newest: int | None = None) -> list[EventGroup]:
        """The events of the pit board, newest first, with how many sessions each has; with `newest`
        only the events of so many newest sessions."""
        return self._read(lambda sql: pitboard.groups(sql, newest))

    def session_names(self, newest: int | None = None) -> tuple[tuple[str, str], ...]:
        """The cars with their drivers on the pit board; with `newest` those of so many newest
        sessions."""
        return self._read(lambda sql: self._proof.names(sql, pitboard.names(sql, newest)))

    def events_waiting(self, newest: int | None = None) -> list[str]:
        """The events that have no session yet, in the order of creation; with `newest` only
        those among so many that came in last."""
        return self._read(lambda sql: self._proof.waiting(sql, pitboard.waiting(sql, newest)))

    def session_entities(self, car: str) -> list[str]:
        """Every session of that car, newest first."""
        return self._read(lambda sql: pitboard.entities(sql, car))

    def unfinished(self) -> int:
        """How many sessions want something yet."""
        return self._read(lambda sql: pitboard.unfinished(sql, self._with_laps))

    def next_planned(self, now: str) -> SessionLine | None:
        """The planned session that begins next on that day (YYYY-MM-DD HH:MM); None where there is
        none."""
        found = self._read(lambda sql: self._proof.lines(sql, pitboard.next_planned(sql, now)))
        return found[0] if found else None

    def timed_on(self, day: str) -> list[SessionLine]:
        """The sessions that begin at a time on that day (YYYY-MM-DD), newest first."""
        return self._read(lambda sql: self._proof.lines(sql, pitboard.timed_on(sql, day)))

    def session_place(self, entity: str) -> int | None:
        """How many sessions of its event stand above it; None if it is not listed."""
        return self._read(lambda sql: pitboard.place(sql, entity))

    def session_count(
        self, *, event: str | None = None, car: str | None = None, driver: str | None = None
    ) -> int:
        """How many sessions `session_lines` lists."""
        return self._read(lambda sql: pitboard.count(sql, event=event, car=car, driver=driver))

    def session_line(self, entity: str) -> SessionLine:
        """One line of the pit board; UnknownRecord if there is none."""

        def work(sql: sqlite3.Connection) -> SessionLine:
            found = pitboard.line(sql, entity)
            return self._proof.line(sql, found) or found

        return self._read(work)

    def session(self, name: str) -> str:
        """The session that `name` means: last, last-1, its code, or 4 or more letters of its
        start or end; UnknownRecord, with what would do, if that is none or several."""
        return self._read(lambda sql: pitboard.find_by_words(sql, name))

    def readings(
        self, corner: str, field: str, *, car: str | None = None, limit: int | None = None
    ) -> list[tuple[str, str, str | None, float | None]]:
        """One value through the sessions, newest first: (session, typed, unit, SI number)."""

        def work(sql: sqlite3.Connection) -> list[tuple[str, str, str | None, float | None]]:
            found = pitboard.readings(sql, corner, field, car=car, limit=limit)
            return self._proof.readings(sql, found, corner, field)

        return self._read(work)

    def naming(self, field: str, car: str) -> list[tuple[str, str, str]]:
        """The sessions of that car that say something in that field, newest first: (session, its
        place in the order, text). Only to find records by: what one says is read from itself."""
        return self._read(lambda sql: pitboard.naming(sql, field, car))

    def saying(self, field: str, text: str, newest: int) -> list[tuple[str, str]]:
        """Where that text, in small letters, stands in that field of so many newest sessions, the
        newest first: (session, corner). Only to find records by, as with `naming`."""
        return self._read(lambda sql: pitboard.saying(sql, field, text, newest))

    def newest_ran(self, field: str) -> list[tuple[str, str, str]]:
        """Each text in that field of any corner, case folded, with the newest session that ran
        with it and the corner: (text, session, corner). It looks at every session, so beside."""
        found = self._connection.beside(lambda sql: pitboard.newest_ran(sql, field))
        return self._read(lambda sql: self._proof.newest_ran(sql, found, field))

    def words_of(self, field: str, newest: int) -> list[str]:
        """The texts that stand in that field of so many newest sessions, each once, the newest
        first."""

        def work(sql: sqlite3.Connection) -> list[str]:
            return self._proof.texts(sql, pitboard.words_of(sql, field, newest), field)

        return list(dict.fromkeys(self._read(work)))

    def last_read(self, before: str, car: str, asked: Sequence[Asked]) -> dict[Asked, LastRead]:
        """The last reading of each that is older than the session `before`, of its car or of a
        damper; what nobody has read is left out."""
        return self._read(
            lambda sql: self._proof.last_read(sql, last_read(sql, before, car, asked))
        )

    def session_readings(self) -> Iterator[tuple[tuple, list[tuple]]]:
        """Every session, newest first, with its readings, a page at a time: saves go on meanwhile.

        The session: date, venue, car, kind, number, start, driver, the end of its code, its code.
        Each reading: corner, field, typed, unit, SI number. With them, nothing typed, what the lap
        times give.
        """
        runs = self._read(pitboard.all_runs)
        for start in range(0, len(runs), AT_ONCE):
            yield from self._readings_of(runs[start : start + AT_ONCE])

    def _readings_of(self, page: list[tuple]) -> list[tuple[tuple, list[tuple]]]:
        def work(sql: sqlite3.Connection) -> list[tuple[tuple, list[tuple]]]:
            found = pitboard.readings_of(sql, [run[0] for run in page])
            proved = (self._proof.run(sql, *each) for each in zip(page, found, strict=True))
            return [(run[1:], readings) for run, readings in filter(None, proved)]

        return self._read(work)

    def reading_columns(self) -> list[tuple[str, str, str | None]]:
        """What is written down in any session: corner, field, unit; None for words. And what the
        lap times of any give."""

        def work(sql: sqlite3.Connection) -> list[tuple[str, str, str | None]]:
            of_laps = lap_columns(sql)
            return [*self._proof.columns(sql, pitboard.columns(sql)), *of_laps]

        return self._read(work)

    def current_states(self) -> list[CurrentState]:
        """Everything that stands, in the order of creation."""
        return [
            CurrentState(entity, kind, json.loads(body), *who)
            for entity, kind, body, *who in self.current_rows()
        ]

    def current_rows(self) -> Iterator[tuple]:
        """The same with each body as the JSON text that is kept, a page at a time: saves go on
        meanwhile. Entity, kind, body, author, recorded_at, reason."""
        last = 0
        while page := self._current_after(last):
            last = page[-1][0]
            for _, entity, kind, body, _, recorded_at, author, reason in page:
                if body is not None:
                    yield entity, kind, body, author, recorded_at, reason

    def _current_after(self, number: int) -> list[tuple]:
        def work(sql: sqlite3.Connection) -> list[tuple]:
            found = projections.current_after(sql, number, AT_ONCE)
            return [
                (number, entity, *self._proof.row(sql, entity, tuple(row)))
                for number, entity, *row in found
            ]

        return self._read(work)

    def search(self, text: str, limit: int = 50) -> list[Found]:
        """Where every word of `text` occurs, best first. Any text is safe."""
        return self._read(lambda sql: self._proof.found(sql, search(sql, text, limit), text))

    def run_table(self) -> tuple[list[RunWords], list[Said], list[Value]]:
        """Every run, newest first, with what was said of each and the items of its car: to be
        searched in memory. What is then shown of a run goes by `run_value` and `state`."""

        def work(sql: sqlite3.Connection) -> tuple[list[RunWords], list[Said], list[Value]]:
            said = self._proof.held_by(sql, run_columns.said(sql))
            return run_columns.runs(sql), said, run_columns.items(sql)

        return self._read(work)

    def run_column(self, field: str, at_corners: bool) -> list[Value]:
        """One field of every run, at its corners or of the whole car: as `run_table`."""
        return self._read(lambda sql: run_columns.column(sql, field, at_corners))

    def run_laps(self) -> list[Value]:
        """What the lap times of every run give: as `run_table`."""
        return self._read(run_columns.of_laps)

    def run_value(self, session: str, value: Value) -> tuple[str, str | None, float | None] | None:
        """What stands there as the revisions have it (typed, unit, SI number); None for nothing."""
        return self._read(lambda sql: self._proof.value(sql, session, value))

    def history(self, entity: str, path: str | None = None) -> list[Entry]:
        """What was changed, newest first; with `path`, of that value or section alone."""
        mine = self._my_names()
        return [
            entry._replace(device=self.device) if entry.device in mine else entry
            for entry in past.entries(self._revisions(entity), path)
        ]

    def _my_names(self) -> list[str]:
        return self._read(lambda sql: names_of(sql, self.device))

    def as_of(self, entity: str, when: str | datetime) -> Body | None:
        """The body as it was recorded by `when` (ISO text or a datetime; bare ones are UTC)."""
        moment = clocks.stamp_of(when) if isinstance(when, str) else clocks.stamp(when)
        return past.as_of(self._revisions(entity), moment)

    def conflicts(self) -> dict[str, dict[str, tuple[Any, ...]]]:
        """Values on which two laptops differ: entity to path to the values."""
        return self._read(lambda sql: conflicts(sql, self._branched))

    def open_conflicts(self) -> list[Conflict]:
        """The same with every version: who wrote which value, when and why; then what laptops
        entered twice."""
        if not self._branched.looked_to:  # the first look takes its time: beside the saves
            self._connection.beside(self._branched.look)
        mine = self._my_names()
        return [
            dispute._replace(
                versions=tuple(
                    version._replace(device=self.device) if version.device in mine else version
                    for version in dispute.versions
                )
            )
            for dispute in self._read(self._open_conflicts)
        ]

    def _open_conflicts(self, sql: sqlite3.Connection) -> list[Conflict]:
        return [*open_conflicts(sql, self._branched), *entered_twice(sql, self._twins(sql))]

    def drafts(self) -> list[Draft]:
        """What this laptop left half typed, the newest first."""
        return self._read(lambda sql: half_typed.of_device(sql, self.device))

    def lines(self) -> list[Line]:
        """Every revision with its envelope, in the order of arrival: what a bundle carries."""
        found = self._rows("SELECT rev, envelope FROM revision ORDER BY id")
        return [Line(*row) for row in found]

    def names(self) -> set[str]:
        """The names of all revisions that are here."""
        return self._read(names)

    def data_version(self) -> int:
        """A number that changes when another window has written."""

        def asked() -> int:
            [number] = self._connection.sql.execute("PRAGMA data_version").fetchone()
            return int(number)

        return self._connection.call(asked)  # of the connection that saves, and no other

    def extent(self) -> tuple[int, str]:
        """How far the logbook reaches: the number and the name of its last revision."""
        return self._read(extent)

    @property
    def is_empty(self) -> bool:
        """Whether nothing was ever written in it; what was written once stays."""
        if not self._begun:
            self._begun = any(self.extent())
        return not self._begun

    def _rows(self, query: str, *values: str) -> list[tuple]:
        return self._read(lambda sql: sql.execute(query, values).fetchall())

    def _revisions(self, entity: str) -> list[Revision]:
        return self._read(lambda sql: proved_revisions(sql, entity, heads_in(sql, entity)))

    def _bodies(self, where: str, *values: str) -> list[tuple[str, Body]]:
        def work(sql: sqlite3.Connection) -> list[tuple[str, Body]]:
            return self._proof.bodies(sql, where, values)

        return self._read(work)
