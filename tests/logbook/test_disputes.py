"""Two laptops, one value: both sides are shown, a person decides, and the decision travels."""

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
    [dispute] = here.disputes()
    assert (dispute.entity, dispute.kind, dispute.path) == (entity, "session", "driver")
    said = {(side.value, side.author, side.device, side.reason) for side in dispute.sides}
    assert said == {("Ines B", "Mara", "a", "full name"), ("Otto", "Otto", "b", "")}
    assert set(here.conflicts()[entity]["driver"]) == {"Ines B", "Otto"}
    [revision] = there.settle(entity, {"driver": "Otto"}, "asked both")
    assert len(revision.parents) == 2
    meet(here, there)
    assert here.disputes() == there.disputes() == []
    assert here.state(entity) == {"driver": "Otto", "laps": 5, "surface": "wet"}
    assert here.history(entity)[0].reason == "asked both"
    assert here.verify().problems == there.verify().problems == ()


def test_settling_one_value_leaves_the_others_open(pair) -> None:
    here, there, entity = pair
    for laptop, name in ((here, "x"), (there, "y")):
        laptop.write(patch("session", entity, {"driver": name, "kind": name}))
    meet(here, there)
    here.settle(entity, {"driver": None})
    assert [dispute.path for dispute in here.disputes()] == ["kind"]
    assert "driver" not in (here.state(entity) or {})


@pytest.mark.parametrize("verdict", ["kept", "dropped"])
def test_changed_here_and_dropped_there(pair, verdict: str) -> None:
    here, there, entity = pair
    here.write(patch("session", entity, {"driver": "Otto"}))
    there.write(drop("session", entity, reason="twice"))
    meet(here, there)
    [dispute] = there.disputes()
    assert dispute.path == ""
    assert {side.value for side in dispute.sides} == {"kept", "dropped"}
    there.settle(entity, {"": verdict})
    meet(here, there)
    assert here.disputes() == []
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
