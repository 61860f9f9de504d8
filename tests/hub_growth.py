"""How the hub grows: many teams on one server, in one table and parted by team; prints figures.

python -m tests.hub_growth              1,000 teams, a tenth of a season each
python -m tests.hub_growth 1000 1.0     all of it
python -m tests.hub_growth 1000 0.1 0 16 64     and into how many parts (0: one table)

What a season holds is an assumption, no source: 10 events of 12 sessions, and in each the sheet, 25
values corrected or added one by one, two notes and a change with its reason. The server runs with
fsync off: it measures PostgreSQL's work, not this disk.
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.postgres import MISSING, Server, programs, server
from trackside.logbook import patch, put
from trackside.logbook.canonical import digest
from trackside.logbook.hub import address_of, set_up, team_of, wire_to
from trackside.logbook.hub.syncing import _APPEND, _PAGE, BYTES, ROWS
from trackside.logbook.revisions import Write, seal
from trackside.records.fields import CORNER_FIELDS, CORNERS

EVENTS, SESSIONS, CORRECTIONS = 10, 12, 25
WEEK = 2 * (SESSIONS * (CORRECTIONS + 4) + 1)
"""Revisions that a week away comes to: two events."""

FIELDS = [name for name, field in CORNER_FIELDS.items() if field.quantity][:15]
TOKEN = "team-0000000"
Laptop = tuple[str, int]


def writes() -> Iterator[Write]:
    """A season, as a crew types it."""
    for event in range(EVENTS):
        venue = put("event", {"venue": f"Harrow Fen {event}", "date": f"2026-05-{event + 9:02d}"})
        yield venue
        for number in range(SESSIONS):
            values = {
                name: {"typed": f"{number + place},5", "unit": "bar", "si": number + place / 7}
                for place, name in enumerate(FIELDS)
            }
            session = put(
                "session",
                {"event": venue.entity, "start": f"10:{number:02d}", "driver": "Mara"}
                | dict.fromkeys(CORNERS, values),
            )
            yield session
            for place in range(CORRECTIONS):
                path = f"{CORNERS[place % 4]}.{FIELDS[place % len(FIELDS)]}"
                value = {"typed": str(place), "unit": "clicks", "si": float(place)}
                yield patch("session", session.entity, {path: value})
            for words in ("loose at the hairpin, better on the second lap", "rear settles late"):
                yield put("note", {"session": session.entity, "words": f"{words} {number}"})
            reason = {"session": session.entity, "what": "FL rebound 2 softer", "reason": "kerbs"}
            yield put("change", reason)


def season() -> list[str]:
    """The envelopes of a season, with a token in the place of the laptop's name."""
    found, heads = [], dict[str, tuple[str, ...]]()
    for seq, write in enumerate(writes(), 1):
        revision, envelope = seal(
            write,
            parents=heads.get(write.entity, ()),
            device=TOKEN,
            seq=seq,
            save=seq,
            author="Mara",
            reason="",
            recorded_at="2026-05-09T08:00:00.000Z",
        )
        heads[write.entity] = (revision.rev,)
        found.append(envelope)
    return found


def batch(envelopes: list[str], owner: int) -> tuple[list[bytes], list[str]]:
    """Those of one laptop: names, and envelopes."""
    mine = [envelope.replace(TOKEN, f"team-{owner:07d}") for envelope in envelopes]
    return [bytes.fromhex(digest(envelope)) for envelope in mine], mine


