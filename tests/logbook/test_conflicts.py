"""Two laptops, one value: both versions are shown, a person decides, and the decision travels."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from trackside.errors import BadInput
from trackside.logbook import Logbook, drop, patch, put


@pytest.fixture
def pair() -> Iterator[tuple[Logbook, Logbook, str]]:
    """Two laptops that know the same session."""
    with (
        Logbook.open(":memory:", device="a", author="Mara") as here,
        Logbook.open(":memory:", device="b", author="Otto") as there,
    ):
        [session] = here.write(put("session", {"driver": "Ines", "laps": 1}))
        meet(here, there)
        yield here, there, session.entity


def meet(*laptops: Logbook) -> None:
    for _ in range(2):
        for one in laptops:
            for other in laptops:
                other.take(one.lines(), via="test")


def test_both_sides_are_shown_and_a_decision_settles_it(pair) -> None:
    here, there, entity = pair
    here.write(patch("session", entity, {"driver": "Ines B", "laps": 5}), reason="full name")
    there.write(patch("session", entity, {"driver": "Otto", "surface": "wet"}))
    meet(here, there)
    assert here.state(entity) == there.state(entity)
    [dispute] = here.open_conflicts()
    assert (dispute.entity, dispute.kind, dispute.path) == (entity, "session", "driver")
    said = {
        (version.value, version.author, version.device, version.reason)
        for version in dispute.versions
    }
    assert said == {("Ines B", "Mara", "a", "full name"), ("Otto", "Otto", "b", "")}
    assert set(here.conflicts()[entity]["driver"]) == {"Ines B", "Otto"}
    [revision] = there.settle(entity, {"driver": "Otto"}, "asked both")
    assert len(revision.parents) == 2
    meet(here, there)
    assert here.open_conflicts() == there.open_conflicts() == []
    assert here.state(entity) == {"driver": "Otto", "laps": 5, "surface": "wet"}
    assert here.history(entity)[0].reason == "asked both"
    assert here.verify().problems == there.verify().problems == ()


def test_settling_one_value_leaves_the_others_open(pair) -> None:
    here, there, entity = pair
    for laptop, name in ((here, "x"), (there, "y")):
        laptop.write(patch("session", entity, {"driver": name, "kind": name}))
    meet(here, there)
    here.settle(entity, {"driver": None})
    assert [dispute.path for dispute in here.open_conflicts()] == ["kind"]
    assert "driver" not in (here.state(entity) or {})


@pytest.mark.parametrize("verdict", ["kept", "dropped"])
def test_changed_here_and_dropped_there(pair, verdict: str) -> None:
    here, there, entity = pair
    here.write(patch("session", entity, {"driver": "Otto"}))
    there.write(drop("session", entity, reason="twice"))
    meet(here, there)
    [dispute] = there.open_conflicts()
    assert dispute.path == ""
    assert {version.value for version in dispute.versions} == {"kept", "dropped"}
    there.settle(entity, {"": verdict})
    meet(here, there)
    assert here.open_conflicts() == []
    assert (here.state(entity) is None) == (verdict == "dropped")


def test_what_is_not_in_dispute_cannot_be_settled(pair) -> None:
    here, there, entity = pair
    for values in ({}, {"driver": "x"}, {"": "kept"}):
        with pytest.raises(BadInput):
            here.settle(entity, values)
    here.write(patch("session", entity, {"driver": "x"}))
    there.write(drop("session", entity))
    meet(here, there)
    with pytest.raises(BadInput, match="settles nothing"):
        here.settle(entity, {"": "maybe"})


def test_a_preview_says_what_undo_then_does(logbook: Logbook, path: Path) -> None:
    [session] = logbook.write(put("session", {"driver": "Ines"}))
    logbook.write(patch("session", session.entity, {"driver": "Otto"}))
    extent = logbook.extent()
    for preview, act in (
        (logbook.preview_undo, logbook.undo),
        (logbook.preview_redo, logbook.redo),
    ):
        for steps in (1, 2):
            told = preview(steps=steps)
            assert logbook.extent() == extent
            assert act(steps=steps) == told
            back = logbook.redo if act == logbook.undo else logbook.undo
            back(steps=steps)
            extent = logbook.extent()
        act(steps=1)
        extent = logbook.extent()
    assert Logbook.open(":memory:").preview_undo() == []


def test_what_stood_before_they_parted_is_told(pair) -> None:
    here, there, entity = pair
    for laptop, name in ((here, "Mara"), (there, "Otto")):
        laptop.write(patch("session", entity, {"driver": name}))
        laptop.write(patch("session", entity, {"driver": f"{name} B"}))
    meet(here, there)
    assert [dispute.before for dispute in here.open_conflicts()] == ["Ines"]


def test_a_side_that_came_in_meanwhile_is_not_settled_unseen(pair) -> None:
    here, there, entity = pair
    with Logbook.open(":memory:", device="c", author="Kim") as third:
        meet(here, there, third)
        for laptop, name in ((here, "x"), (there, "y"), (third, "z")):
            laptop.write(patch("session", entity, {"driver": name}))
        meet(here, there)
        looked_at = [version.rev for version in here.open_conflicts()[0].versions]
        meet(here, third)
        with pytest.raises(BadInput, match="another version"):
            here.settle(entity, {"driver": "x"}, between=looked_at)
        looked_at = [version.rev for version in here.open_conflicts()[0].versions]
        assert len(looked_at) == 3
        here.settle(entity, {"driver": "x"}, between=looked_at)
        assert here.open_conflicts() == []


@pytest.fixture
def windows(path: Path) -> Iterator[tuple[Logbook, Logbook, str]]:
    """Two windows on one file, of one laptop, that both show the same session."""
    with (
        Logbook.open(path, device="a", author="Mara") as one,
        Logbook.open(path, device="a", author="Otto") as two,
    ):
        [session] = one.write(put("session", {"driver": "Ines", "laps": 1}))
        one.take_up(session.entity)
        two.take_up(session.entity)
        yield one, two, session.entity


def test_a_second_window_overwrites_nothing_unseen(windows) -> None:
    one, two, entity = windows
    one.write(patch("session", entity, {"driver": "Mara"}))
    two.write(patch("session", entity, {"driver": "Otto"}))
    [dispute] = one.open_conflicts()
    assert dispute.before == "Ines"
    assert {(version.value, version.author) for version in dispute.versions} == {
        ("Mara", "Mara"), ("Otto", "Otto"),
    }  # fmt: skip
    two.write(patch("session", entity, {"driver": "Otto B"}))  # still not looked: its own version
    assert {version.value for version in one.open_conflicts()[0].versions} == {"Mara", "Otto B"}
    two.take_up(entity)
    two.write(patch("session", entity, {"driver": "both"}))  # looked: set once more, it is settled
    assert one.open_conflicts() == []
    assert one.verify().problems == ()


def test_other_values_of_a_second_window_go_together(windows) -> None:
    one, two, entity = windows
    one.write(patch("session", entity, {"driver": "Mara"}))
    two.write(patch("session", entity, {"laps": 9}))
    one.write(patch("session", entity, {"driver": "Mara B"}))
    assert one.open_conflicts() == []
    assert two.state(entity) == {"driver": "Mara B", "laps": 9}
    assert one.verify().problems == ()


def test_what_was_rolled_back_was_not_seen(windows) -> None:
    one, two, entity = windows
    two.write(patch("session", entity, {"driver": "Otto"}))
    two.preview_undo()
    one.write(patch("session", entity, {"driver": "Mara"}))
    two.write(patch("session", entity, {"driver": "Otto B"}))
    assert {version.value for version in two.open_conflicts()[0].versions} == {"Mara", "Otto B"}
    two.settle(entity, {"driver": "Mara"}, "asked")
    assert one.open_conflicts() == []
