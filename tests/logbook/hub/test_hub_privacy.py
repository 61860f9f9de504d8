"""A login of one team attacks the hub itself: what it can learn of the others, and how it can be in
everybody's way."""

from __future__ import annotations

import re
import threading
import time
from pathlib import Path

import psycopg
import pytest
from psycopg.errors import InsufficientPrivilege, UndefinedTable

from tests.logbook.hub.conftest import Hub, make_hub
from tests.logbook.hub.test_hub_sync import Laptop, agree, append_bare, fill, note, sealed
from tests.postgres import Server
from tests.running import Cli
from trackside.errors import BadInput, HubAway, HubError
from trackside.logbook.canonical import digest
from trackside.logbook.hub import address_of, set_aside, set_up, syncing, team_of, wire_to

OTHER = "Zanderfold Reservoir"
"""The other team: no part of its name may come to light."""
FIRST_HUB = Path(__file__).with_name("first_hub.sql")


@pytest.fixture(scope="module")
def spied(postgres: Server) -> tuple[Hub, Hub]:
    """A hub with a small team that spies, and a large one that is spied upon."""
    mine = make_hub(postgres, "spied")
    other = mine.add_team(OTHER)
    lines = [sealed(f"secret {number}") for number in range(400)]
    with other.hold() as connection:
        query = "SELECT trackside_hub.append(%s, %s::bytea[], %s::text[])"
        names, envelopes = [bytes.fromhex(one.rev) for one in lines], [o.envelope for o in lines]
        connection.execute(query, (other.team().id, names, envelopes))
    mine.ask("ANALYZE")
    return mine, other


COUNTS = [
    "SELECT reltuples FROM pg_class WHERE relname = 'revision'",
    "SELECT relpages FROM pg_class WHERE relname = 'revision_pkey'",
    "SELECT n_live_tup FROM pg_stat_all_tables WHERE relname = 'revision'",
    "SELECT n_tup_ins FROM pg_stat_user_tables",
    "SELECT n_tup_ins FROM pg_stat_xact_all_tables",
    "SELECT idx_scan FROM pg_stat_all_indexes",
    "SELECT heap_blks_hit FROM pg_statio_all_tables",
    "SELECT pg_stat_get_live_tuples('trackside_hub.revision'::regclass)",
    "SELECT pg_stat_get_tuples_inserted('trackside_hub.revision'::regclass)",
    "SELECT pg_relation_size('trackside_hub.revision')",
    "SELECT pg_total_relation_size('trackside_hub.revision')",
    "SELECT pg_table_size('trackside_hub.revision')",
    "SELECT pg_indexes_size('trackside_hub.revision')",
    "SELECT pg_database_size(current_database())",
    "SELECT xact_commit FROM pg_stat_database",
    "SELECT calls FROM pg_stat_user_functions",
    "EXPLAIN SELECT FROM trackside_hub.revision",
    "EXPLAIN ANALYZE SELECT FROM trackside_hub.team",
    "SELECT FROM trackside_hub.team",
    "SELECT FROM trackside_hub.revision",
    "SELECT FROM trackside_hub.set_aside",
    "TABLESAMPLE trackside_hub.revision",
    "LOCK TABLE trackside_hub.team IN ACCESS SHARE MODE",
    "COPY trackside_hub.team TO STDOUT",
    "SELECT * FROM pg_statistic",
    "SELECT last_value FROM pg_sequences, generate_series(1, 0)",
]
"""How many rows the others have, and how much they do."""
MEMBERS = [
    "SELECT rolname FROM pg_roles",
    "SELECT rolname FROM pg_authid",
    "SELECT usename FROM pg_user",
    "SELECT groname FROM pg_group",
    "SELECT * FROM pg_auth_members",
    "SELECT usename FROM pg_stat_activity",
    "SELECT * FROM pg_stat_get_activity(NULL)",
    "SELECT * FROM pg_locks",
    "SELECT pg_get_userbyid(oid) FROM generate_series(16384, 40000) AS oid",
    "SELECT pg_has_role(16400::oid, 16401::oid, 'MEMBER')",
    "SELECT * FROM pg_db_role_setting",
    "SELECT trackside_hub.roles_of('keeper')",
    "SELECT * FROM information_schema.enabled_roles",
]
"""Who the others are."""


