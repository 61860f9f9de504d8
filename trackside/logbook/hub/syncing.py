"""A logbook and its team's hub meet: what is new there is taken in, then what is new here is given.

Each batch is kept, on both sides, before the next one begins. Whenever the network goes, the next
meeting carries on from there; whatever is sent twice is there once.
"""

from __future__ import annotations

import hashlib
import sqlite3
from typing import Final, NamedTuple

from trackside.errors import HubAway, HubError
from trackside.logbook.canonical import digest
from trackside.logbook.clock import now, stamp
from trackside.logbook.hub.connection import HubConnection
from trackside.logbook.hub.mark import Mark, left_of, mark_of, set_left, set_mark
from trackside.logbook.hub.schema import LONGEST
from trackside.logbook.hub.team import Team
from trackside.logbook.merge import Line, problem_of, take
from trackside.logbook.store import Logbook

ROWS: Final = 2000
BYTES: Final = 1 << 20
"""What one batch holds at most; a single revision may be larger."""
GIVEN: Final = 200
"""How many revisions are given at once: others wait meanwhile, `LONGEST_WAIT` at most."""
SAID: Final = 20
"""How many sentences a meeting says of what is wrong."""

_PAGE: Final = "SELECT number, rev, chain, envelope FROM trackside_hub.page(%s, %s, %s, %s, %s)"
_LEFT: Final = "SELECT number, rev, chain, envelope FROM trackside_hub.some(%s, %s)"
_MISSING: Final = "SELECT name FROM trackside_hub.missing(%s, %s::bytea[]) AS name"
_LINK: Final = "SELECT trackside_hub.link(%s, %s)"
_APPEND: Final = (
    "SELECT before, number, chain FROM trackside_hub.append(%s, %s::bytea[], %s::text[])"
)
_RETRIED: Final = 50
"""How many of those that could not be taken are looked at again in one meeting."""


class SyncResult(NamedTuple):
    """What came of a meeting: revisions taken and given, those of the hub that could not be
    taken, and what is wrong, one sentence each."""

    pulled: int
    pushed: int
    left: int
    problems: tuple[str, ...]


class HubStatus(NamedTuple):
    """Where logbook and hub stand before they meet: revisions there, here, and new to either."""

    there: int
    here: int
    to_pull: int
    to_push: int
    left: int
    has_met: bool


def sync(logbook: Logbook, wire: HubConnection, team: Team, *, anew: bool = False) -> SyncResult:
    """Take what is new on the hub, then give what is new here; `anew` compares all of it.

    HubAway says how far it came; that much is kept.
    """
    meeting = _Meeting(logbook, wire, team, anew)
    try:
        meeting.hold()
    except HubAway as error:
        if not meeting.pulled and not meeting.pushed:
            raise
        so_far = f"{meeting.pulled} revisions taken in and {meeting.pushed} given so far"
        raise HubAway(f"{error.cause}; {so_far}", error.remedy) from None
    return meeting.met()


def status(logbook: Logbook, team: Team) -> HubStatus:
    """How far logbook and hub are apart; nothing is changed."""

    def look(sql: sqlite3.Connection) -> HubStatus:
        mark = mark_of(sql, team.code)
        known = mark or Mark()
        [(here, newer)] = sql.execute(
            "SELECT count(*), count(*) FILTER (WHERE id > ?) FROM revision", (known.pushed,)
        ).fetchall()
        ahead = max(0, team.number - known.number)
        left = len(left_of(sql, team.code))
        return HubStatus(team.number, here, ahead, newer, left, mark is not None)

    return logbook.look(look)


