"""One thing entered on two laptops: a person decides, and until then all of them take the same."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

import pytest

from trackside.analysis.estimate import estimate
from trackside.analysis.shed import Shed
from trackside.errors import BadInput
from trackside.logbook import Conflict, Logbook, Revision, drop, patch, put
from trackside.logbook.dampers import builds_of, damper_of
from trackside.logbook.twins import TWICE
from trackside.records import Session
from trackside.reports.naming import doubts_of_shed
from trackside.reports.origin_words import origin_words


@pytest.fixture
def trio() -> Iterator[list[Logbook]]:
    """Three laptops that have not met."""
    laptops = [Logbook.open(":memory:", device=name, author=name.upper()) for name in "abc"]
    yield laptops
    for laptop in laptops:
        laptop.close()


def meet(*laptops: Logbook) -> None:
    for _ in range(2):
        for one in laptops:
            for other in laptops:
                other.take(one.lines(), via="bundle")


def number(text: str) -> dict:
    return {"typed": text, "unit": "", "si": float(text)}


def damper(laptop: Logbook, counted_from: str) -> list[Revision]:
    """NEW-1 build A, with the shop's rule for a force."""
    knob = {"acts_on": "rebound_bleed", "clicks": 20, "counted_from": counted_from, "step": 1}
    rule = {"direction": "rebound", "full_hard_force": 1200, "reference_speed": 0.1}
    build = {"damper": "NEW-1", "version": "A", "adjusters": [knob]}
    rule |= {"share_per_click": 0.04}
    return laptop.write(
        put("damper", {"serial": "NEW-1"}), put("build", build | {"shop_rules": [rule]})
    )


def twice(laptop: Logbook, kind: str) -> Conflict:
    [found] = [one for one in laptop.open_conflicts() if one.kind == kind and one.path == TWICE]
    return found


def test_a_force_is_sure_again_once_a_person_has_decided(trio) -> None:
    for laptop, counted_from in zip(trio[:2], ("hard", "soft"), strict=True):
        damper(laptop, counted_from)
    meet(*trio)
    found = twice(trio[0], "build")
    trio[0].settle(found.entity, {TWICE: found.verdict(1)}, "looked at the damper")
    meet(*trio)
    session = Session.checked(
        {"FL": {"damper": "new-1", "build": "a", "rebound_bleed": number("3")}}
    )
    for laptop in trio:
        assert "twice" not in origin_words(
            estimate(session, "FL", "rebound", Shed.of(laptop), 0.1).origin
        )


def test_what_is_entered_on_two_laptops_waits_for_a_person(trio) -> None:
    """And the force at 3 clicks is the same on all, whatever came in first."""
    for laptop, counted_from in zip(trio, ("hard", "soft", "soft"), strict=True):
        damper(laptop, counted_from)
    session = Session.checked(
        {"FL": {"damper": "new-1", "build": "a", "rebound_bleed": number("3")}}
    )
    given = [laptop.lines() for laptop in trio]
    for order, laptop in zip(permutations(range(3)), trio, strict=False):
        for one in order:
            laptop.take(given[one], via="bundle")
    forces = [estimate(session, "FL", "rebound", Shed.of(laptop), 0.1).force for laptop in trio]
    assert forces[0] == forces[1] == forces[2]
    undecided = "build A was entered twice: not decided which holds"
    for laptop in trio:
        assert undecided in origin_words(
            estimate(session, "FL", "rebound", Shed.of(laptop), 0.1).origin
        )
    for laptop in trio:
        assert [one.kind for one in laptop.open_conflicts()] == ["damper", "build"]
        found = twice(laptop, "build")
        assert [version.author for version in found.versions] == ["A", "B", "C"]
        assert found.entity == found.twins[0] == builds_of(laptop, "NEW-1")[0][0]
        assert [list(version.values()) for version in (s.value for s in found.versions)]
        assert len(builds_of(laptop, "NEW-1")) == len(Shed.of(laptop).builds) == 1
        assert any("entered on two laptops" in one for one in doubts_of_shed(Shed.of(laptop)))


@pytest.mark.parametrize("chosen", [0, 1])
def test_a_decision_on_either_laptop_holds_on_both(trio, chosen: int) -> None:
    here, there, _ = trio
    here.write(put("car", {"name": "Hatch", "wheelbase": 2.5, "FL": {"mass": 300}}))
    there.write(put("car", {"name": "hatch", "words": "spare", "FL": {"unsprung_mass": 30}}))
    meet(here, there)
    found = twice(there, "car")
    assert found.versions[0].value["FL.mass"] == 300
    assert found.versions[1].value["FL.mass"] is None
    between = [version.rev for version in found.versions]
    there.settle(found.entity, {TWICE: found.verdict(chosen)}, "one car", between=between)
    meet(here, there)
    for laptop in (here, there):
        assert laptop.open_conflicts() == []
        [(entity, body)] = laptop.all("car")
        assert entity == found.twins[chosen]
        assert body == {
            "name": ("Hatch", "hatch")[chosen], "words": "spare", "wheelbase": 2.5,
            "FL": {"mass": 300, "unsprung_mass": 30},
        }  # fmt: skip
        assert laptop.verify().problems == ()
    there.undo()
    meet(here, there)
    assert twice(here, "car").twins == found.twins


