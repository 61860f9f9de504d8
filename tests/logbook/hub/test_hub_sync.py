"""Laptops and a real hub: they converge, whatever happens to the line or to the hub."""

from __future__ import annotations

import random
import signal
import threading
import time
from collections.abc import Callable

import psycopg
import pytest

from tests.logbook.hub.conftest import Hub, own_server
from trackside.errors import HubAway
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.hub import address_of, connection, set_up, sync, syncing, team_of, wire_to
from trackside.logbook.hub.connection import HubConnection
from trackside.logbook.hub.syncing import _PAGE, status
from trackside.logbook.merge import Line

Laptop = Callable[[str], Logbook]

HOSTILE = [
    "'; DROP TABLE trackside_hub.revision; --",
    "\"}'); DELETE FROM trackside_hub.team; --",
    "$$ ; $1 %s %(x)s {} \\ \\x00 \\u0000 E'\\'",
    "\u0000\x01\x1b[31m\u202e",
    "Größe 🏁 \u200b \U0010ffff",
    "[/red] [b",
]


def note(words: str):
    return put("note", {"words": words})


def fill(logbook: Logbook, count: int, size: int = 0) -> None:
    chance = random.Random(count)
    logbook.write(*(note(f"{n} {chance.randbytes(size // 2).hex()}") for n in range(count)))


def agree(*logbooks: Logbook) -> None:
    """The same revisions, and the same state, also when it is made anew."""
    first = logbooks[0]
    for other in logbooks[1:]:
        assert other.names() == first.names()
        assert _state(other) == _state(first)
        other.rebuild()
        assert _state(other) == _state(first)
        assert other.verify().problems == ()


def _state(logbook: Logbook) -> dict:
    return {entity.entity: entity.body for entity in logbook.current_states()}


def test_two_laptops_converge(hub: Hub, laptop: Laptop) -> None:
    one, two = laptop("one"), laptop("two")
    session = put("session", {"driver": "Mara", "FL": {"camber": "1"}})
    one.write(session, note("loose"))
    assert hub.meet(one) == (0, 2, 0, ())
    assert hub.meet(two) == (2, 0, 0, ())
    one.write(patch("session", session.entity, {"FL.camber": "2"}), reason="fresh tyres")
    two.write(patch("session", session.entity, {"FL.camber": "3", "driver": "Olle"}))
    two.write(note("tight"))
    two.write(drop("note", two.all("note")[-1][0]))
    assert hub.meet(one)[:2] == (0, 1)
    assert hub.meet(two)[:2] == (1, 3)
    assert hub.meet(one)[:2] == (3, 0)
    agree(one, two)
    for logbook in (one, two):
        assert [(d.entity, d.path) for d in logbook.open_conflicts()] == [
            (session.entity, "FL.camber")
        ]
    two.settle(session.entity, {"FL.camber": "2"})
    hub.meet(two)
    hub.meet(one)
    agree(one, two)
    assert one.open_conflicts() == []
    for logbook in (one, two):
        assert hub.meet(logbook) == (0, 0, 0, ())


def test_hostile_words_and_a_newer_programs_kinds_come_through(one: Hub, laptop: Laptop) -> None:
    first, second = laptop("one"), laptop("two")
    first.write(*(put("session", {"driver": text, text[:9]: {"x": text}}) for text in HOSTILE))
    first.write(put("aerial", {"of": {"a": [1, None, "x"]}}))
    hub_is = one.meet(first)
    assert hub_is == (0, len(HOSTILE) + 1, 0, ())
    assert one.meet(second).pulled == len(HOSTILE) + 1
    agree(first, second)
    assert sorted(line.envelope for line in second.lines()) == sorted(
        line.envelope for line in first.lines()
    )
    assert second.all("aerial")[0][1] == {"of": {"a": [1, None, "x"]}}


