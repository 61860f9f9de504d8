"""Deciding a conflict: one verb for the pages and the command line."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from trackside.crew.deciding import for_text, for_version, settle, value_typed
from trackside.crew.listener import Listener
from trackside.crew.workspace import Workspace
from trackside.errors import BadInput
from trackside.logbook import Conflict, Logbook, patch, put
from trackside.preferences import Preferences
from trackside.records import Reading

SESSION = "session"


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    """One session, whose air two windows set differently, to 9 °C and to 24 °C."""
    path = tmp_path / "log.trackside"
    with (
        Logbook.open(path, author="Ann", device="here") as one,
        Logbook.open(path, author="Otto", device="there") as two,
    ):
        write = put(SESSION, {"kind": "race"})
        one.write(write)
        for window in (one, two):
            window.take_up(write.entity)
        for window, celsius in ((one, 9.0), (two, 24.0)):
            air = Reading.of_si(celsius, "temperature").body()
            window.write(patch(SESSION, write.entity, {"air_temperature": air}))
        yield one


def air(logbook: Logbook, dispute: Conflict) -> float:
    state = logbook.state(dispute.entity)
    assert state is not None
    return float(state["air_temperature"]["si"])


@pytest.mark.parametrize("place", [0, 1])
def test_a_side_holds_with_its_reason_and_nothing_is_left_open(
    logbook: Logbook, place: int
) -> None:
    [dispute] = logbook.open_conflicts()
    revision = settle(logbook, for_version(dispute, place), " two\nlines ")
    assert revision.reason == "two lines"
    assert air(logbook, dispute) == dispute.versions[place].value["si"]
    assert logbook.open_conflicts() == []


@pytest.mark.parametrize("place", [-1, 2])
def test_a_side_that_is_not_there_is_refused(logbook: Logbook, place: int) -> None:
    [dispute] = logbook.open_conflicts()
    with pytest.raises(BadInput, match=f"no version {place + 1}"):
        for_version(dispute, place)
    assert len(logbook.open_conflicts()) == 1


def test_what_is_typed_is_read_in_the_crews_unit(logbook: Logbook) -> None:
    """50 °F are 10 °C, by the definition of the scale."""
    [dispute] = logbook.open_conflicts()
    decision = for_text(logbook, dispute, "50", Preferences(preset="imperial"))
    settle(logbook, decision, "")
    assert air(logbook, dispute) == pytest.approx(10.0)


def test_the_name_of_a_second_thing_is_one_line(logbook: Logbook) -> None:
    [open_one] = logbook.open_conflicts()
    twice = open_one._replace(twins=("a", "b"))
    decision = for_text(logbook, twice, " Car\n8 ", Preferences())
    assert (decision.verdict, decision.second) == ("Car 8", "Car 8")


def test_the_words_of_a_note_can_be_emptied() -> None:
    """What is empty is unknown: no text is asked for where none is needed."""
    body = {"session": "s", "words": "loose", "turn": "3"}
    for path in ("words", "turn", "driver"):
        assert value_typed("note", path, "", body, Preferences()) is None


def test_a_page_looks_for_conflicts_that_are_new_and_settles_one(tmp_path: Path) -> None:
    class Heard(Listener):
        count = 0

        def shed_changed(self) -> None:
            self.count += 1

    path, heard = tmp_path / "log.trackside", Heard()
    here = Workspace(path, Preferences(author="Ann"), heard)
    assert here.disputes.look() == []
    with Logbook.open(path, author="Otto", device="there") as there:
        writes = [put(SESSION, {"kind": "race"}), put("damper", {"serial": "A"})]
        here.logbook.write(*writes)
        run, damper = (write.entity for write in writes)
        for entity in (run, damper):
            for window in (here.logbook, there):
                window.take_up(entity)
        for window, word in ((here.logbook, "x"), (there, "y")):
            window.write(patch(SESSION, run, {"driver": word, "tyre_set": word}))
            window.write(patch("damper", damper, {"model": word}))
    places = [(run, "driver"), (run, "tyre_set"), (damper, "model")]
    assert sorted(here.disputes.look()) == sorted(places)
    assert here.disputes.look() == [], "they are known"
    assert here.disputes.count == 3
    assert here.disputes.places[run] == {"driver", "tyre_set"}
    by_path = {one.path: one for one in here.logbook.open_conflicts()}
    here.settle(for_version(by_path["driver"], 0), "asked")
    assert (here.disputes.count, heard.count) == (2, 0)
    here.settle(for_version(by_path["model"], 1), "asked")
    assert (here.disputes.count, heard.count) == (1, 1), "a shed is read again for a damper alone"
    assert here.logbook.history(damper)[0].reason == "asked"
    here.close()