@pytest.mark.parametrize("query", [*COUNTS, *MEMBERS])
@pytest.mark.parametrize("login", ["crew", "reader"])
def test_nothing_of_the_others_is_answered(spied: tuple[Hub, Hub], query: str, login: str) -> None:
    mine, _ = spied
    with psycopg.connect(mine.url(getattr(mine, login))) as connection:
        try:
            rows = connection.execute(query).fetchall()
        except (InsufficientPrivilege, UndefinedTable, psycopg.errors.SyntaxError):
            return
    assert rows == [] or query.startswith("SELECT last_value"), rows


def test_no_team_is_betrayed_by_any_text_of_the_catalogue(spied: tuple[Hub, Hub]) -> None:
    """Every relation that this login can read, whole, and the names of every number of a role."""
    mine, other = spied
    told: list[str] = []
    with psycopg.connect(mine.url(mine.crew), autocommit=True) as connection:
        relations = connection.execute(
            "SELECT oid::regclass::text FROM pg_class WHERE relkind IN ('r', 'v', 'p', 'm')"
            " AND has_any_column_privilege(oid, 'SELECT')"
        ).fetchall()
        assert len(relations) > 50
        for (relation,) in relations:
            try:
                rows = connection.execute(f"SELECT * FROM {relation}").fetchall()
            except psycopg.Error:
                continue
            told.append(f"{relation}: {rows}")
        named = "SELECT oid::regrole::text FROM generate_series(16384, 40000) AS oid"
        roles = [name for (name,) in connection.execute(named).fetchall()]
        told += roles
    everything = "\n".join(told).casefold()
    for word in (*OTHER.casefold().split(), "secret", "harrow", "fen_"):
        assert word not in everything, word
    assert other.roles.crew in roles  # numbers have names: that stays open, so names say nothing
    assert re.fullmatch(r"trackside_[0-9a-f]{16}_crew", other.roles.crew)


def test_a_teams_number_does_not_count_the_teams(spied: tuple[Hub, Hub]) -> None:
    ids = [hub.team().id for hub in spied]
    assert all(number > 1000 for number in ids)  # one in a million that this fails by chance


def test_another_team_and_no_team_are_answered_alike(spied: tuple[Hub, Hub]) -> None:
    mine, other = spied
    for asked in ("page(%s, 0, 9, 9, 9)", "some(%s, '{1}')", "missing(%s, '{}')", "link(%s, 1)"):
        said = set()
        for team in (other.team().id, 12345, -1):
            with pytest.raises(InsufficientPrivilege) as refused:
                mine.ask(f"SELECT trackside_hub.{asked}", team, user=mine.crew)
            said.add(refused.value.diag.message_primary)
        assert said == {"this login is of no such team"}


def test_what_is_closed_leaves_the_keeper_and_monitors_their_work(postgres: Server) -> None:
    hub = make_hub(postgres, "watched")
    monitor = postgres.new_login("monitor", "pg_monitor")
    for user in ("keeper", monitor):
        assert hub.ask("SELECT count(*) FROM pg_stat_activity", user=user)
        query = "SELECT reltuples FROM pg_class WHERE relname = 'revision'"
        assert hub.ask(query, user=user)
    with hub.wire("keeper") as line:
        assert set_up(line, "Harrow Fen").is_closed


