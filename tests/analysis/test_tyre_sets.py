"""Laps and heat cycles of a set of tyres, summed from its runs. The sums were made by hand."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from trackside.analysis.tyre_sets import age_contradicted, set_before, set_uses
from trackside.logbook import Logbook, drop, put
from trackside.logbook.links import decided
from trackside.records import Session

CAR, EVENT = "c", "e"


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Logbook]:
    """An empty logbook."""
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        yield logbook


def count(number: float) -> dict[str, Any]:
    return {"typed": f"{number:g}", "unit": "", "si": float(number)}


def run(logbook: Logbook, start: str, name: str, laps: float | None = None, **more: Any) -> str:
    """A run of the car with that set; its entity."""
    body = {"car": CAR, "event": EVENT, "kind": "practice", "start": start, "tyre_set": name}
    body |= {"status": "done"} | ({} if laps is None else {"laps": count(laps)}) | more
    write = put("session", body)
    logbook.write(write)
    return write.entity


def tyre_set(logbook: Logbook, name: str, **more: Any) -> None:
    logbook.write(put("tyre_set", {"car": CAR, "name": name, **more}))


def before(logbook: Logbook, entity: str) -> Any:
    return set_before(logbook, entity, logbook.session_record(entity))


def test_a_new_set_has_the_laps_of_its_runs(log: Logbook) -> None:
    tyre_set(log, "S1", state="new", compound="soft")
    run(log, "2026-05-08 10:00", "S1", 8)
    run(log, "2026-05-08 14:00", "s1", 5)  # a name is one however its letters are cased
    [use] = set_uses(log, CAR)
    assert (use.name, use.came_with, use.driven, use.laps) == ("S1", 0, 13, 13)
    assert (use.runs, use.cycles, use.without_laps) == (2, 2, 0)


def test_a_used_set_came_with_laps_and_cycles(log: Logbook) -> None:
    tyre_set(log, "S2", state="used", laps=count(20), cycles=count(3))
    run(log, "2026-05-08 10:00", "S2", 8)
    [use] = set_uses(log, CAR)
    assert (use.laps, use.cycles) == (28, 4)


def test_before_a_run_only_what_ran_earlier_counts(log: Logbook) -> None:
    tyre_set(log, "S1", state="new")
    first = run(log, "2026-05-08 10:00", "S1", 8)
    second = run(log, "2026-05-08 14:00", "S1", 5)
    run(log, "2026-05-08 12:00", "S2", 30)
    assert (before(log, first).laps, before(log, first).cycles) == (0, 0)
    assert (before(log, second).laps, before(log, second).cycles) == (8, 1)


def test_in_laps_and_out_laps_count(log: Logbook) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S1", lap_times=["2:10 out", 95.0, 96.0, "in"])
    assert set_uses(log, CAR)[0].laps == 4


def test_a_planned_run_heats_no_tyre(log: Logbook) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S1", status="planned")
    [use] = set_uses(log, CAR)
    assert (use.laps, use.cycles) == (0, 0)


def test_a_run_of_no_laps_heats_no_tyre(log: Logbook) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S1", 0)
    [use] = set_uses(log, CAR)
    assert (use.laps, use.cycles, use.without_laps) == (0, 0, 0)


def test_a_run_without_a_number_of_laps_is_told(log: Logbook) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S1", 8)
    last = run(log, "2026-05-08 14:00", "S1")
    [use] = set_uses(log, CAR)
    assert (use.laps, use.cycles, use.without_laps, use.last) == (8, 2, 1, last)


def test_what_a_set_came_with_is_not_known_unless_somebody_said(log: Logbook) -> None:
    tyre_set(log, "S2", state="used")
    run(log, "2026-05-08 10:00", "S2", 8)
    [use] = set_uses(log, CAR)
    assert (use.came_with, use.laps, use.driven) == (None, None, 8)


def test_laps_typed_for_a_run_tell_what_it_came_with(log: Logbook) -> None:
    """Twelve before the second run, eight of them in the first: it came with four."""
    run(log, "2026-05-08 10:00", "K1", 8)
    second = run(log, "2026-05-08 14:00", "K1", 5, tyre_age=count(12))
    [use] = set_uses(log, CAR)
    assert (use.record, use.came_with, use.laps) == (None, 4, 17)
    assert before(log, second).laps == 12


@pytest.mark.parametrize("typed", [7, None])
def test_laps_that_do_not_add_up_tell_nothing(log: Logbook, typed: float | None) -> None:
    """Fewer than were driven, or behind a run without a number."""
    run(log, "2026-05-08 10:00", "K1", 8 if typed else None)
    run(log, "2026-05-08 14:00", "K1", 5, tyre_age=count(typed or 12))
    assert set_uses(log, CAR)[0].came_with is None


def test_sets_of_another_car_are_its_own(log: Logbook) -> None:
    log.write(put("tyre_set", {"car": "other", "name": "S1", "laps": count(50)}))
    tyre_set(log, "S1", state="new")
    log.write(put("tyre_set", {"car": "other", "name": "S1", "laps": count(60)}))
    other = {"car": "other", "event": EVENT, "start": "2026-05-08 10:00", "status": "done"}
    log.write(put("session", other | {"tyre_set": "S1", "laps": count(9)}))
    [use] = set_uses(log, CAR)
    assert use.laps == 0


def test_the_sets_on_record_are_listed_first_the_newest_first(log: Logbook) -> None:
    run(log, "2026-05-08 10:00", "K1", 8)
    tyre_set(log, "S1")
    tyre_set(log, "S2")
    assert [use.name for use in set_uses(log, CAR)] == ["S2", "S1", "K1"]


@pytest.mark.parametrize(
    ("typed", "contradicted"), [(8, None), (8.4, None), (9, 8), (12, 8), (None, None)]
)
def test_another_number_than_the_runs_come_to_is_found(
    log: Logbook, typed: float | None, contradicted: float | None
) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S1", 8)
    more = {"tyre_age": count(typed)} if typed is not None else {}
    now = run(log, "2026-05-08 14:00", "S1", **more)
    use = before(log, now)
    assert age_contradicted(use, log.session_record(now)) == contradicted


def test_with_a_run_of_unknown_laps_nothing_is_contradicted(log: Logbook) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S1")
    now = run(log, "2026-05-08 14:00", "S1", tyre_age=count(12))
    assert age_contradicted(before(log, now), log.session_record(now)) is None


def test_a_run_without_a_set_has_none(log: Logbook) -> None:
    assert set_before(log, "x", Session(car=CAR)) is None
    assert set_before(log, "x", Session(tyre_set="S1")) is None, "of no car"


def test_sets_of_a_car_that_was_entered_twice_go_with_the_one_that_holds(log: Logbook) -> None:
    holds, dropped = put("car", {"name": "7"}), put("car", {"name": "7"})
    filed = put("tyre_set", {"car": dropped.entity, "name": "S1", "laps": 4})
    log.write(holds, dropped, filed)
    log.write(decided(dropped.entity, holds.entity), drop("car", dropped.entity))
    assert [use.laps for use in set_uses(log, holds.entity)] == [4]


def test_of_two_sets_that_are_called_alike_the_one_entered_first_counts(log: Logbook) -> None:
    tyre_set(log, "S1", laps=4)
    tyre_set(log, "s1", laps=9)
    assert [use.laps for use in set_uses(log, CAR)] == [4]


def test_one_lap_heats_a_tyre(log: Logbook) -> None:
    run(log, "2026-05-08 10:00", "K1", 1)
    assert set_uses(log, CAR)[0].cycles == 1


def test_behind_three_hundred_newer_runs_a_set_that_is_not_on_record_is_not_listed(
    log: Logbook,
) -> None:
    body = {"car": CAR, "event": EVENT, "status": "done"}
    later = [put("session", body | {"start": f"2026-06-01 10:{n % 60:02}", "tyre_set": "K2"})
             for n in range(300)]  # fmt: skip
    run(log, "2026-05-08 10:00", "K1", 8)
    log.write(*later[1:])
    assert [use.name for use in set_uses(log, CAR)] == ["K2", "K1"]
    log.write(later[0])
    assert [use.name for use in set_uses(log, CAR)] == ["K2"]


def test_a_name_that_the_table_has_wrong_gives_a_set_no_laps(log: Logbook, tmp_path: Path) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S2", 8)
    with sqlite3.connect(tmp_path / "log") as sql:
        sql.execute("UPDATE reading SET typed = 'S1' WHERE typed = 'S2'")
    sql.close()
    assert [use.laps for use in set_uses(log, CAR)] == [0]


def test_a_set_of_each_axle_has_the_laps_of_its_axle(log: Logbook) -> None:
    tyre_set(log, "F1", state="new")
    tyre_set(log, "R1", state="new")
    run(log, "2026-05-08 10:00", "F1", 8, rear_set="R1")
    run(log, "2026-05-08 14:00", "F1", 5, rear_set="r1")
    uses = {use.name: use for use in set_uses(log, CAR)}
    assert [(u.name, u.laps, u.front, u.rear, u.cycles) for u in uses.values()] == [
        ("R1", 13, 0, 13, 2),
        ("F1", 13, 13, 0, 2),
    ]


def test_one_axle_changed_leaves_the_laps_of_the_other(log: Logbook) -> None:
    """K1 all round for 8 laps; then its fronts stay for 5 with the rears of K2."""
    tyre_set(log, "K1", state="new")
    tyre_set(log, "K2", state="new")
    run(log, "2026-05-08 10:00", "K1", 8)
    run(log, "2026-05-08 14:00", "K1", 5, rear_set="K2")
    last = run(log, "2026-05-08 16:00", "K2", 3, rear_set="K1", tyre_age=count(40))
    two, one = set_uses(log, CAR)
    assert (one.name, one.laps, one.front, one.rear, one.runs) == ("K1", 16, 13, 11, 3)
    assert (two.name, two.laps, two.front, two.rear, two.runs) == ("K2", 8, 3, 5, 2)
    in_front, session = before(log, last), log.session_record(last)
    at_rear = set_before(log, last, session, rear=True)
    assert at_rear is not None
    assert (in_front.name, in_front.front, in_front.rear) == ("K2", 0, 5)
    assert (at_rear.name, at_rear.front, at_rear.rear, at_rear.is_split) == ("K1", 13, 8, True)
    assert age_contradicted(in_front, session) is None, "laps in front are not said"


def test_the_same_set_named_for_the_rear_is_one_set(log: Logbook) -> None:
    one = run(log, "2026-05-08 10:00", "K1", 8, rear_set=" k1 ")
    [use] = set_uses(log, CAR)
    assert (use.front, use.rear, use.runs) == (8, 8, 1)
    assert set_before(log, one, log.session_record(one), rear=True) is None


def test_a_typed_age_is_of_the_front_tyres(log: Logbook) -> None:
    """R1 came with an unknown number: what is typed beside F1 says nothing of it."""
    run(log, "2026-05-08 10:00", "F1", 8, rear_set="R1", tyre_age=count(12))
    uses = {use.name: use.came_with for use in set_uses(log, CAR)}
    assert uses == {"F1": 12, "R1": None}
