"""Fuel used a lap: two readings and the laps driven."""

from __future__ import annotations

import pytest

from trackside.analysis.fuel import fuel_gained, fuel_used
from trackside.analysis.plausible_ranges import mark_at
from trackside.analysis.shed import Shed
from trackside.records import Reading, Session


def run(start: str, end: str, laps: str = "", lap_times: tuple[float | str, ...] = ()) -> Session:
    """A run with that fuel, as typed."""
    body = {
        "fuel": Reading.of_text(start, "fuel").body(),
        "fuel_end": Reading.of_text(end, "fuel").body(),
        "lap_times": lap_times,
    }
    if laps:
        body["laps"] = Reading.of_text(laps, "count").body()
    return Session.checked(body)


def test_used_a_lap_is_the_difference_over_the_laps() -> None:
    """45 − 27 = 18 L, over 8 laps 2.25 L: worked out by hand."""
    found = fuel_used(run("45 L", "27 L", "8"))
    assert found is not None
    assert found.base == "m³"
    assert found.used == pytest.approx(0.018)
    assert found.per_lap == pytest.approx(0.00225)


def test_one_lap_is_enough_to_divide_by() -> None:
    found = fuel_used(run("20 L", "18 L", "1"))
    assert found is not None
    assert found.per_lap == pytest.approx(0.002)


def test_kilograms_stay_kilograms() -> None:
    found = fuel_used(run("30 kg", "18 kg", "6"))
    assert found is not None
    assert found.base == "kg"
    assert found.per_lap == pytest.approx(2.0)


def test_in_laps_and_out_laps_burn_fuel_too() -> None:
    times: tuple[float | str, ...] = ("2:10 out", 95.2, 95.0, "in")
    found = fuel_used(run("20 L", "12 L", lap_times=times))
    assert found is not None
    assert found.laps is not None
    assert (found.laps.number, found.laps.from_laps) == (4.0, True)
    assert found.per_lap == pytest.approx(0.002)


def test_the_laps_that_were_typed_come_first() -> None:
    found = fuel_used(run("20 L", "12 L", "5", (95.2, 95.0, 96.0, 95.1)))
    assert found is not None
    assert found.laps is not None
    assert (found.laps.number, found.laps.from_laps) == (5.0, False)


@pytest.mark.parametrize(
    ("laps", "times"), [("", ()), ("0", ()), ("", (95.2, "what"))], ids=["none", "zero", "unread"]
)
def test_without_laps_it_says_what_was_used_and_no_more(
    laps: str, times: tuple[float | str, ...]
) -> None:
    found = fuel_used(run("20 L", "12 L", laps, times))
    assert found is not None
    assert found.used == pytest.approx(0.008)
    assert found.per_lap is None


@pytest.mark.parametrize(("start", "end"), [("20 L", "10 kg"), ("a lot", "12 L"), ("20 L", "half")])
def test_two_kinds_or_no_numbers_give_nothing(start: str, end: str) -> None:
    assert fuel_used(run(start, end, "8")) is None
    assert not fuel_gained(run(start, end, "8"))


def test_more_at_the_end_than_at_the_start_is_marked_and_gives_nothing() -> None:
    odd = run("20 L", "21 L", "8")
    assert fuel_used(odd) is None
    mark = mark_at("fuel_end", odd, Shed())
    assert mark is not None
    assert mark.kind == "fuel gained"
    assert mark_at("fuel_end", run("20 L", "20 L", "8"), Shed()) is None


@pytest.mark.parametrize(
    ("start", "end", "laps", "marked"),
    [
        ("60 L", "20 L", "2", False),  # 20 L a lap, the limit itself (our own, no source)
        ("61 L", "20 L", "2", True),
        ("40 kg", "10 kg", "2", False),
        ("41 kg", "10 kg", "2", True),
        ("41 kg", "10 kg", "", False),
    ],
)
def test_more_than_a_car_burns_a_lap_is_marked(
    start: str, end: str, laps: str, marked: bool
) -> None:
    mark = mark_at("fuel_end", run(start, end, laps), Shed())
    assert (mark is not None and mark.kind == "fuel thirst") is marked


def test_the_next_session_starts_with_neither() -> None:
    carried = run("45 L", "27 L", "8").carried_over()
    assert not {"fuel", "fuel_end"} & carried.keys()


def test_fuel_at_the_end_shows_that_it_ran() -> None:
    end = {"fuel_end": Reading.of_text("12 L", "fuel").body()}
    assert Session.checked(end).ran
    assert not Session.checked({"fuel": end["fuel_end"]}).ran
