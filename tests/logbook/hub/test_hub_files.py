"""Files that notes name, by way of a real hub: carried both ways when asked, proved by their hash
on either side, a team's own, and none in the way of the others."""

from __future__ import annotations

import hashlib
from pathlib import Path

import psycopg
import pytest
from psycopg.errors import CheckViolation, InsufficientPrivilege

from tests.logbook.hub.conftest import Hub, make_hub
from tests.logbook.hub.test_hub_privacy import FIRST_HUB
from tests.logbook.hub.test_hub_sync import Laptop, agree
from tests.postgres import Server
from tests.running import Cli
from trackside.errors import HubAway
from trackside.logbook import Logbook, attached, put
from trackside.logbook.attached import Carried, folder_of
from trackside.logbook.hub import (
    FilesMet,
    address_of,
    connection,
    files,
    meet_files,
    set_up,
    wire_to,
)
from trackside.logbook.hub.connection import HubConnection
from trackside.logbook.hub.doors import from_first
from trackside.logbook.hub.schema import ASIDE
from trackside.logbook.hub.team import team_of
from trackside.records import Note
from trackside.records.note import NamedFile

PHOTO = bytes(range(256)) * 9000
"""2.3 MB with every byte: three parts."""
REFUSING = """
CREATE FUNCTION trackside_hub.stop() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION USING ERRCODE = '{state}', MESSAGE = 'not this one';
END $$;
CREATE TRIGGER stop BEFORE INSERT ON trackside_hub.file FOR EACH ROW
  WHEN (octet_length(NEW.content) > 1000) EXECUTE FUNCTION trackside_hub.stop();
"""


def name_of(content: bytes) -> bytes:
    """The name by which a content is kept, of hashlib and not of the program."""
    return hashlib.sha256(content).digest()


def noted(logbook: Logbook, tmp_path: Path, **contents: bytes) -> list[NamedFile]:
    """A note that names those files, which are beside the logbook."""
    run = put("session", {"kind": "race"})
    kept = []
    for name, content in contents.items():
        (tmp_path / f"{name}.jpg").write_bytes(content)
        kept.append(attached.keep(folder_of(logbook.path), str(tmp_path / f"{name}.jpg")))
    logbook.write(run, put("note", Note(session=run.entity, files=tuple(kept)).body()))
    return kept


def meet(hub: Hub, logbook: Logbook, user: str | None = None) -> FilesMet:
    """Revisions, then files."""
    with hub.wire(user) as wire:
        hub.meet(logbook, user)
        return meet_files(logbook, wire, team_of(wire))


def beside(logbook: Logbook) -> dict[str, bytes]:
    """What is in the folder beside a logbook."""
    folder = folder_of(logbook.path)
    return {one.name: one.read_bytes() for one in folder.iterdir()} if folder.is_dir() else {}


def kept_on(hub: Hub) -> dict[bytes, bytes]:
    """What the hub has, as its keeper sees it."""
    return dict(hub.ask("SELECT name, content FROM trackside_hub.file"))


def test_files_go_both_ways_and_once(hub: Hub, laptop: Laptop, tmp_path: Path) -> None:
    one, two = laptop("one"), laptop("two")
    noted(one, tmp_path, tyre=PHOTO)
    noted(two, tmp_path, sheet=b"sheet", again=b"sheet")
    assert meet(hub, one) == (Carried(0, 1, ()), Carried(1, 0, ()))
    assert meet(hub, two) == (Carried(1, 1, ()), Carried(1, 1, ()))
    assert meet(hub, one) == (Carried(1, 1, ()), Carried(0, 2, ()))
    whole = {name_of(content): content for content in (PHOTO, b"sheet")}
    assert kept_on(hub) == whole
    for logbook in (one, two):
        assert beside(logbook) == {name.hex(): content for name, content in whole.items()}
        assert meet(hub, logbook) == (Carried(0, 2, ()), Carried(0, 2, ()))
    agree(one, two)


def test_none_goes_without_being_asked_for(one: Hub, laptop: Laptop, tmp_path: Path) -> None:
    noted(laptop("one"), tmp_path, tyre=PHOTO)
    one.meet(laptop("one"))
    one.meet(laptop("two"))
    assert kept_on(one) == {}
    assert beside(laptop("two")) == {}


