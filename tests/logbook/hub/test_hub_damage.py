"""A hub, or a logbook, that was put back, damaged or tampered with: noticed, named and mended."""

from __future__ import annotations

import psycopg
import pytest

from tests.logbook.hub.conftest import Hub
from tests.logbook.hub.test_hub_sync import Laptop, agree, append_bare, fill, note, sealed
from trackside.errors import HubError
from trackside.logbook import Logbook
from trackside.logbook.hub import syncing


def test_a_hub_put_back_from_a_backup_is_noticed_and_filled_again(one: Hub, laptop: Laptop) -> None:
    first, second = laptop("one"), laptop("two")
    fill(first, 20)
    one.meet(first)
    one.meet(second)
    undo_on_the_hub(one, 10)
    second.write(note("meanwhile"))
    assert "gone back" in one.meet(second).problems[0]
    assert one.ask("SELECT count(*) FROM trackside_hub.revision") == [(21,)]
    assert one.meet(first) == (1, 0, 0, ())  # all it knew is there again, in its old order
    agree(first, second)


def undo_on_the_hub(hub: Hub, last: int) -> None:
    """What putting back an older copy comes to."""
    hub.ask("ALTER TABLE trackside_hub.revision DISABLE TRIGGER USER")
    hub.ask("DELETE FROM trackside_hub.revision WHERE number > %s", last)
    hub.ask(
        "UPDATE trackside_hub.team SET number = %s, chain = (SELECT chain FROM"
        " trackside_hub.revision WHERE number = %s)",
        last, last,
    )  # fmt: skip
    hub.ask("ALTER TABLE trackside_hub.revision ENABLE TRIGGER USER")


def test_a_logbook_put_back_from_a_backup_takes_its_mark_along(
    one: Hub, laptop: Laptop, tmp_path
) -> None:
    first, second = laptop("one"), laptop("two")
    fill(first, 10)
    one.meet(first)
    one.meet(second)
    second.back_up(tmp_path / "older.trackside")
    fill(first, 11)
    one.meet(first)
    one.meet(second)
    with Logbook.open(tmp_path / "older.trackside", device="two") as older:
        assert one.meet(older).pulled == 11
        agree(first, older)


def test_what_was_altered_on_the_hub_is_named_and_left(one: Hub, laptop: Laptop) -> None:
    first, second = laptop("one"), laptop("two")
    fill(first, 12)
    one.meet(first)
    spoil = (
        "ALTER TABLE trackside_hub.revision DISABLE TRIGGER USER;"
        "ALTER TABLE trackside_hub.revision DROP CONSTRAINT is_what_was_written;"
        'UPDATE trackside_hub.revision SET envelope = replace(envelope, \'"words":"\', {}) '
        "WHERE number = 4"
    )
    one.ask(spoil.format('\'"words":"not \''))
    met = one.meet(second)
    assert (met.pulled, met.left) == (11, 1)
    assert met.problems == ("Revision 4 on the hub is not what was written down.",)
    one.ask("UPDATE trackside_hub.revision SET envelope = replace(envelope, '\"not ', '\"')")
    assert one.meet(second) == (1, 0, 0, ())
    agree(first, second)


def test_what_was_taken_out_on_the_hub_is_named(one: Hub, laptop: Laptop) -> None:
    first, second = laptop("one"), laptop("two")
    fill(first, 12)
    one.meet(first)
    one.ask("ALTER TABLE trackside_hub.revision DISABLE TRIGGER USER")
    one.ask("DELETE FROM trackside_hub.revision WHERE number = 5")
    met = one.meet(second)
    assert met.pulled == 11
    assert "broken at revision 5" in met.problems[0]
    one.meet(first, anew=True)
    assert one.meet(second).pulled == 1
    agree(first, second)


def test_what_needs_a_newer_program_is_tried_again(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = laptop("two")
    with one.hold() as connection:
        odd = sealed("odd", op="replace")
        query = "SELECT trackside_hub.append(%s, %s::bytea[], %s::text[])"
        connection.execute(query, (one.team().id, [bytes.fromhex(odd.rev)], [odd.envelope]))
        append_bare(connection, one.team().id, "plain")
    for _ in range(2):
        met = one.meet(second)
        assert met.left == 1
        assert met.problems == ("Revision 1 on the hub needs a newer trackside.",)
    monkeypatch.setattr("trackside.logbook.revisions._OPS", ("put", "set", "drop", "replace"))
    assert one.meet(second) == (1, 0, 0, ())


def test_a_damaged_revision_here_is_named_and_not_given(one: Hub, laptop: Laptop) -> None:
    first = laptop("one")
    fill(first, 5)

    def spoil(sql) -> None:
        sql.execute("DROP TRIGGER revision_never_changes")
        sql.execute("UPDATE revision SET envelope = replace(envelope, '\"2 ', '\"9 ') WHERE id = 3")

    first.within(spoil)
    met = one.meet(first)
    assert met.pushed == 4
    assert "trackside verify" in met.problems[0]


@pytest.mark.parametrize("megabytes", [17, pytest.param(50, marks=pytest.mark.benchmark)])
def test_a_large_envelope(
    one: Hub, laptop: Laptop, monkeypatch: pytest.MonkeyPatch, megabytes: int
) -> None:
    """Not given by the program, and refused by the server if another one tries."""
    first, second = laptop("one"), laptop("two")
    first.write(note("small"))
    first.write(note("y" * (2 << 20)))
    first.write(note("x" * (1 << 19)))
    monkeypatch.setattr(syncing, "LONGEST", 1 << 20)
    met = one.meet(first)
    assert met.pushed == 2
    assert "too long for the hub" in met.problems[0]
    assert one.meet(second).pulled == 2
    with one.hold() as connection, pytest.raises(psycopg.errors.CheckViolation, match="fits"):
        append_bare(connection, one.team().id, "z" * (megabytes << 20))


def test_a_hub_of_a_newer_program(one: Hub, laptop: Laptop) -> None:
    one.ask("UPDATE trackside_hub.about SET version = 99")
    with pytest.raises(HubError, match="newer trackside"):
        one.meet(laptop("one"))


def test_damaged_order_is_seen_by_the_link_too(one: Hub, laptop: Laptop) -> None:
    """Two rows that changed places keep their hashes; the links do not match."""
    first, second = laptop("one"), laptop("two")
    fill(first, 6)
    one.meet(first)
    one.ask("ALTER TABLE trackside_hub.revision DISABLE TRIGGER USER")
    for new, old in ((99, 2), (2, 3), (3, 99)):
        one.ask("UPDATE trackside_hub.revision SET number = %s WHERE number = %s", new, old)
    met = one.meet(second)
    assert met.pulled == 6
    assert "broken at revision 2" in met.problems[0]
