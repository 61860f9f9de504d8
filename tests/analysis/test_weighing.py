"""Four scales: weights and shares. The numbers were worked out by hand from the definitions."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.analysis.plausible_ranges import record_marks
from trackside.analysis.weighing import (
    Balance,
    Weighed,
    balance_of,
    before_in,
    changed_since,
    newest_by,
    weighings,
)
from trackside.logbook import Logbook, put
from trackside.records import Weighing

KG = st.floats(30, 600)
CARS = st.fixed_dictionaries(dict.fromkeys(("FL", "FR", "RL", "RR"), KG))


def weighing(at: str = "2026-05-08", **values: object) -> Weighing:
    """FL=293 and so on; the rest by name."""
    scales = {c: {"mass": values.pop(c)} for c in ("FL", "FR", "RL", "RR") if c in values}
    return Weighing.checked({"car": "c", "at": at, **scales, **values})


def litres(number: float) -> dict[str, object]:
    return {"typed": f"{number} L", "unit": "L", "si": number / 1000}


def kilograms(number: float) -> dict[str, object]:
    return {"typed": f"{number} kg", "unit": "kg", "si": number}


LEVEL = {"FL": 293, "FR": 288, "RL": 305, "RR": 300}


def test_shares_of_a_car_worked_out_by_hand() -> None:
    """In all 293 + 288 + 305 + 300 = 1186: front 581, left 598, FR + RL 593 of it."""
    found = balance_of(weighing(**LEVEL))
    assert found is not None
    assert found.total == 1186
    assert found.front == pytest.approx(0.489882, abs=1e-6)
    assert found.left == pytest.approx(0.504216, abs=1e-6)
    assert found.cross == 0.5


def test_a_turn_of_one_perch_moves_the_diagonal_alone() -> None:
    """Each scale of a diagonal gains what each of the other loses, on a car with equal axles."""
    before, after = (
        Balance(dict(zip(("FL", "FR", "RL", "RR"), kg, strict=True)))
        for kg in ((300.0, 300.0, 280.0, 280.0), (305.0, 295.0, 275.0, 285.0))
    )
    assert (after.total, after.front, after.left) == (before.total, before.front, before.left)
    assert after.cross - before.cross == pytest.approx(-10 / 1160)


@given(CARS, st.floats(0.1, 10))
def test_shares_do_not_depend_on_the_unit(car: dict[str, float], factor: float) -> None:
    found, scaled = Balance(car), Balance({c: kg * factor for c, kg in car.items()})
    for share in ("front", "left", "cross"):
        assert getattr(scaled, share) == pytest.approx(getattr(found, share))


@given(CARS)
def test_a_mirrored_car_has_the_other_diagonal_and_side(car: dict[str, float]) -> None:
    found = Balance(car)
    other = Balance({"FL": car["FR"], "FR": car["FL"], "RL": car["RR"], "RR": car["RL"]})
    assert other.cross == pytest.approx(1 - found.cross)
    assert other.left == pytest.approx(1 - found.left)
    assert other.front == pytest.approx(found.front)


def test_three_scales_give_no_share() -> None:
    assert balance_of(weighing(FL=293, FR=288, RL=305)) is None


def one(name: str, at: str, **values: object) -> Weighed:
    found = weighing(at, **{**LEVEL, **values})
    return Weighed(name, found, balance_of(found))


def test_what_changed_since_the_weighing_before() -> None:
    was = one("a", "2026-05-07", driver="in", fuel=litres(20))
    now = one("b", "2026-05-08", driver="in", fuel=litres(20.9), FL=291, FR=290, RL=307, RR=298)
    found = changed_since(was, now)
    assert found is not None
    assert found.corners == {"FL": -2, "FR": 2, "RL": 2, "RR": -2}
    assert (found.total, found.front, found.left) == (0, 0, 0)
    assert found.cross == pytest.approx(4 / 1186)
    assert found.doubts == ()


@pytest.mark.parametrize(
    ("was", "now", "doubts"),
    [
        ({"driver": "in"}, {"driver": "out"}, ("driver", "fuel unknown")),
        ({}, {"driver": "out"}, ("driver unknown", "fuel unknown")),
        ({"driver": "in"}, {"fuel": litres(20)}, ("driver unknown", "fuel unknown")),
        (
            {"driver": "in", "fuel": litres(20)},
            {"driver": "in", "fuel": {"typed": "some"}},
            ("fuel unknown",),
        ),
        (
            {"driver": "in", "fuel": litres(20)},
            {"driver": "in", "fuel": litres(22)},
            ("fuel",),
        ),
        (
            {"driver": "in", "fuel": litres(20)},
            {"driver": "in", "fuel": {"typed": "15 kg", "unit": "kg", "si": 15.0}},
            ("fuel unknown",),
        ),
        ({"driver": "in", "fuel": litres(20)}, {"driver": "in", "fuel": litres(21)}, ()),
        ({"driver": "in", "fuel": kilograms(15)}, {"driver": "in", "fuel": kilograms(15.75)}, ()),
        (
            {"driver": "in", "fuel": kilograms(15)},
            {"driver": "in", "fuel": kilograms(15.76)},
            ("fuel",),
        ),
    ],
)
def test_another_load_is_told(
    was: dict[str, object], now: dict[str, object], doubts: tuple[str, ...]
) -> None:
    found = changed_since(one("a", "2026-05-07", **was), one("b", "2026-05-08", **now))
    assert found is not None
    assert found.doubts == doubts


def test_a_weighing_without_four_scales_is_not_compared_with() -> None:
    short = weighing("2026-05-08", FL=293)
    listed = [one("c", "2026-05-09"), Weighed("b", short, None), one("a", "2026-05-07")]
    assert before_in(listed, "c") is listed[2]
    assert before_in(listed, "a") is None
    assert before_in(listed, "b") is listed[2]
    assert before_in(listed, "another") is None
    assert before_in([listed[0], listed[2]], "c") is listed[2], "the one beside it"
    assert changed_since(listed[1], listed[0]) is None
    assert changed_since(listed[0], listed[1]) is None


@pytest.mark.parametrize(
    ("moment", "name"),
    [
        ("2026-05-09 10:20", "c"),
        ("2026-05-09 09:59", "a"),  # c was read at ten
        ("2026-05-07 08:00", "a"),  # a day alone: any time of it
        ("2026-05-06 08:00", None),
        ("", "c"),
    ],
)
def test_the_newest_before_a_run(moment: str, name: str | None) -> None:
    listed = [
        one("c", "2026-05-09 10:00"),
        Weighed("b", weighing("2026-05-08", FL=293), None),
        one("a", "2026-05-07"),
    ]
    found = newest_by(listed, moment)
    assert (found.entity if found else None) == name


def test_those_of_another_car_are_not_listed(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        for car, at in (
            ("c", "2026-05-08"),
            ("c", "2026-05-10"),
            ("c", "2026-05-10"),
            ("other", "2026-05-09"),
            ("c", "2026-05-09 10:00"),
        ):
            logbook.write(put("weighing", {"car": car, "at": at, "FL": {"mass": 290}}))
        found = weighings(logbook, "c")
    assert [w.weighing.at for w in found] == [
        "2026-05-10",
        "2026-05-10",
        "2026-05-09 10:00",
        "2026-05-08",
    ]


def test_a_scale_at_twice_the_other_is_marked() -> None:
    body = {c: {"mass": kg} for c, kg in LEVEL.items()}
    assert record_marks("weighing", body) == {}
    assert record_marks("weighing", {**body, "FL": {"mass": 576}}) == {}
    marks = record_marks("weighing", {**body, "FL": {"mass": 577}})
    assert {mark.kind for mark in marks.values()} == {"scale odd"}
    assert set(marks) == {"FL.mass", "FR.mass"}
    assert record_marks("weighing", {"FL": {"mass": 577}, "RL": {"mass": 10}}) == {}


def test_a_weighing_at_an_unknown_time_was_before_none() -> None:
    """Nobody knows whether it was before the run, or before another weighing."""
    unknown, known = one("u", "", **LEVEL), one("k", "2026-05-08", **LEVEL)
    assert newest_by([unknown], "2026-05-09 10:00") is None
    assert newest_by([unknown], "") == unknown
    assert before_in([known, unknown], "k") is None
    assert before_in([known, unknown, one("v", "", **LEVEL)], "u") is None
