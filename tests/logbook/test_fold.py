"""The state of an entity, as laws: any order of arrival, branches, conflicts."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from trackside.logbook.fold import (
    advance,
    build,
    changes,
    fold,
    heads_of,
    hides_its_past,
    in_order,
    is_chain,
    leaves,
    merge,
    normal,
    patched,
)
from trackside.logbook.revisions import Revision, Write, seal

READING = st.builds(
    lambda typed, si: {"typed": typed, "unit": "bar", "si": si},
    st.text("0123456789,", min_size=1, max_size=3),
    st.integers(0, 9),
)
LEAF = st.none() | st.integers(0, 3) | READING | st.just("words") | st.just([1, 2])
BODY = st.dictionaries(
    st.sampled_from(["driver", "laps", "FL", "items"]),
    LEAF | st.dictionaries(st.sampled_from(["camber", "toe", "bar 1.5", "typed", "unit"]), LEAF),
    max_size=4,
)
PATHS = ["driver", "laps", "FL", "FL.camber", "FL.toe", "items.bar 1.5", "items"]
PATCH = st.dictionaries(st.sampled_from(PATHS), LEAF, max_size=3)
STEP = st.one_of(
    st.tuples(st.just("put"), BODY),
    st.tuples(st.just("set"), PATCH),
    st.tuples(st.just("set"), PATCH),
    st.tuples(st.just("drop"), st.just({})),
)


def made(op: Any, body: dict, parents: tuple[str, ...], seq: int, device: str = "a") -> Revision:
    write = Write("session", op, "entity", body)
    return seal(
        write,
        parents=parents,
        device=device,
        seq=seq,
        save=seq,
        author="",
        reason="",
        recorded_at="2026-05-09T08:00:00.000Z",
    )[0]


@st.composite
def histories(draw: st.DrawFn, *, branches: bool = True) -> list[Revision]:
    """Random revisions of one entity, each after some that came before."""
    known: list[Revision] = [made("put", draw(BODY), (), 1)]
    for seq, (op, body) in enumerate(draw(st.lists(STEP, max_size=8)), 2):
        parents = heads_of(known)
        if branches and draw(st.booleans()):
            chosen = draw(st.lists(st.sampled_from(known), min_size=1, max_size=2))
            parents = tuple(sorted({revision.rev for revision in chosen}))
        known.append(made(op, body, parents, seq))
    return known


@given(BODY)
def test_a_body_is_its_values(body: dict) -> None:
    assert dict(leaves(build(leaves(body)))) == dict(leaves(body))


@given(BODY, PATCH)
def test_changes_tell_a_patch(body: dict, values: dict) -> None:
    body = build(leaves(body))
    after = patched(body, values)
    assert build(leaves(after)) == after
    assert changes(body, body) == {}
    for path, (old, new) in changes(body, after).items():
        assert old != new
        assert any(path.split(".")[0] == touched.split(".")[0] for touched in values)


@given(histories(), st.randoms())
def test_the_order_of_arrival_does_not_matter(known: list[Revision], random: Any) -> None:
    mixed = known.copy()
    random.shuffle(mixed)
    assert fold(mixed) == fold(known)


@given(histories(), st.data())
def test_parents_come_first_and_nothing_is_lost(known: list[Revision], data: Any) -> None:
    some = data.draw(st.lists(st.sampled_from(known), unique_by=lambda r: r.rev))
    ordered = in_order(some)
    places = {revision.rev: place for place, revision in enumerate(ordered)}
    assert places.keys() == {revision.rev for revision in some}
    for revision in ordered:
        assert all(places.get(p, -1) < places[revision.rev] for p in revision.parents)


@given(histories(branches=False))
def test_a_chain_can_be_folded_step_by_step(known: list[Revision]) -> None:
    assert is_chain(known)
    body = None
    for count, revision in enumerate(known, 1):
        merged = merge(known[:count])
        body = merged.body if hides_its_past(body, revision) else advance(body, revision)
        assert fold(known[:count]) == merged
        assert body == merged.body


def test_what_is_left_of_a_section_is_no_reading() -> None:
    """Three items, two of them named like the parts of a reading, and one taken off twice."""
    items = {"wing": "1", "typed": "a", "unit": "b"}
    known = [made("put", {"items": items}, (), 1)]
    for seq in (2, 3):
        known.append(made("set", {"items.wing": None}, (known[-1].rev,), seq))
    assert fold(known).body == merge(known).body == {"items": {"typed": "a", "unit": "b"}}


@given(histories())
def test_a_conflict_is_two_standing_values(known: list[Revision]) -> None:
    state = fold(known)
    assert not (is_chain(known) and state.conflicts)
    for path, values in state.conflicts.items():
        assert len(values) > 1, path
        assert any(value != values[0] for value in values)


def test_two_laptops_that_touch_different_values_do_not_conflict() -> None:
    start = made("put", {"driver": "Ines", "FL": {"toe": 1}}, (), 1)
    here = made("set", {"FL.camber": 2}, (start.rev,), 2)
    there = made("set", {"driver": "Otto"}, (start.rev,), 1, "b")
    state = fold([start, here, there])
    assert state.body == {"driver": "Otto", "FL": {"toe": 1, "camber": 2}}
    assert len(state.heads) == 2
    assert state.conflicts == {}


def test_two_laptops_that_touch_one_value_conflict_until_someone_decides() -> None:
    start = made("put", {"driver": "Ines"}, (), 1)
    here = made("set", {"driver": "Otto"}, (start.rev,), 2)
    there = made("set", {"driver": "Pia"}, (start.rev,), 1, "b")
    state = fold([start, here, there])
    assert set(state.conflicts["driver"]) == {"Otto", "Pia"}
    settled = fold([start, here, there, made("set", {"driver": "Pia"}, state.heads, 3)])
    assert settled.body == {"driver": "Pia"}
    assert settled.conflicts == {}
    assert len(settled.heads) == 1


def test_a_drop_against_an_edit_keeps_the_edit_and_says_so() -> None:
    start = made("put", {"driver": "Ines"}, (), 1)
    here = made("drop", {}, (start.rev,), 2)
    there = made("set", {"driver": "Pia"}, (start.rev,), 1, "b")
    state = fold([start, here, there])
    assert state.body == {"driver": "Pia"}
    assert state.conflicts[""] == ("kept", "dropped")


def test_a_reading_is_one_value() -> None:
    start = made("put", {"laps": {"typed": "20", "unit": "C", "si": 20}}, (), 1)
    here = made("set", {"laps": {"typed": "21", "unit": "C", "si": 21}}, (start.rev,), 2)
    there = made("set", {"laps": {"typed": "68", "unit": "F", "si": 20}}, (start.rev,), 1, "b")
    state = fold([start, here, there])
    assert list(state.conflicts) == ["laps"]
    assert state.body["laps"] in (here.body["laps"], there.body["laps"])


@given(BODY)
def test_the_short_way_to_a_body_is_the_long_one(body: dict) -> None:
    assert normal(body) == build(leaves(body))