def test_a_keeper_who_may_not_close_is_told_so(postgres: Server, cli: Cli) -> None:
    database = postgres.new_database("open")
    postgres.ask("postgres", "CREATE ROLE plain LOGIN CREATEROLE PASSWORD 'x'")
    postgres.ask("postgres", "GRANT CREATE ON DATABASE open TO plain")
    made = cli("hub", "init", postgres.url("plain", database), "--team", "Harrow Fen")
    assert "statistics stay open" in made.out
    again = cli("hub", "init", postgres.url("keeper", database), "--team", "Harrow Fen")
    assert "statistics stay open" not in again.out
    crew = made.out.partition("its roles:\n  ")[2].split()[0]
    hub = Hub(postgres, database, None, postgres.new_login("of_plain", crew), "")
    assert hub.team().may_append  # the owner of the functions still sees who is a member
    with wire_to(address_of(postgres.url("plain", database))) as line:
        assert set_up(line, "Red Kite").is_closed


def test_parts_are_chosen_once(one: Hub, cli: Cli) -> None:
    url = one.server.url(database=one.database)
    for team in ("Harrow Fen", "Red Kite"):
        result = cli("hub", "init", url, "--team", team, "--partitions", "4")
        assert result.status == 2
        assert "can be parted only when it is made" in result.err
    assert one.ask("SELECT name FROM trackside_hub.team") == [("Harrow Fen",)]


# ── a hub of the first version ──────────────────────────────────────────────────────────────────


def test_a_hub_of_the_first_version_is_brought_up_to_date(postgres: Server, laptop: Laptop) -> None:
    database = postgres.new_database("first")
    postgres.ask(database, FIRST_HUB.read_text("utf-8"))
    crew = postgres.new_login("mara of the first", "trackside_harrow_fen_12ab34_crew")
    old = Hub(postgres, database, None, crew, "")
    with old.hold() as connection:
        append_bare(connection, 1, "of before")
    with pytest.raises(HubError, match=r"older trackside: its administrator.*hub init"):
        old.team()
    with wire_to(address_of(postgres.url(database=database))) as line:
        roles = set_up(line, "Harrow Fen")
        assert set_up(line, "Red Kite").is_new
    assert not roles.is_new
    assert "harrow" not in roles.crew
    first, second = laptop("one"), laptop("two")
    fill(first, 3)
    assert old.meet(first)[:2] == (1, 3)
    assert old.meet(second).pulled == 4
    agree(first, second)
    with pytest.raises(InsufficientPrivilege):
        old.ask("SELECT FROM trackside_hub.revision", user=crew)
    assert old.ask("SELECT oid FROM pg_roles WHERE rolname ~ 'harrow_fen_12ab34'") == []


# ── junk, and whoever stands in the way ─────────────────────────────────────────────────────────


def give_junk(hub: Hub, count: int, user: str | None = None) -> None:
    """So many objects that are no revisions."""
    envelopes = [f'{{"junk":{number}}}' for number in range(count)]
    names = [bytes.fromhex(digest(envelope)) for envelope in envelopes]
    with hub.hold(user) as connection:
        query = "SELECT trackside_hub.append(%s, %s::bytea[], %s::text[])"
        connection.execute(query, (hub.team().id, names, envelopes))


def test_junk_is_set_aside_and_handed_out_again(one: Hub, laptop: Laptop, cli: Cli) -> None:
    villain = one.server.new_login(f"villain of {one.crew}", one.roles.crew)
    first, second, third = laptop("one"), laptop("two"), laptop("three")
    fill(first, 3)
    one.meet(first)
    give_junk(one, 60, villain)
    fill(first, 4)
    met = one.meet(first)
    assert (met.pushed, met.left) == (4, 60)
    assert len(met.problems) == syncing.SAID + 1
    assert met.problems[-1] == f"And {60 - syncing.SAID} more like these."
    url = one.server.url(database=one.database)
    words = ("hub", "set-aside", url, "--team", "Harrow Fen")
    done = cli(*words, "--by", villain, "--json").json
    assert (done["revisions"], done["given_by"]) == (60, {villain: 60})
    assert cli(*words, "--by", villain).out == "0 revisions set aside\n"
    assert one.meet(second) == (7, 0, 0, ())
    one.meet(first)
    assert one.meet(first) == (0, 0, 0, ())
    agree(first, second)
    assert "10 revisions handed out again" in cli(*words, "--numbers", "4-13", "--back").out
    assert one.meet(second) == (0, 0, 0, ())
    assert one.meet(second, anew=True).left == 10
    assert one.meet(third).left == 10
    for bad in (["--numbers", "x"], ["--numbers", "3-"], []):
        assert cli(*words, *bad).status == (0 if bad == ["--numbers", "3-"] else 2)
    wrong = cli("hub", "set-aside", url, "--team", "Nobody", "--by", villain)
    assert "There is no team “Nobody”" in wrong.err
    crew = cli("hub", "set-aside", one.url(villain), "--team", "Harrow Fen", "--numbers", "1")
    assert "does not allow this" in crew.err