def test_a_pull_takes_only_what_is_new(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = laptop("one"), laptop("two")
    fill(first, 50)
    one.meet(first)
    one.meet(second)
    fill(first, 3)
    one.meet(first)
    came: list[int] = []

    def counted(self: HubConnection, query, *values, asked=HubConnection.ask):
        rows = asked(self, query, *values)
        came.append(len(rows) if query == _PAGE else 0)
        return rows

    monkeypatch.setattr(HubConnection, "ask", counted)
    assert one.meet(second).pulled == 3
    assert sum(came) == 3


def test_batches_hold_to_their_limits(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever their limits: one row, one byte, or rows much larger than a batch."""
    first = laptop("one")
    fill(first, 14, 3000)
    first.write(note("x" * 100_000))
    for number, (rows, size) in enumerate([(1, 1 << 20), (2000, 1), (7, 10_000), (2000, 1 << 20)]):
        monkeypatch.setattr(syncing, "ROWS", rows)
        monkeypatch.setattr(syncing, "BYTES", size)
        other = laptop(f"other{number}")
        if not number:
            assert one.meet(first).pushed == 15
        assert one.meet(other).pulled == 15
        agree(first, other)


@pytest.mark.parametrize("at", [2, 3, 5, 7, 8, 13])
def test_a_line_that_is_cut_loses_nothing_and_the_next_meeting_carries_on(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    monkeypatch.setattr(syncing, "ROWS", 10)
    first, second, third = laptop("one"), laptop("two"), laptop("three")
    fill(third, 25)
    one.meet(third)
    fill(first, 35)
    with one.wire() as line:
        team, asked, calls = team_of(line), HubConnection.ask, iter(range(1, 100))

        def cutting(self: HubConnection, query, *values):
            if next(calls) == at:
                [(pid,)] = asked(self, "SELECT pg_backend_pid()")
                one.ask("SELECT pg_terminate_backend(%s)", pid)
            return asked(self, query, *values)

        with monkeypatch.context() as patched:
            patched.setattr(HubConnection, "ask", cutting)
            try:
                sync(first, line, team)
                assert next(calls) <= at, "the line was cut, and nobody noticed"
            except HubAway as error:
                assert "everything is kept here" in str(error)  # noqa: PT017
    first.write(note("meanwhile"))
    one.meet(first)
    one.meet(second)
    one.meet(third)
    agree(first, second, third)
    assert len(first.names()) == 61
    assert one.ask("SELECT count(*) FROM trackside_hub.revision") == [(61,)]


def test_a_session_that_is_killed_while_it_appends(one: Hub, laptop: Laptop) -> None:
    """The killer strikes at a random moment of real pushes, and not between two of them."""
    first, second = laptop("one"), laptop("two")
    fill(first, 1500, 400)
    struck = [0]

    def kill() -> None:
        chance = random.Random(3)
        while struck[0] < 6:
            time.sleep(chance.uniform(0.005, 0.06))
            query = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = %s"
            struck[0] += len(one.ask(query, one.crew))

    killer = threading.Thread(target=kill)
    killer.start()
    away = 0
    while killer.is_alive():
        try:
            one.meet(first)
        except HubAway:
            away += 1
    killer.join()
    assert struck[0] >= 6
    assert away > 1
    one.meet(first)
    one.meet(second)
    agree(first, second)
    chain = "SELECT count(*), max(number) FROM trackside_hub.revision"
    assert one.ask(chain) == [(1500, 1500)]


def test_a_hub_that_says_nothing_any_more(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = laptop("one")
    fill(first, 5)
    monkeypatch.setattr(connection, "SLOWEST_S", 0.3)
    with one.wire() as line:
        team = team_of(line)
        holder = one.hold("keeper")
        holder.execute("LOCK TABLE trackside_hub.team IN ACCESS EXCLUSIVE MODE")
        begun = time.monotonic()
        with pytest.raises(HubAway, match="run it again"):
            sync(first, line, team)
        assert time.monotonic() - begun < 5
        holder.close()
    monkeypatch.undo()
    assert one.meet(first).pushed == 5


def test_a_stopped_server_and_a_pulled_plug() -> None:
    with own_server() as running, Logbook.open(":memory:", device="d") as logbook:
        url = running.url(database="postgres")
        with wire_to(address_of(url)) as line:
            set_up(line, "Harrow Fen")
            roles = set_up(line, "Harrow Fen")
            assert not roles.is_new
        crew = running.url(running.new_login("mara", roles.crew))
        fill(logbook, 30)
        with wire_to(address_of(crew)) as line:
            team = team_of(line)
            sync(logbook, line, team)
            fill(logbook, 31)
            running.stop(signal.SIGQUIT)
            with pytest.raises(HubAway, match="can't be reached"):
                sync(logbook, line, team)
        for address in (crew, f"postgresql://mara@127.0.0.1:{running.port}/postgres"):
            with (
                pytest.raises(HubAway, match=r"can't be reached.*everything is kept here"),
                wire_to(address_of(address)),
            ):
                pass
        running.start()
        with wire_to(address_of(crew)) as line:
            assert sync(logbook, line, team_of(line)).pushed == 31


def append_bare(connection: psycopg.Connection, team: int, words: str) -> bytes:
    """Append one revision within the connection's transaction, and leave that open."""
    line = sealed(words)
    query = "SELECT trackside_hub.append(%s, %s::bytea[], %s::text[])"
    connection.execute(query, (team, [bytes.fromhex(line.rev)], [line.envelope]))
    return bytes.fromhex(line.rev)


def sealed(words: str, **more: object) -> Line:
    envelope = canonical(
        {
            "format": 1, "entity": words[:100], "kind": "note", "op": "put", "parents": [],
            "device": digest(words)[:8], "seq": 1, "save": 1, "author": "", "reason": "",
            "recorded_at": "2026-05-09T08:00:00.000Z", "body": {"words": words},
        }
        | more
    )  # fmt: skip
    return Line(digest(envelope), envelope)


def test_no_pull_misses_what_a_slower_transaction_wrote(hub: Hub, laptop: Laptop) -> None:
    """Two transactions at once; the one that began first is the last to commit.

    A plain serial in the same play loses a row for whoever pulls in between: that is shown too, so
    that the play is known to be one that can be lost.
    """
    assert lost_with_a_serial(hub) == 1
    team = hub.team().id
    reading = laptop("reading")
    slow, quick = hub.hold(), hub.hold()
    append_bare(slow, team, "slow")
    done = threading.Event()

    def append_quickly() -> None:
        append_bare(quick, team, "quick")
        quick.commit()
        done.set()

    appending = threading.Thread(target=append_quickly)
    appending.start()
    assert not done.wait(0.3)  # it waits for its number until the slow one has committed
    assert hub.meet(reading, hub.reader).pulled == 0
    slow.commit()
    appending.join(5)
    assert hub.meet(reading, hub.reader).pulled == 2
    append_bare(slow, team, "taken back")
    slow.rollback()
    append_bare(quick, team, "after it")
    quick.commit()
    assert hub.meet(reading, hub.reader) == (1, 0, 0, ())
    assert hub.ask("SELECT number FROM trackside_hub.revision ORDER BY 1") == [(1,), (2,), (3,)]
    slow.close()
    quick.close()


def lost_with_a_serial(hub: Hub) -> int:
    hub.ask("CREATE TABLE trackside_hub.plain (number serial, words text)")
    slow, quick = hub.hold("keeper"), hub.hold("keeper")
    slow.execute("INSERT INTO trackside_hub.plain (words) VALUES ('slow')")
    quick.execute("INSERT INTO trackside_hub.plain (words) VALUES ('quick')")
    quick.commit()
    seen = hub.ask("SELECT number FROM trackside_hub.plain ORDER BY 1")
    slow.commit()
    seen += hub.ask("SELECT number FROM trackside_hub.plain WHERE number > %s", seen[-1][0])
    slow.close()
    quick.close()
    return 2 - len(seen)


def test_many_who_append_at_once_and_one_who_pulls_all_the_time(one: Hub, laptop: Laptop) -> None:
    team, each, writers = one.team().id, 60, 4

    def append_all(name: str) -> None:
        with one.hold() as connection:
            chance = random.Random(name)
            for number in range(each):
                append_bare(connection, team, f"{name} {number}")
                if chance.random() < 0.5:
                    time.sleep(0.002)
                connection.commit() if chance.random() < 0.8 else connection.rollback()
                append_bare(connection, team, f"{name} {number}")
                connection.commit()

    threads = [threading.Thread(target=append_all, args=(f"w{n}",)) for n in range(writers)]
    for thread in threads:
        thread.start()
    reading, pulled, meetings = laptop("reading"), 0, 0
    while any(thread.is_alive() for thread in threads):
        met = one.meet(reading, one.reader)
        assert met.problems == ()
        pulled, meetings = pulled + met.pulled, meetings + 1
    pulled += one.meet(reading, one.reader).pulled
    assert meetings > 2
    assert pulled == len(reading.names()) == each * writers


def test_how_far_apart_they_are(one: Hub, laptop: Laptop) -> None:
    first, second = laptop("one"), laptop("two")
    fill(first, 7)
    assert status(first, one.team()) == (0, 7, 0, 7, 0, False)
    one.meet(first)
    fill(second, 2)
    assert status(second, one.team()) == (7, 2, 7, 2, 0, False)
    one.meet(second)
    assert status(second, one.team()) == (9, 9, 0, 0, 0, True)
    assert status(first, one.team()) == (9, 7, 2, 0, 0, True)
