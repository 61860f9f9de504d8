"""A record that was dropped because another holds: what still names it belongs to the other."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import pairwise, permutations
from pathlib import Path

import pytest

from tests.faults.facts import facts
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.exchange import export_json, import_json
from trackside.logbook.twins import TWICE
from trackside.records import Note

EVENT = {"venue": "Harrow Fen", "date": "2026-05-09"}


@pytest.fixture
def trio() -> Iterator[list[Logbook]]:
    """Three laptops; the first two have each entered the same event, car and session."""
    laptops = [Logbook.open(":memory:", device=name, author=name.upper()) for name in "abc"]
    for laptop in laptops[:2]:
        event, car = laptop.write(put("event", EVENT), put("car", {"name": "Hatch"}))
        laptop.write(put("session", run(event.entity, car.entity, 1)))
    yield laptops
    for laptop in laptops:
        laptop.close()


def run(event: str, car: str, number: int) -> dict:
    said = {"typed": str(number), "unit": "", "si": float(number)}
    day = {"start": f"2026-05-09 10:0{number}", "driver": "Ines", "status": "done"}
    return day | {"event": event, "car": car, "kind": "practice", "number": said}


def carry(here: Logbook, there: Logbook) -> None:
    there.take(here.lines(), via="bundle")


def meet(*laptops: Logbook) -> None:
    for _ in range(2):
        for here, there in permutations(laptops, 2):
            carry(here, there)


def settle(laptop: Logbook, kind: str, place: int) -> tuple[str, str]:
    """Decide for the one at that place; the code of the record that holds, and of the other."""
    [found] = [one for one in laptop.open_conflicts() if one.kind == kind and one.path == TWICE]
    laptop.settle(found.entity, {TWICE: found.verdict(place)}, "the same")
    return found.twins[place], found.twins[1 - place]


def only(laptop: Logbook, kind: str) -> str:
    [(entity, _)] = laptop.all(kind)
    return entity


def same_pages(*laptops: Logbook) -> dict:
    """The pages of all, which must be the same, and as the revisions make them anew."""
    pages = [facts(laptop) for laptop in laptops]
    for page, shown in pages[0].items():
        assert all(shown == other[page] for other in pages), page
    for laptop in laptops:
        assert laptop.verify().problems == ()
        laptop.rebuild()
        assert facts(laptop) == pages[0]
    return pages[0]


def file_under_the_second(trio: list[Logbook]) -> tuple[str, str]:
    """The third, which has met only the second, files a session there and a note on the session
    that is there; their codes."""
    a, b, c = trio
    carry(b, c)
    event, car, session = (only(c, kind) for kind in ("event", "car", "session"))
    [mine, note] = c.write(
        put("session", run(event, car, 2) | {"based_on": session}),
        put("note", {"session": session, "words": "skips", "driver": "Ines"}),
    )
    carry(b, a)
    return mine.entity, note.entity


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_what_was_filed_under_the_dropped_one_shows_the_one_that_holds(trio, order) -> None:
    mine, note = file_under_the_second(trio)
    held = {kind: settle(trio[0], kind, 0)[0] for kind in ("event", "car", "session")}
    for here, there in pairwise(order):
        carry(trio[here], trio[there])
        assert trio[there].verify().problems == ()
    meet(*trio)
    same_pages(*trio)
    for laptop in trio:
        assert laptop.open_conflicts() == []
        line = laptop.session_line(mine)
        assert (line.event, line.venue, line.event_date) == (held["event"], *EVENT.values())
        assert (line.car, line.car_name) == (held["car"], "Hatch")
        assert [group.sessions for group in laptop.session_groups()] == [2]
        assert laptop.session_count(event=held["event"], car=held["car"]) == 2
        record = laptop.session_record(mine)
        assert (record.event, record.car, record.based_on) == tuple(held.values())
        assert [entity for entity, _ in laptop.notes(held["session"])] == [note]
        assert [entity for entity, _ in laptop.records(Note, "note", held["session"])] == [note]
        assert laptop.session_line(held["session"]).notes == 1
        assert [found.session for found in laptop.search("skips")] == [held["session"]]
        exported = [row[0][-1] for row in laptop.session_readings() if row[0][1] == EVENT["venue"]]
        assert mine in exported


def test_no_revision_of_the_session_is_written(trio) -> None:
    mine, _ = file_under_the_second(trio)
    settle(trio[0], "event", 0)
    meet(*trio)
    assert [len(laptop.history(mine)) for laptop in trio] == [1, 1, 1]
    held = trio[0].all("event")[0][0]
    for laptop in trio:
        assert laptop.session_record(mine, laptop.as_of(mine, "9999-01-01")).event == held


def test_an_undo_of_the_decision_restores_the_old_reading(trio) -> None:
    a, _, c = trio
    mine, _ = file_under_the_second(trio)
    holds = {kind: settle(a, kind, 0) for kind in ("session", "event")}
    meet(*trio)
    for step, place in ((a.undo, 1), (a.redo, 0), (a.undo, 1)):
        step()
        meet(*trio)
        same_pages(*trio)
        for laptop in trio:
            assert laptop.session_line(mine).event == holds["event"][place]
            assert laptop.session_record(mine).event == holds["event"][place]
            assert laptop.session_record(mine).based_on == holds["session"][0]
    a.undo()
    meet(*trio)
    same_pages(*trio)
    assert c.session_line(holds["session"][1]).notes == 1
    assert c.session_line(holds["session"][0]).notes == 0


def test_one_decision_upon_another_leads_on(trio) -> None:
    """The one that held was itself entered again by a third, and that one holds in the end."""
    a = trio[0]
    mine, _ = file_under_the_second(trio)
    settle(a, "event", 0)
    other = Logbook.open(":memory:", device="d", author="D")
    [last] = other.write(put("event", EVENT))
    carry(other, a)
    assert settle(a, "event", 1)[0] == last.entity
    meet(*trio, other)
    same_pages(*trio, other)
    assert {laptop.session_line(mine).event for laptop in (*trio, other)} == {last.entity}
    other.write(drop("event", last.entity))
    meet(*trio, other)
    assert [line.venue for line in same_pages(*trio, other)["board"][1]] == ["", "", ""]
    other.undo()
    meet(*trio, other)
    assert {line.event for line in same_pages(*trio, other)["board"][1]} == {last.entity}
    other.close()


def test_two_decisions_against_each_other_lead_nowhere_until_a_person_decides(trio) -> None:
    a, b, c = trio
    mine, _ = file_under_the_second(trio)
    carry(a, b)
    first, second = settle(a, "event", 0)
    assert settle(b, "event", 1) == (second, first)
    meet(*trio)
    same_pages(*trio)
    assert {laptop.session_line(mine).event for laptop in trio} == {second}
    for entity in (first, second):
        c.settle(entity, {"": "dropped"})
        meet(*trio)
        same_pages(*trio)
    b.write(put("event", EVENT, first))
    meet(*trio)
    same_pages(*trio)
    assert {laptop.session_line(mine).event for laptop in trio} == {first}


def test_a_dropped_record_that_was_changed_elsewhere_stands_until_that_is_decided(trio) -> None:
    a, b, c = trio
    mine, _ = file_under_the_second(trio)
    c.write(patch("event", only(c, "event"), {"words": "rain"}))
    holds, dropped = settle(a, "event", 0)
    meet(*trio)
    same_pages(*trio)
    assert {laptop.session_line(mine).event for laptop in trio} == {dropped}
    b.settle(dropped, {"": "dropped"})
    meet(*trio)
    same_pages(*trio)
    assert {laptop.session_line(mine).event for laptop in trio} == {holds}


def test_a_plain_drop_leads_nowhere(trio) -> None:
    """As every drop of a logbook that was written before."""
    a, _, c = trio
    mine, _ = file_under_the_second(trio)
    a.write(drop("event", only(c, "event")))
    meet(*trio)
    same_pages(*trio)
    assert {laptop.session_line(mine).venue for laptop in trio} == {""}


def test_it_goes_along_with_an_exported_document(trio, tmp_path: Path) -> None:
    mine, _ = file_under_the_second(trio)
    holds, _ = settle(trio[0], "event", 0)
    meet(*trio)
    with open(tmp_path / "all.json", "w+", encoding="utf-8") as file:
        export_json(trio[2], file)
    with Logbook.open(":memory:", device="e", author="E") as taken:
        import_json(taken, json.loads((tmp_path / "all.json").read_text("utf-8")))
        assert taken.session_line(mine).event == holds
        assert taken.verify().problems == ()