def test_the_same_of_a_parted_hub(hub: Hub, laptop: Laptop) -> None:
    give_junk(hub, 5)
    with hub.wire("keeper") as line:
        assert set_aside(line, "Harrow Fen", (1, 4)) == {hub.crew: 4}
    assert hub.meet(laptop("one")).left == 1


def test_junk_starves_none_of_what_a_newer_program_can_take(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch
) -> None:
    give_junk(one, 70)
    with one.hold() as connection:
        odd = sealed("odd", op="replace")
        query = "SELECT trackside_hub.append(%s, %s::bytea[], %s::text[])"
        connection.execute(query, (one.team().id, [bytes.fromhex(odd.rev)], [odd.envelope]))
    first = laptop("one")
    assert one.meet(first).left == 71
    monkeypatch.setattr("trackside.logbook.revisions._OPS", ("put", "set", "drop", "replace"))
    assert sum(one.meet(first).pulled for _ in range(2)) == 1


def test_a_flood_does_not_keep_back_what_is_new_here(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = laptop("one"), laptop("two")
    monkeypatch.setattr(syncing, "ROWS", 20)
    give_junk(one, 50)
    first.write(note("urgent"))
    given: list[str] = []

    def watching(self: syncing._Meeting, top: int, pull=syncing._Meeting._pull) -> None:
        given.append(f"{self.pushed} given before a pull")
        pull(self, top)

    monkeypatch.setattr(syncing._Meeting, "_pull", watching)
    one.meet(first)
    assert given[0] == "1 given before a pull"
    assert one.meet(second).pulled == 1
    agree(first, second)


def test_who_holds_the_lock_makes_others_wait_two_seconds(one: Hub, laptop: Laptop) -> None:
    holder = one.hold()
    append_bare(holder, one.team().id, "held")
    first = laptop("one")
    fill(first, 2)
    began = time.monotonic()
    with pytest.raises(HubAway, match=r"Another member's transfer holds.*run it again in a minute"):
        one.meet(first)
    assert time.monotonic() - began < 4
    began = time.monotonic()
    assert one.meet(laptop("eye"), one.reader).pulled == 0  # who reads waits for nobody
    assert time.monotonic() - began < 2
    holder.rollback()
    holder.close()
    assert one.meet(first).pushed == 2


def test_sixteen_laptops_of_one_team_all_get_through(one: Hub, tmp_path: Path) -> None:
    from trackside.logbook import Logbook

    failed: list[HubAway] = []

    def go(number: int) -> None:
        name = f"n{number}"
        with Logbook.open(tmp_path / f"{name}.trackside", device=name) as logbook:
            fill(logbook, 50 + number)
            for _ in range(5):
                try:
                    one.meet(logbook)
                    return
                except HubAway as error:
                    failed.append(error)

    threads = [threading.Thread(target=go, args=(number,)) for number in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(failed) < 16
    whole = sum(50 + number for number in range(16))
    assert one.ask("SELECT count(*) FROM trackside_hub.revision") == [(whole,)]


def test_a_team_by_its_name_only_for_the_keeper(one: Hub) -> None:
    with one.wire("keeper") as line, pytest.raises(BadInput, match="no team"):
        set_aside(line, "Red Kite")
    with one.wire() as line:
        assert team_of(line).name == "Harrow Fen"