def spent(work: Callable[[], object]) -> float:
    """How long `work` takes (s)."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def grow(running: Server, teams: int, share: float, partitions: int) -> None:
    """One hub: filled, measured, printed."""
    database = running.new_database(f"grown{partitions}")
    print(f"\n{teams} teams, {partitions or 'no'} partitions", flush=True)
    keeper = address_of(running.url(database=database))
    with wire_to(keeper) as wire:
        first = set_up(wire, "Team 0", partitions)
        took = spent(lambda: [set_up(wire, f"Team {number}") for number in range(1, teams)])
        print(f"  making a team: {1e3 * took / max(1, teams - 1):.1f} ms", flush=True)
        envelopes = season()
        print(f"  a season: {len(envelopes)} revisions, {_mean(envelopes):.0f} bytes each")
        given = envelopes[: round(len(envelopes) * share)]
        names = [f"Team {number}" for number in range(teams)]
        ids = dict(wire.ask("SELECT name, id FROM trackside_hub.team"))
        prepared = 0.0

        def fill() -> None:
            nonlocal prepared
            for number, name in enumerate(names):
                begun = time.perf_counter()
                mine = batch(given, number)
                prepared += time.perf_counter() - begun
                for start in range(0, len(given), ROWS // 4):
                    part = slice(start, start + ROWS // 4)
                    wire.ask(_APPEND, ids[name], mine[0][part], mine[1][part])

        took = spent(fill) - prepared
        total = teams * len(given)
        print(f"  filled: {total} revisions, one laptop after another {total / took:.0f}/s")
        wire.ask("SELECT set_config('statement_timeout', '0', false)")
        wire.ask("ANALYZE trackside_hub.revision")
        _sizes(wire, total)
    logins = [_login(running, f"d{partitions}_{number}", database, number) for number in range(32)]
    for count in (1, 4, 16, 32):
        print(f"  {count} laptops push at once, each its own team: ", end="")
        _push_at_once(running, database, envelopes, logins[:count], 1_000_000 + 1000 * count)
    same = [logins[0]] * 16
    print("  16 laptops push at once, all of one team: ", end="")
    _push_at_once(running, database, envelopes, same, 2_000_000)
    _a_week_away(running, database, logins[1][0])
    del first


def _mean(envelopes: list[str]) -> float:
    return statistics.mean(len(envelope.encode()) for envelope in envelopes)


def _sizes(wire, total: int) -> None:  # type: ignore[no-untyped-def]
    query = """
    SELECT sum(pg_table_size(relid)), sum(pg_indexes_size(relid)),
      (SELECT sum(pg_relation_size(indexrelid)) FROM pg_index
       WHERE indrelid IN (SELECT relid FROM tree) AND indnatts = 2
         AND indexrelid::regclass::text LIKE '%%rev_key%%')
    FROM tree"""
    [(table, indexes, by_name)] = wire.ask(
        "WITH tree AS (SELECT relid FROM pg_partition_tree('trackside_hub.revision') WHERE isleaf"
        " UNION SELECT 'trackside_hub.revision'::regclass)" + query
    )
    print(
        f"  on disk: {float(table) / total:.0f} bytes a revision in the table, "
        f"{float(indexes) / total:.0f} in indexes ({float(by_name or 0) / total:.0f} by name); "
        f"{(float(table) + float(indexes)) / 1e6:.0f} MB in all",
        flush=True,
    )


def _login(running: Server, name: str, database: str, number: int) -> Laptop:
    query = "SELECT crew, id FROM trackside_hub.team WHERE name = %s"
    [(crew, team)] = running.ask(database, query, f"Team {number}")
    return running.new_login(name, crew), team


def _push_at_once(
    running: Server, database: str, envelopes: list[str], logins: list[Laptop], first: int
) -> None:
    """Pushes of 100 revisions, as after a session, by laptops that are connected."""
    waits: list[float] = []
    ready = threading.Barrier(len(logins) + 1)
    batches = [
        [batch(envelopes[start : start + 100], first + n) for start in range(0, 1000, 100)]
        for n in range(len(logins))
    ]

    def push(number: int) -> None:
        with wire_to(address_of(running.url(logins[number][0], database))) as wire:
            ready.wait()
            for mine in batches[number]:
                waits.append(spent(lambda m=mine: wire.ask(_APPEND, logins[number][1], *m)))
            ready.wait()

    threads = [threading.Thread(target=push, args=(n,)) for n in range(len(logins))]
    for thread in threads:
        thread.start()
    ready.wait()
    took = spent(ready.wait)
    for thread in threads:
        thread.join()
    last = statistics.quantiles(waits, n=20)[-1]
    print(
        f"{1000 * len(logins) / took:.0f} revisions/s; a push of 100 takes "
        f"{1e3 * statistics.median(waits):.0f} ms, one in 20 over {1e3 * last:.0f} ms",
        flush=True,
    )


def _a_week_away(running: Server, database: str, login: str) -> None:
    address = address_of(running.url(login, database))
    opened, found, pulled = [], [], []
    rows: list[tuple] = []
    for _ in range(20):
        begun = time.perf_counter()
        with wire_to(address) as wire:
            opened.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            team = team_of(wire)
            found.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            since = max(0, team.number - WEEK)
            rows = wire.ask(_PAGE, team.id, since, team.number, ROWS, BYTES)
            pulled.append(time.perf_counter() - begun)
    opened_ms, found_ms, pulled_ms = (1e3 * statistics.median(n) for n in (opened, found, pulled))
    print(
        f"  after a week away: {opened_ms:.0f} ms to connect, {found_ms:.1f} ms to find the team, "
        f"{pulled_ms:.1f} ms for {len(rows)} revisions",
        flush=True,
    )


def main(teams: int, share: float, shapes: list[int]) -> None:
    if programs() is None:
        sys.exit(MISSING)
    folder = Path(tempfile.mkdtemp(prefix="growth-"))
    os.chmod(folder, 0o755)
    try:
        with server(folder / "pg", "shared_buffers=512MB", "max_wal_size=4GB") as running:
            for partitions in shapes:
                grow(running, teams, share, partitions)
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        int(words[0]) if words else 1000,
        float(words[1]) if len(words) > 1 else 0.1,
        [int(word) for word in words[2:]] or [0, 16, 64],
    )
