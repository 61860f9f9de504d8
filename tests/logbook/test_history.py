"""Looking back, undo and redo to any depth."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trackside.errors import BadInput
from trackside.logbook import Logbook, drop, patch, put


def session(logbook: Logbook, **body: object) -> str:
    return logbook.write(put("session", body))[0].entity


def test_undo_and_redo_walk_through_every_save(logbook: Logbook) -> None:
    entity = session(logbook, driver="0")
    for number in range(1, 6):
        logbook.write(patch("session", entity, {"driver": str(number)}))
    seen = []
    while logbook.undo():
        seen.append((logbook.state(entity) or {}).get("driver"))
    assert seen == ["4", "3", "2", "1", "0", None]
    seen = []
    while logbook.redo():
        seen.append((logbook.state(entity) or {}).get("driver"))
    assert seen == ["0", "1", "2", "3", "4", "5"]
    assert logbook.undo(steps=2)
    assert logbook.state(entity) == {"driver": "3"}
    assert logbook.redo(steps=9)
    assert logbook.state(entity) == {"driver": "5"}


def test_undo_says_what_it_changed(logbook: Logbook) -> None:
    entity = session(logbook, driver="Ines", FL={"camber": "-3"})
    logbook.write(patch("session", entity, {"FL.camber": "-2", "driver": None}))
    [undone] = logbook.undo()
    assert (undone.entity, undone.kind, undone.left) == (entity, "session", ())
    assert undone.changes == {"FL.camber": ("-2", "-3"), "driver": (None, "Ines")}
    [redone] = logbook.redo()
    assert redone.changes == {"FL.camber": ("-3", "-2"), "driver": ("Ines", None)}


def test_one_save_is_one_step(logbook: Logbook) -> None:
    first, second = put("session", {"driver": "a"}), put("note", {"words": "b"})
    logbook.write(first, second)
    assert len(logbook.undo()) == 2
    assert logbook.state(first.entity) is None
    assert logbook.state(second.entity) is None
    assert len(logbook.redo()) == 2
    assert logbook.state(second.entity) == {"words": "b"}


def test_a_fresh_save_ends_redo(logbook: Logbook) -> None:
    entity = session(logbook, driver="a")
    logbook.write(patch("session", entity, {"driver": "b"}))
    logbook.undo()
    logbook.write(patch("session", entity, {"start": "10:00"}))
    assert logbook.redo() == []
    logbook.undo()
    assert logbook.state(entity) == {"driver": "a"}


def test_undo_of_a_drop_brings_everything_back(logbook: Logbook) -> None:
    entity = session(logbook, driver="a", items={"Bar": "soft"})
    logbook.write(drop("session", entity))
    logbook.undo()
    assert logbook.state(entity) == {"driver": "a", "items": {"Bar": "soft"}}
    assert logbook.session_count() == 1


def test_undo_restores_even_an_empty_section(logbook: Logbook) -> None:
    entity = session(logbook, items={})
    logbook.write(patch("session", entity, {"items.Bar": "soft"}))
    logbook.undo()
    assert logbook.state(entity) == {"items": {}}


def test_undo_goes_on_after_the_program_was_closed(path: Path, tmp_path: Path) -> None:
    device = tmp_path / "config" / "device"
    with Logbook.open(path, device=device) as logbook:
        entity = session(logbook, driver="a")
        logbook.write(patch("session", entity, {"driver": "b"}))
        logbook.undo()
    with Logbook.open(path, device=device) as logbook:
        assert logbook.device == device.read_text().strip()
        logbook.redo()
        assert logbook.state(entity) == {"driver": "b"}
        logbook.undo(steps=2)
        assert logbook.state(entity) is None


def test_undo_of_one_entity_leaves_the_others(logbook: Logbook) -> None:
    entity = session(logbook, driver="a")
    logbook.write(patch("session", entity, {"driver": "b"}))
    other = session(logbook, driver="c")
    logbook.undo(entity=entity)
    assert logbook.state(entity) == {"driver": "a"}
    assert logbook.state(other) == {"driver": "c"}


def test_undo_is_of_this_device_and_leaves_what_others_changed_since(path: Path) -> None:
    with Logbook.open(path, device="a") as mine, Logbook.open(path, device="b") as theirs:
        entity = session(mine, driver="x", start="10:00")
        mine.write(patch("session", entity, {"driver": "y", "start": "11:00"}))
        theirs.write(patch("session", entity, {"driver": "z"}))
        [undone] = mine.undo()
        assert undone.left == ("driver",)
        assert undone.changes == {"start": ("11:00", "10:00")}
        assert mine.state(entity) == {"driver": "z", "start": "10:00"}
        [undone] = mine.undo()
        assert set(undone.left) == {"driver", "start"}
        assert mine.state(entity) == {"driver": "z", "start": "10:00"}
        assert mine.undo() == []


ACTION = st.one_of(
    st.tuples(
        st.just("set"),
        st.sampled_from(["a", "b"]),
        st.dictionaries(
            st.sampled_from(["driver", "FL.toe", "FL", "items.x"]),
            st.none() | st.integers(0, 2) | st.just({"typed": "1", "unit": "mm"}),
            max_size=2,
        ),
    ),
    st.tuples(st.just("put"), st.sampled_from(["a", "b"]), st.just({"FL": {"toe": 1}})),
    st.tuples(st.just("drop"), st.sampled_from(["a", "b"]), st.none()),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ACTION, max_size=12), st.lists(st.booleans(), max_size=20))
def test_undo_and_redo_are_a_walk_on_the_states(actions: list, walk: list[bool]) -> None:
    # The reference is a plain list of states and a finger on it.
    with Logbook.open(":memory:", device="d") as logbook:
        states = [(None, None)]
        for op, entity, body in actions:
            if op == "put":
                logbook.write(put("session", body, entity))
            elif logbook.state(entity) is None:
                continue
            else:
                change = patch("session", entity, body or {})
                logbook.write(change if op == "set" else drop("session", entity))
            states.append((logbook.state("a"), logbook.state("b")))
        finger = len(states) - 1
        for back in walk:
            moved = logbook.undo() if back else logbook.redo()
            before, finger = finger, min(max(finger + (-1 if back else 1), 0), len(states) - 1)
            assert bool(moved) == (before != finger)
            assert (logbook.state("a"), logbook.state("b")) == states[finger]


def test_history_tells_who_changed_what_and_why(logbook: Logbook) -> None:
    entity = session(logbook, driver="Ines", FL={"camber": "-3", "toe": "1"})
    logbook.author = "Jun"
    logbook.write(patch("session", entity, {"FL.camber": "-2"}), reason="inner edge too hot")
    logbook.write(patch("session", entity, {"driver": "Otto"}))
    newest, middle, first = logbook.history(entity)
    assert (newest.changes, newest.author) == ({"driver": ("Ines", "Otto")}, "Jun")
    assert middle.changes == {"FL.camber": ("-3", "-2")}
    assert (middle.reason, first.author) == ("inner edge too hot", "Mara")
    assert newest.recorded_at > middle.recorded_at > first.recorded_at
    assert [entry.changes["FL.camber"] for entry in logbook.history(entity, "FL.camber")] == [
        ("-3", "-2"),
        (None, "-3"),
    ]
    assert len(logbook.history(entity, "FL")) == 2
    assert logbook.history("nothing") == []


def test_as_of_gives_what_was_recorded_by_then(logbook: Logbook) -> None:
    entity = session(logbook, driver="a")  # recorded at 08:00:01
    logbook.write(patch("session", entity, {"driver": "b"}))  # at 08:00:02
    logbook.write(drop("session", entity))  # at 08:00:03
    assert logbook.as_of(entity, "2026-05-09T08:00:00Z") is None
    assert logbook.as_of(entity, "2026-05-09 08:00:01") == {"driver": "a"}
    assert logbook.as_of(entity, datetime(2026, 5, 9, 8, 0, 2, tzinfo=UTC)) == {"driver": "b"}
    assert logbook.as_of(entity, "2026-05-09T10:00:02.500+02:00") == {"driver": "b"}
    assert logbook.as_of(entity, "2027-01-01") is None
    with pytest.raises(BadInput, match="not a date"):
        logbook.as_of(entity, "yesterday")


def test_a_clock_that_jumps_back_does_not_change_the_order(path: Path) -> None:
    moments = [datetime(2026, 5, 9, 8, minute, tzinfo=UTC) for minute in (30, 10, 20)]
    with Logbook.open(path, device="d", clock=iter(moments).__next__) as logbook:
        entity = session(logbook, driver="first")
        logbook.write(patch("session", entity, {"driver": "second"}))
        logbook.write(patch("session", entity, {"driver": "third"}))
        assert logbook.state(entity) == {"driver": "third"}
        assert logbook.as_of(entity, "2026-05-09T08:10:00Z") == {"driver": "second"}
        assert [e.changes["driver"][1] for e in logbook.history(entity)] == [
            "third",
            "second",
            "first",
        ]


def test_two_branches_are_a_conflict_that_an_edit_settles(logbook: Logbook) -> None:
    [start] = logbook.write(put("session", {"driver": "a", "start": "10:00"}))
    for name in ("b", "c"):
        change = patch("session", start.entity, {"driver": name})
        branch = type(change)(change.kind, "set", change.entity, change.body, parents=(start.rev,))
        logbook.write(branch)
    assert set(logbook.conflicts()[start.entity]["driver"]) == {"b", "c"}
    assert logbook._rows("SELECT heads FROM conflict") == [(2,)]
    logbook.write(patch("session", start.entity, {"driver": "b"}))
    assert logbook.conflicts() == {}
    assert logbook._rows("SELECT * FROM conflict") == []
    assert logbook.verify().problems == ()


def test_who_set_what_stands_after_a_drop_met_a_change() -> None:
    """Otto takes off what Mara changes meanwhile: the value that stands is hers, the laps are still
    Ines's, and whoever decides is named for keeping it."""
    with (
        Logbook.open(":memory:", device="a", author="Mara") as here,
        Logbook.open(":memory:", device="b", author="Otto") as there,
    ):
        [made] = here.write(put("session", {"driver": "x", "laps": 1})._replace(author="Ines"))
        there.take(here.lines(), via="bundle")
        here.write(patch("session", made.entity, {"driver": "y"}))
        there.write(drop("session", made.entity))
        for one, other in ((here, there), (there, here)):
            one.take(other.lines(), via="bundle")
        for laptop in (here, there):
            for path, author in (("driver", "Mara"), ("laps", "Ines")):
                entries = laptop.history(made.entity, path)
                assert [e.author for e in entries if path in e.stands] == [author]
        there.settle(made.entity, {"": "kept"})
        for path, author in (("driver", "Mara"), ("laps", "Ines")):
            entries = there.history(made.entity, path)
            assert [e.author for e in entries if path in e.stands] == [author]
        assert [e.author for e in there.history(made.entity) if e.kept] == ["Otto"]
        there.write(drop("session", made.entity))
        assert not any(e.stands for e in there.history(made.entity))


BRANCHES = st.lists(
    st.tuples(
        st.integers(0, 5),
        st.sampled_from(["set", "set", "drop"]),
        st.sampled_from(["a", "b"]),
        st.none() | st.integers(1, 2),
    ),
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(BRANCHES)
def test_each_value_that_stands_has_one_entry_that_set_it(steps: list) -> None:
    with Logbook.open(":memory:", device="a") as logbook:
        [made] = logbook.write(put("session", {"a": 0, "b": 0}))
        revs = [made.rev]
        for place, op, path, value in steps:
            write = patch("session", made.entity, {path: value})
            write = drop("session", made.entity) if op == "drop" else write
            if logbook.state(made.entity) is not None:
                parent = revs[place % len(revs)]
                revs.append(logbook.write(write._replace(parents=(parent,)))[0].rev)
        body = logbook.state(made.entity) or {}
        entries = logbook.history(made.entity)
        if any(entry.stands for entry in entries):
            stands = [path for entry in entries for path in entry.stands]
            assert sorted(stands) == sorted(body)