class _Meeting:
    def __init__(self, logbook: Logbook, wire: HubConnection, team: Team, anew: bool) -> None:
        self.logbook = logbook
        self.wire = wire
        self.team = team
        self.pulled = 0
        self.pushed = 0
        self.problems: list[str] = []
        found = logbook.look(lambda sql: mark_of(sql, team.code))
        self.mark = Mark() if anew or found is None else found

    def hold(self) -> None:
        self._check_link()
        if self.team.may_append and self.team.number - self.mark.number > ROWS:
            self._push()  # much has come in, perhaps rubbish: what is new here does not wait for it
        self._look_again()
        self._pull(self.team.number)
        if self.team.may_append:
            top = self._push()
            if top > self.mark.number:
                self._pull(top)
        self.logbook.within(lambda sql: set_mark(sql, self.team.code, self.mark))

    def met(self) -> SyncResult:
        left = self.logbook.look(lambda sql: left_of(sql, self.team.code))
        said = self.problems[:SAID]
        if more := len(self.problems) - len(said):
            said.append(f"And {more} more like these.")
        return SyncResult(self.pulled, self.pushed, len(left), tuple(said))

    def _check_link(self) -> None:
        """Begin anew with a hub that is not where it was: put back from a backup, or tampered."""
        if not self.mark.number:
            return
        if self.wire.ask(_LINK, self.team.id, self.mark.number) != [(self.mark.chain,)]:
            self.mark = Mark()
            self.problems.append(
                "The hub has gone back, or was changed, since the last meeting: everything was "
                "compared again."
            )

    def _look_again(self) -> None:
        """What could not be taken before: perhaps this version can, or the hub was mended. Those
        that were looked at longest ago come first, so that each has its turn."""
        left = self.logbook.look(lambda sql: left_of(sql, self.team.code))[:_RETRIED]
        if left:
            self._take_in(self.wire.ask(_LEFT, self.team.id, left), self.mark)

    def _pull(self, top: int) -> None:
        while self.mark.number < top:
            rows = self.wire.ask(_PAGE, self.team.id, self.mark.number, top, ROWS, BYTES)
            if not rows:
                self._broken(self.mark.number + 1)
                return
            self._check_order(rows)
            number, _, chain, _ = rows[-1]
            self._take_in(rows, self.mark._replace(number=number, chain=bytes(chain)))

    def _check_order(self, rows: list[tuple]) -> None:
        """Every number is there, and each link is made of the one before."""
        expected, link = self.mark.number, self.mark.chain
        for number, rev, chain, _ in rows:
            expected, link = expected + 1, hashlib.sha256(link + rev).digest()
            if number != expected or link != chain:
                self._broken(expected)
                return

    def _broken(self, number: int) -> None:
        self.problems.append(
            f"The hub's list is broken at revision {number}: something was taken out or changed "
            "there; tell the hub's administrator."
        )

    def _take_in(self, rows: list[tuple], after: Mark) -> None:
        """Keep what is proved of a page, and the mark behind it, in one transaction. What the
        keeper set aside comes without its envelope, and is passed by."""
        lines: list[Line] = []
        bad: dict[int, str] = {}
        aside = {number for number, _, _, envelope in rows if envelope is None}
        for number, rev, _, envelope in rows:
            if number in aside:
                continue
            line = Line(bytes(rev).hex(), envelope)
            why = problem_of(*line)
            if why:
                bad[number] = f"Revision {number} on the hub {why}."
            else:
                lines.append(line)

        def work(sql: sqlite3.Connection) -> Mark:
            last = _last(sql)
            taken = take(sql, lines, stamp(now()), "hub")
            self.pulled += taken.added
            self.problems += (*bad.values(), *taken.problems)
            pushed = _last(sql) if last == self.mark.pushed else self.mark.pushed
            kept = after._replace(pushed=pushed)
            set_mark(sql, self.team.code, kept)
            for number, rev, _, _ in rows if bad or taken.problems or after == self.mark else ():
                is_left = number not in aside and not _is_here(sql, bytes(rev).hex())
                set_left(sql, self.team.code, number, is_left)
            return kept

        self.mark = self.logbook.within(work)

    def _push(self) -> int:
        """Give what is new here; how far the hub's list reaches afterwards."""
        top = self.mark.number
        while True:
            last, lines = self.logbook.look(lambda sql: _page(sql, self.mark.pushed))
            if last == self.mark.pushed:
                return top
            whole = {
                bytes.fromhex(line.rev): line.envelope for line in lines if self._is_sound(line)
            }
            asked = self.wire.ask(_MISSING, self.team.id, list(whole)) if whole else []
            wanted = [bytes(name) for (name,) in asked]
            if wanted:
                top = self._append(wanted, [whole[name] for name in wanted])
            self.mark = self.mark._replace(pushed=last)
            self.logbook.within(lambda sql: set_mark(sql, self.team.code, self.mark))

    def _append(self, names: list[bytes], envelopes: list[str]) -> int:
        [(before, number, chain)] = self.wire.ask(_APPEND, self.team.id, names, envelopes)
        self.pushed += number - before
        if before == self.mark.number and number - before == len(names):
            link = self.mark.chain
            for name in names:
                link = hashlib.sha256(link + name).digest()
            if link != chain:
                raise HubError(
                    "The hub did not keep what it was given", "tell the hub's administrator"
                )
            self.mark = self.mark._replace(number=number, chain=link)
        return number

    def _is_sound(self, line: Line) -> bool:
        if digest(line.envelope) != line.rev:
            why = "is not what was written down: check the logbook with trackside verify"
        elif len(line.envelope.encode()) > LONGEST:
            why = "is too long for the hub"
        else:
            return True
        self.problems.append(f"Revision {line.rev[:12]} here {why}.")
        return False


def _page(sql: sqlite3.Connection, after: int) -> tuple[int, list[Line]]:
    """The next revisions after that number, and the number of the last of them."""
    lines: list[Line] = []
    size, last = 0, after
    query = "SELECT id, rev, envelope FROM revision WHERE id > ? ORDER BY id LIMIT ?"
    for number, rev, envelope in sql.execute(query, (after, GIVEN)):
        if lines and size + len(envelope) > BYTES:
            break
        last, size = number, size + len(envelope)
        lines.append(Line(rev, envelope))
    return last, lines


def _last(sql: sqlite3.Connection) -> int:
    return sql.execute("SELECT coalesce(max(id), 0) FROM revision").fetchone()[0]


def _is_here(sql: sqlite3.Connection, rev: str) -> bool:
    return sql.execute("SELECT 1 FROM revision WHERE rev = ?", (rev,)).fetchone() is not None