def test_what_belongs_to_the_other_one_comes_along(trio) -> None:
    here, there, _ = trio
    for laptop in (here, there):
        event, car = laptop.write(
            put("event", {"venue": "Harrow Fen", "date": "2026-05-09"}),
            put("car", {"name": "Hatch", "number": "7"}),
        )
        body = {"event": event.entity, "car": car.entity, "kind": "practice", "number": number("1")}
        [session] = laptop.write(put("session", body))
        laptop.write(
            put("note", {"session": session.entity, "words": "skips", "driver": laptop.author}),
            put("session", body | {"number": number("2"), "based_on": session.entity}),
        )
    meet(here, there)
    kinds = [one.kind for one in here.open_conflicts()]
    assert kinds == ["car", "event", "session", "session"]
    assert kinds == [one.kind for one in there.open_conflicts()]
    while open_ := here.open_conflicts():
        here.settle(open_[0].entity, {TWICE: open_[0].verdict(1)})
    meet(here, there)
    for laptop in (here, there):
        assert laptop.open_conflicts() == []
        [group] = laptop.session_groups()
        second, first = laptop.session_lines()
        assert (group.event, second.event, first.car_name) == (first.event, group.event, "Hatch")
        assert sorted(note["driver"] for _, note in laptop.notes(first.entity)) == ["A", "B"]
        assert (laptop.state(second.entity) or {})["based_on"] == first.entity
        assert laptop.verify().problems == ()


def test_two_things_with_one_name_get_two(trio) -> None:
    here, there, _ = trio
    for laptop in (here, there):
        damper(laptop, "hard")
    meet(here, there)
    found = twice(here, "build")
    for name in ("", " a "):
        with pytest.raises(BadInput, match="no other name"):
            here.settle(found.entity, {TWICE: name})
    here.settle(found.entity, {TWICE: "A2"}, "another unit")
    meet(here, there)
    assert [body["version"] for _, body in builds_of(there, "NEW-1")] == ["A", "A2"]
    assert [one.kind for one in there.open_conflicts()] == ["damper"]


def test_two_decisions_against_each_other_lose_neither(trio) -> None:
    here, there, third = trio
    for laptop in (here, there):
        damper(laptop, "hard")
    meet(here, there)
    for laptop, place in ((here, 0), (there, 1)):
        found = twice(laptop, "build")
        laptop.settle(found.entity, {TWICE: found.verdict(place)})
    meet(here, there, third)
    for laptop in trio:
        assert len(laptop.all("build")) == 2
        assert {one.path for one in laptop.open_conflicts() if one.kind == "build"} == {"", TWICE}


def test_a_change_that_was_not_looked_at_is_not_settled_unseen(trio) -> None:
    here, there, _ = trio
    for laptop in (here, there):
        damper(laptop, "hard")
    meet(here, there)
    found = twice(here, "build")
    between = [version.rev for version in found.versions]
    there.write(patch("build", found.twins[1], {"oil": "thin"}))
    meet(here, there)
    with pytest.raises(BadInput, match="changed meanwhile"):
        here.settle(found.entity, {TWICE: found.verdict(0)}, between=between)
    here.write(drop("build", found.twins[1]))
    with pytest.raises(BadInput, match="not there twice"):
        here.settle(found.entity, {TWICE: found.verdict(0)})


def test_what_one_laptop_has_twice_it_may_have_meant(trio) -> None:
    here, there, _ = trio
    for _ in range(2):
        here.write(put("event", {"venue": "Harrow Fen", "date": "2026-05-09"}))
    meet(here, there)
    assert there.open_conflicts() == []
    assert len(there.once("event")) == 2


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("session", {"event": "e", "car": "c", "kind": "practice"}),
        ("car", {"number": "7"}),
        ("event", {"venue": "Harrow Fen"}),
        ("build", {"damper": "", "version": "A"}),
        ("note", {"words": "the same"}),
        ("damper", {"serial": {"typed": 5}, "model": [1]}),
    ],
)
def test_what_nothing_names_is_no_twin(trio, kind: str, body: dict) -> None:
    here, there, _ = trio
    for laptop in (here, there):
        laptop.write(put(kind, body))
    meet(here, there)
    assert [one.path for one in here.open_conflicts()] == ([TWICE] if kind == "damper" else [])
    assert damper_of(here, "x") == ""


SHEET = {
    "damper": "NEW-1",
    "build": "A",
    "date": "2026-05-01",
    "rows": [
        {"direction": "rebound", "position": position, "speed": speed, "force": force}
        for position in (0, 10)
        for speed, force in ((0.1, 400.0 - 10 * position), (0.2, 600.0 - 10 * position))
    ],
}


@pytest.mark.parametrize("signed", [None, 0, 1])
def test_one_file_loaded_on_two_laptops_is_one_sheet(trio, signed: int | None) -> None:
    """Wherever it lay, and whoever signed it; another run of the same build is another sheet."""
    damper(trio[0], "hard")
    meet(*trio)
    warning = {"name": "gas_left", "serious": True}
    for n, laptop in enumerate(trio[:2]):
        said = {"source": f"/of/{n}/NEW-1.csv", "warnings": [warning]}
        seen = {"seen_by": "Mara"} if signed == n else {}
        laptop.write(put("sheet", SHEET | said | seen))
    trio[1].write(put("sheet", SHEET | {"date": "2026-04-01"}))
    meet(*trio)
    sheds = [Shed.of(laptop) for laptop in trio]
    for shed in sheds:
        assert len(shed.sheets) == 2
        assert shed.entities == sheds[0].entities
        build = shed.build("NEW-1")
        assert build is not None
        assert [sheet.waits for sheet in shed.sheets_of(build)] == [False, signed is None]


def test_the_sheet_that_the_crew_chose_is_the_one_that_stays(trio) -> None:
    damper(trio[0], "hard")
    for laptop in trio:
        laptop.write(put("sheet", SHEET))
    meet(*trio)
    chosen = max(name for name, _ in trio[0].all("sheet"))
    trio[2].write(patch("build", builds_of(trio[0], "NEW-1")[0][0], {"sheet": chosen}))
    meet(*trio)
    assert [Shed.of(laptop).entities for laptop in trio] == [(chosen,)] * 3