def test_only_what_is_lacking_crosses_the_line(
    one: Hub, laptop: Laptop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = laptop("one"), laptop("two")
    noted(first, tmp_path, tyre=PHOTO)
    meet(one, first)
    meet(one, second)
    noted(first, tmp_path, late=b"late")
    meet(one, first)
    crossed: list[object] = []

    def counted(self, query, *values, asked=HubConnection.ask, **how):
        crossed.extend(values[1:] if query in (files._PART, files._KEEP) else ())
        return asked(self, query, *values, **how)

    monkeypatch.setattr(HubConnection, "ask", counted)
    assert meet(one, second).taken == Carried(1, 1, ())
    assert crossed == [name_of(b"late"), 0, 4]


def test_a_reader_takes_and_does_not_give(one: Hub, laptop: Laptop, tmp_path: Path) -> None:
    first, second = laptop("one"), laptop("two")
    noted(first, tmp_path, tyre=b"tyre")
    meet(one, first)
    noted(second, tmp_path, own=b"own")
    assert meet(one, second, one.reader) == (Carried(1, 1, ()), None)
    assert list(kept_on(one).values()) == [b"tyre"]


def test_what_neither_has_is_said(one: Hub, laptop: Laptop, tmp_path: Path) -> None:
    first = laptop("one")
    [lost, _] = noted(first, tmp_path, lost=b"lost", there=b"there")
    (folder_of(first.path) / lost.sha256).unlink()
    met = meet(one, first)
    assert met.taken.problems == ("lost.jpg is not in the hub of Harrow Fen",)
    assert met.given == Carried(1, 0, ())


def test_what_was_changed_here_is_not_given_and_not_written_over(
    one: Hub, laptop: Laptop, tmp_path: Path
) -> None:
    first, second = laptop("one"), laptop("two")
    [bad, _] = noted(first, tmp_path, bad=b"good", fine=b"fine")
    place = folder_of(first.path) / bad.sha256
    place.write_bytes(b"evil")
    met = meet(one, first)
    assert "bad.jpg was changed in" in met.taken.problems[0]
    assert met.given == Carried(1, 0, ())
    assert list(kept_on(one).values()) == [b"fine"]
    (folder_of(second.path)).mkdir()
    (folder_of(second.path) / bad.sha256).write_bytes(b"good")
    assert meet(one, second).given == Carried(1, 1, ())
    assert "move" in meet(one, first).taken.problems[0]
    assert place.read_bytes() == b"evil"


@pytest.mark.parametrize("spoilt", [b"evil", b"goo", b"good and more"])
def test_what_was_changed_on_the_hub_is_not_taken(
    one: Hub, laptop: Laptop, tmp_path: Path, spoilt: bytes
) -> None:
    first, second = laptop("one"), laptop("two")
    [bad, fine] = noted(first, tmp_path, bad=b"good", fine=b"fine")
    meet(one, first)
    one.ask("ALTER TABLE trackside_hub.file DISABLE TRIGGER USER")
    one.ask("ALTER TABLE trackside_hub.file DROP CONSTRAINT file_is_what_was_named")
    one.ask("UPDATE trackside_hub.file SET content = %s WHERE name = %s", spoilt, name_of(b"good"))
    met = meet(one, second)
    if spoilt.startswith(b"good"):  # longer than was named: what was named is whole in it
        assert met.taken == Carried(2, 0, ())
        assert beside(second)[bad.sha256] == b"good"
        return
    assert met.taken == Carried(1, 0, ("bad.jpg was changed in the hub of Harrow Fen",))
    assert beside(second) == {fine.sha256: b"fine"}


def test_what_is_too_large_is_said_and_the_rest_goes_on(
    one: Hub, laptop: Laptop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = laptop("one"), laptop("two")
    noted(first, tmp_path, film=b"f" * 2000, photo=b"photo")
    with monkeypatch.context() as smaller:
        smaller.setattr(attached, "MOST_BYTES", 1999)
        assert meet(one, first).given == Carried(1, 0, ("film.jpg is larger than 0 MB",))
    assert meet(one, first).given == Carried(1, 1, ())
    monkeypatch.setattr(attached, "MOST_BYTES", 1999)
    assert meet(one, second).taken == Carried(1, 0, ("film.jpg is larger than 0 MB",))


def test_what_the_hub_refuses_is_said_and_the_rest_goes_on(
    one: Hub, laptop: Laptop, tmp_path: Path
) -> None:
    first = laptop("one")
    noted(first, tmp_path, film=b"f" * 2000, photo=b"photo")
    one.ask(REFUSING.format(state="23514"))
    given = meet(one, first).given
    assert given is not None
    assert (given.copied, given.refused) == (1, "")
    assert "film.jpg: The hub refused what it was given (not this one)" in given.problems[0]


def test_a_full_hub_is_offered_no_more(one: Hub, laptop: Laptop, tmp_path: Path) -> None:
    first, second = laptop("one"), laptop("two")
    noted(second, tmp_path, other=b"other")
    meet(one, second)
    noted(first, tmp_path, film=b"f" * 2000, photo=b"photo")
    one.ask(REFUSING.format(state="53100"))
    met = meet(one, first)
    assert met.taken.copied == 1
    assert met.given is not None
    assert met.given.copied == 0
    assert "The hub has no room left" in met.given.refused
    assert list(kept_on(one).values()) == [b"other"]


def test_a_full_disk_here_takes_no_more_and_gives_still(
    one: Hub, laptop: Laptop, tmp_path: Path
) -> None:
    first, second = laptop("one"), laptop("two")
    noted(first, tmp_path, tyre=b"tyre")
    meet(one, first)
    folder_of(second.path).write_text("a file where the folder should be")
    met = meet(one, second)
    assert "cannot be written" in met.taken.refused
    assert met.given == Carried(0, 1, ())


def test_a_line_that_goes_keeps_what_went_through(
    one: Hub, laptop: Laptop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = laptop("one"), laptop("two")
    noted(first, tmp_path, a=b"a", b=PHOTO)
    meet(one, first)
    asked: list[object] = []

    def cut(self, query, *values, ask=HubConnection.ask, **how):
        if query == files._PART:
            asked.append(values[2])
            if len(asked) == 3:  # within the second file
                self._connection.close()
        return ask(self, query, *values, **how)

    with monkeypatch.context() as cutting:
        cutting.setattr(HubConnection, "ask", cut)
        with pytest.raises(HubAway, match="files so far: 1 fetched, 0 given"):
            meet(one, second)
    assert list(beside(second).values()) == [b"a"]
    assert meet(one, second).taken == Carried(1, 1, ())


def test_a_file_may_take_longer_than_a_question(
    one: Hub, laptop: Laptop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both limits, the server's and the laptop's own, made short; the file takes as long as on a
    slow line."""
    first = laptop("one")
    noted(first, tmp_path, film=b"f" * 2000)
    one.meet(first)
    slow = REFUSING.replace("RAISE EXCEPTION", "PERFORM pg_sleep(1); RETURN NEW; RAISE EXCEPTION")
    one.ask(slow.format(state="23514"))
    monkeypatch.setattr(connection, "SLOWEST_S", 0.5)
    with one.wire() as wire:
        wire.ask("SELECT set_config('statement_timeout', '500ms', false)")
        assert meet_files(first, wire, team_of(wire)).given == Carried(1, 0, ())


def test_one_of_the_largest_size_goes_through_and_no_larger(
    one: Hub, laptop: Laptop, tmp_path: Path
) -> None:
    first, second = laptop("one"), laptop("two")
    largest = b"\x00\xff" * (attached.MOST_BYTES // 2)
    noted(first, tmp_path, largest=largest)
    assert meet(one, first).given == Carried(1, 0, ())
    assert meet(one, second).taken == Carried(1, 0, ())
    assert list(beside(second).values()) == [largest]
    larger = largest + b"x"
    with pytest.raises(CheckViolation, match="file_fits"):
        give(one, one.crew, one.team().id, larger)


# ── whoever attacks it ──────────────────────────────────────────────────────────────────────────


def give(hub: Hub, user: str, team: int, content: bytes, name: bytes | None = None) -> None:
    """As no program of ours would."""
    query = "SELECT trackside_hub.keep_file(%s, %s, %s)"
    hub.ask(query, team, name or name_of(content), content, user=user)


def test_the_server_proves_a_file(one: Hub) -> None:
    team = one.team().id
    for content, name in ((b"evil", name_of(b"good")), (b"evil", b"x"), (b"evil", b"")):
        with pytest.raises(CheckViolation, match="file_is_what_was_named"):
            one.ask("SELECT trackside_hub.keep_file(%s, %s, %s)", team, name, content,
                    user=one.crew)  # fmt: skip
    with pytest.raises(CheckViolation, match="file_fits"):
        give(one, one.crew, team, b"")
    for name, content in ((None, b"x"), (name_of(b"x"), None)):
        with pytest.raises(psycopg.errors.NotNullViolation):
            one.ask("SELECT trackside_hub.keep_file(%s, %s::bytea, %s::bytea)", team, name,
                    content, user=one.crew)  # fmt: skip
    assert kept_on(one) == {}


def test_another_team_learns_nothing_of_a_file(one: Hub) -> None:
    """Not its bytes, not its size, not even that the hub has it: by any of the three functions,
    under its own team's number or the other's."""
    other = one.add_team("Red Kite")
    name, theirs = name_of(PHOTO), other.team().id
    give(one, one.crew, one.team().id, PHOTO)
    for user in (other.crew, other.reader):
        missing = "SELECT trackside_hub.missing_files(%s, ARRAY[%s::bytea])"
        assert other.ask(missing, theirs, name, user=user) == [(name,)]
        part = "SELECT trackside_hub.file_part(%s, %s, 0, 99)"
        assert other.ask(part, theirs, name, user=user) == [(None,)]
        for team in (one.team().id, 12345, -1):
            for query in (missing, part):
                with pytest.raises(InsufficientPrivilege, match="this login is of no such team"):
                    other.ask(query, team, name, user=user)
    said = set()
    for team in (one.team().id, 12345, -1):
        for content in (PHOTO, b"new"):
            with pytest.raises(InsufficientPrivilege) as refused:
                give(other, other.crew, team, content)
            said.add(refused.value.diag.message_primary)
    assert said == {"this login may not give for this team"}
    give(other, other.crew, theirs, PHOTO)  # the same file is another row in another team
    assert len(one.ask("SELECT team FROM trackside_hub.file")) == 2


def test_a_reader_and_a_stranger_give_nothing(one: Hub) -> None:
    team = one.team().id
    with pytest.raises(InsufficientPrivilege, match="permission denied for function keep_file"):
        give(one, one.reader, team, b"x")
    for group in ("reader", "crew"):
        stranger = one.server.new_login(f"{group} of none, {one.crew}", f"trackside_hub_{group}")
        with pytest.raises(InsufficientPrivilege):
            give(one, stranger, team, b"x")
    with pytest.raises(InsufficientPrivilege):
        one.ask("SELECT trackside_hub.missing_files(%s, '{}')", team, user=stranger)
    assert kept_on(one) == {}


@pytest.mark.parametrize(
    "statement",
    [
        "SELECT FROM trackside_hub.file",
        "EXPLAIN SELECT FROM trackside_hub.file",
        "COPY trackside_hub.file TO STDOUT",
        "UPDATE trackside_hub.file SET content = ''",
        "DELETE FROM trackside_hub.file",
        "TRUNCATE trackside_hub.file",
        "INSERT INTO trackside_hub.file (team, name, content) VALUES (1, sha256('x'), 'x')",
        "DROP TABLE trackside_hub.file",
        "ALTER TABLE trackside_hub.file DISABLE TRIGGER ALL",
        "ALTER TABLE trackside_hub.file DISABLE ROW LEVEL SECURITY",
        "CREATE OR REPLACE FUNCTION trackside_hub.refuse_file() RETURNS trigger LANGUAGE sql AS ''",
        "SELECT pg_relation_size('trackside_hub.file')",
        "SELECT pg_total_relation_size('trackside_hub.file')",
        "SELECT pg_stat_get_live_tuples('trackside_hub.file'::regclass)",
        "SELECT reltuples FROM pg_class WHERE relname = 'file'",
    ],
)
@pytest.mark.parametrize("login", ["crew", "reader"])
def test_no_login_reaches_the_table(holding: Hub, statement: str, login: str) -> None:
    with pytest.raises(InsufficientPrivilege):
        holding.ask(statement, user=getattr(holding, login))
    assert list(kept_on(holding).values()) == [b"kept"]


def test_no_login_reads_what_is_stored_aside(holding: Hub) -> None:
    """PostgreSQL keeps long values in a table of their own."""
    [(aside,)] = holding.ask(
        "SELECT reltoastrelid::regclass::text FROM pg_class WHERE relname = 'file'"
        " AND relnamespace = 'trackside_hub'::regnamespace"
    )
    with pytest.raises(InsufficientPrivilege):
        holding.ask(f"SELECT FROM {aside}", user=holding.crew)


@pytest.fixture(scope="module")
def holding(postgres: Server) -> Hub:
    """A hub with one file, that nothing may change."""
    hub = make_hub(postgres, "holding")
    give(hub, hub.crew, hub.team().id, b"kept")
    return hub


def test_the_keeper_deletes_and_changes_nothing(one: Hub) -> None:
    give(one, one.crew, one.team().id, b"kept")
    for statement in ("UPDATE trackside_hub.file SET content = ''", "TRUNCATE trackside_hub.file"):
        with pytest.raises(InsufficientPrivilege, match="a file is never changed"):
            one.ask(statement)
    assert list(kept_on(one).values()) == [b"kept"]
    one.ask("DELETE FROM trackside_hub.file")
    assert kept_on(one) == {}


def test_a_file_waits_for_nobody_who_gives_revisions(
    one: Hub, laptop: Laptop, tmp_path: Path
) -> None:
    first = laptop("one")
    noted(first, tmp_path, tyre=b"tyre")
    one.meet(first)
    with one.hold() as holder, one.wire() as wire:
        query = "SELECT trackside_hub.append(%s, '{}', '{}')"
        holder.execute(query, (one.team().id,))  # holds the team's row until it ends
        assert meet_files(first, wire, team_of(wire)).given == Carried(1, 0, ())


# ── a hub that was set up before, and the command ───────────────────────────────────────────────


def test_a_hub_that_was_set_up_before_says_what_its_keeper_does(
    postgres: Server, laptop: Laptop, tmp_path: Path, cli: Cli
) -> None:
    """The first hub's statements, and those that made it the second: that one had no files."""
    database = postgres.new_database("before_files")
    first_hub = FIRST_HUB.read_text("utf-8") + from_first(ASIDE)
    for its, own in (("12ab34", "77cd56"), ("3f6d0c1e", "4a7d0c1e")):  # roles are the server's
        first_hub = first_hub.replace(its, own)
    postgres.ask(database, first_hub)
    [(crew_role,)] = postgres.ask(database, "SELECT crew FROM trackside_hub.team")
    crew = postgres.new_login("mara before files", crew_role)
    old = Hub(postgres, database, None, crew, "")
    first = laptop("one")
    noted(first, tmp_path, tyre=b"tyre")
    met = meet(old, first)
    assert met.given is None
    assert met.taken.refused == (
        "The hub was set up before it could take files: its administrator adds that with "
        "trackside hub init URL --team NAME."
    )
    assert old.meet(first) == (0, 0, 0, ())  # the revisions went through
    url = postgres.url(database=database)
    again = cli("hub", "init", postgres.url(crew, database), "--team", "Harrow Fen")
    assert "does not allow this" in again.err
    assert cli("hub", "init", url, "--team", "Harrow Fen").status == 0
    assert meet(old, first).given == Carried(1, 0, ())
    with wire_to(address_of(url)) as wire:
        assert not set_up(wire, "Harrow Fen").is_new
    assert list(kept_on(old).values()) == [b"tyre"]


def test_the_command(one: Hub, cli: Cli, tmp_path: Path) -> None:
    first, second = tmp_path / "one.trackside", tmp_path / "two.trackside"
    cli("demo", "--into", first)
    (tmp_path / "tyre.jpg").write_bytes(PHOTO)
    cli("--log", first, "file", "add", tmp_path / "tyre.jpg", "last")
    assert "files_given" not in cli("--log", first, "hub", one.url(), "--json").json
    given = cli("--log", first, "hub", "--files")
    assert "3 files copied to the hub of Harrow Fen, 0 there already" in given.out, (
        "two are the demo's"
    )
    taken = cli("--log", second, "hub", one.url(one.reader), "--files", "--json").json
    assert taken["files_taken"] == {"copied": 3, "same": 0, "problems": [], "refused": ""}
    assert "files_given" not in taken
    assert (tmp_path / "two.trackside-files" / name_of(PHOTO).hex()).read_bytes() == PHOTO
    (tmp_path / "two.trackside-files" / name_of(PHOTO).hex()).write_bytes(b"changed")
    said = cli("--log", second, "hub", one.url(), "--files")
    assert "  ! tyre.jpg was changed in" in said.out
    assert said.status == 0
