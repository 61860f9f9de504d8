"""Finding what was run before, on a small season written for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from trackside.analysis.recall import (
    car_named,
    find,
    last_two,
    ordered_sessions,
    outing_before,
)
from trackside.errors import BadInput, UnknownRecord
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Reading, Session
from trackside.records.fields import CORNER_FIELDS, OUTCOMES
from trackside.reports.recall_words import conditions_words, match_words


class Season:
    """Two venues, two drivers who share a car, another car beside."""

    def __init__(self, logbook: Logbook) -> None:
        self.logbook = logbook
        self.car = self.add("car", name="Coupé", number="64")
        self.other = self.add("car", name="Tourer", number="27")
        self.may = self.add("event", venue="Larkmere", title="May meeting", date="2026-05-09")
        self.october = self.add("event", venue="Tidefell", title="Finale", date="2026-10-17")

    def add(self, kind: str, /, **body: Any) -> str:
        write = put(kind, body)
        self.logbook.write(write)
        return write.entity

    def run(self, start: str, driver: str, **more: Any) -> str:
        event = self.may if start < "2026-06" else self.october
        body = {"event": event, "car": self.car, "status": "done", "kind": "practice"}
        return self.add("session", **{**body, "start": start, "driver": driver, **more})


def degrees(air: float) -> dict[str, Any]:
    return {"typed": f"{air:g}", "unit": "°C", "si": air}


@pytest.fixture
def season() -> Iterator[Season]:
    with Logbook.open(":memory:", device="test") as logbook:
        yield Season(logbook)


def test_the_outing_before_is_the_same_drivers_in_the_same_car_that_ran(season: Season) -> None:
    first = season.run("2026-05-09 09:00", "Ann")
    season.run("2026-05-09 10:00", "Ann", status="planned")
    season.run("2026-05-09 11:00", "Ben")
    season.run("2026-05-09 12:00", "Ann", car=season.other)
    aborted = season.run("2026-05-09 13:00", "Ann", status="aborted")
    now = season.run("2026-05-09 14:00", "Ann", status="planned")
    assert outing_before(season.logbook, now) == aborted
    assert outing_before(season.logbook, aborted) == first
    assert outing_before(season.logbook, first) is None


def test_a_session_that_ran_comes_before_a_planned_one_however_it_is_cased(
    season: Season,
) -> None:
    first = season.run("2026-05-09 09:00", "Ann")
    season.run("2026-05-09 10:00", "Ann", status="Planned")
    now = season.run("2026-05-09 14:00", "Ann")
    assert outing_before(season.logbook, now) == first


def test_laps_tell_that_a_session_ran_though_nobody_said_so(season: Season) -> None:
    laps = {"typed": "12", "unit": "", "si": 12.0}
    season.run("2026-05-09 09:00", "Ann")
    timed = season.run("2026-05-09 10:00", "Ann", status="planned", laps=laps)
    now = season.run("2026-05-09 14:00", "Ann")
    assert outing_before(season.logbook, now) == timed


def test_a_session_that_is_only_planned_is_never_the_outing_before(season: Season) -> None:
    season.run("2026-05-09 09:00", "Ann", status="planned")
    season.run("2026-05-09 10:00", "Ann", status="planned")
    now = season.run("2026-05-09 14:00", "Ann", status="planned")
    assert outing_before(season.logbook, now) is None


ZERO = {"typed": "0", "unit": "", "si": 0.0}
TYPED = {"typed": "1.9", "unit": "bar", "si": 1.9e5}
GIVES = {
    "body_temperature": "62", "hot_pressure": "1.9 bar", "tread_inner": "85", "tread_middle": "85",
    "tread_outer": "85", "fuel_end": "12 l", "run_time": "20", "laps": "8", "best_lap": "1:35.2",
}  # fmt: skip


def read(text: str, name: str) -> dict[str, Any]:
    """That text as the logbook keeps it in that field."""
    quantity = OUTCOMES[name].quantity
    assert quantity
    return Reading.of_text(text, quantity).body()  # type: ignore[union-attr]


HINTS: list[tuple[dict[str, Any], bool]] = [
    ({}, False),
    ({"status": "Planned"}, False),
    ({"status": "done"}, True),
    ({"status": "aborted"}, True),
    ({"laps": ZERO}, False),
    ({"result": "P3"}, True),
    ({"FL": {"gas_pressure": TYPED, "cold_pressure": TYPED}}, False),
    ({"air_temperature": TYPED, "fuel": TYPED, "surface": "wet"}, False),
    ({"FL": {"hot_target": TYPED, "rebound_bleed": TYPED}}, False),
    *(({"RR" if name in CORNER_FIELDS else "": name}, True) for name in OUTCOMES),
    *(({"FL": {name: read(text, name)}}, False) for name, text in (
        ("hot_pressure", "190 bar"), ("tread_inner", "88 psi"), ("tread_outer", "850"),
        ("body_temperature", "warm"),
    )),
    ({"best_lap": read("1:95:2", "best_lap")}, False),
    ({"best_lap": read("2", "best_lap")}, False),
    ({"fuel_end": read("400 l", "fuel_end")}, False),
    ({"fuel_end": read("20 kg", "fuel_end")}, True),
]  # fmt: skip
"""What is on a sheet, and whether its run was run: what cannot be right as typed says nothing."""


@pytest.mark.parametrize(("hint", "expected"), HINTS, ids=str)
def test_record_and_line_agree_on_what_ran(
    season: Season, hint: dict[str, Any], expected: bool
) -> None:
    body: dict[str, Any] = {}
    for place, value in hint.items():
        if place == "RR" and isinstance(value, str):
            body["RR"] = {value: read(GIVES[value], value)}
        elif not place:
            body[value] = "P3" if value == "result" else read(GIVES[value], value)
        else:
            body[place] = value
    session = season.run("2026-05-09 09:00", "Ann", **({"status": "planned"} | body))
    state = season.logbook.state(session)
    assert state is not None
    assert season.logbook.session_line(session).ran is expected
    assert Session.checked(state).ran is expected


def test_without_a_car_another_cars_outing_is_not_the_one_before(season: Season) -> None:
    unnamed = season.run("2026-05-09 09:00", "Ann", car="")
    season.run("2026-05-09 10:00", "Ann")
    now = season.run("2026-05-09 14:00", "Ann", car="")
    assert outing_before(season.logbook, now) == unnamed
    assert outing_before(season.logbook, unnamed) is None


def test_without_a_driver_it_is_the_cars_outing_before(season: Season) -> None:
    first = season.run("2026-05-09 09:00", "Ann")
    now = season.run("2026-05-09 14:00", "", status="planned")
    assert outing_before(season.logbook, now) == first


def test_last_two_are_outings_that_ran(season: Season) -> None:
    first = season.run("2026-05-09 09:00", "Ann")
    second = season.run("2026-05-09 11:00", "Ann")
    season.run("2026-05-09 12:00", "Ben")
    season.run("2026-05-09 14:00", "Ann", status="planned")
    assert last_two(season.logbook) == (first, second)


def test_a_planned_one_stands_in_when_nothing_else_will_do(season: Season) -> None:
    first = season.run("2026-05-09 09:00", "Ann")
    planned = season.run("2026-05-09 14:00", "Ann", status="planned")
    assert last_two(season.logbook) == (first, planned)


def test_without_two_outings_there_is_nothing_to_compare(season: Season) -> None:
    with pytest.raises(UnknownRecord):
        last_two(season.logbook)
    season.run("2026-05-09 09:00", "Ann")
    season.run("2026-05-09 10:00", "Ben")
    with pytest.raises(UnknownRecord):
        last_two(season.logbook)


def test_last_two_of_a_driver_or_a_car(season: Season) -> None:
    a = [season.run(f"2026-05-09 {h}:00", "Ann") for h in ("09", "10")]
    b = [season.run(f"2026-05-09 {h}:00", "Ben", car=season.other) for h in ("11", "12")]
    assert last_two(season.logbook) == tuple(b)
    assert last_two(season.logbook, driver="Ann") == tuple(a)
    assert last_two(season.logbook, car=season.car) == tuple(a)


def test_sessions_of_a_car_are_oldest_first_whenever_they_were_written(season: Season) -> None:
    late = season.run("2026-10-17 09:00", "Ann")
    early = season.run("2026-05-09 09:00", "Ben")
    season.run("2026-05-09 10:00", "Ben", car=season.other)
    found = ordered_sessions(season.logbook, season.car)
    assert [entity for entity, _ in found] == [early, late]
    assert found[0][1].driver == "Ben"


def test_a_car_by_name_by_number_or_the_newest(season: Season) -> None:
    with pytest.raises(UnknownRecord) as refused:
        car_named(season.logbook)
    assert refused.value.cause == "no session says which car ran"
    assert refused.value.remedy == "write one down first"
    season.run("2026-05-09 10:00", "Ben", car=season.other)
    assert car_named(season.logbook) == (season.other, "Tourer")
    assert car_named(season.logbook, "coupe")[0] == season.car
    assert car_named(season.logbook, "64")[0] == season.car
    assert car_named(season.logbook, season.car) == (season.car, "Coupé")
    with pytest.raises(UnknownRecord) as refused:
        car_named(season.logbook, "65")
    assert refused.value.cause == "there is no car “65”"
    assert refused.value.remedy == "there are: Coupé, Tourer"


def test_where_no_car_was_entered_none_is_offered() -> None:
    with Logbook.open(":memory:", device="d") as logbook:
        with pytest.raises(UnknownRecord) as refused:
            car_named(logbook, "65")
        assert refused.value.remedy == ""


@pytest.fixture
def shelf(season: Season) -> dict[str, str]:
    """Kept: the warm winner in May, a wet one in May, a cold one in October."""
    warm = season.run("2026-05-09 15:00", "Ann", result="won", surface="dry", kind="race",
                      air_temperature=degrees(29))  # fmt: skip
    wet = season.run("2026-05-10 15:00", "Ben", result="P4", surface="wet",
                     air_temperature=degrees(14))  # fmt: skip
    cold = season.run("2026-10-17 15:00", "Ann", result="P2", surface="dry",
                      air_temperature=degrees(9))  # fmt: skip
    return {
        name: season.add("kept", session=session, title=title, why=why)
        for name, session, title, why in (
            ("warm", warm, "May race", "won by ten seconds, kind to the rear tyres"),
            ("wet", wet, "Rain", "soft all round, bar off"),
            ("cold", cold, "Cold morning", "front rebound up; the winner of May translated"),
        )
    }


def names(season: Season, shelf: dict[str, str], text: str, **more: Any) -> list[str]:
    by_entity = {entity: name for name, entity in shelf.items()}
    return [by_entity[found.entity] for found in find(season.logbook, text, **more)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("wet", ["wet"]),
        ("cold", ["cold", "wet"]),
        ("hot", ["warm"]),
        ("air<10", ["cold"]),
        ("air < 10", ["cold"]),
        ("air<50F", ["cold"]),
        ("air < 50 °F dry", ["cold"]),
        ("air>=14 dry", ["warm"]),
        ("air<15 ben", ["wet"]),
        ("larkmere won", ["warm"]),
        ("winner ann may", ["cold", "warm"]),
        ("TIDEFELL", ["cold"]),
        ("tide", ["cold"]),
        ("fell", []),
        ("finale", ["cold"]),
        ("coupe rear", ["warm"]),
        ("rear snow", []),
        ("race", ["warm"]),
        ("2026-10", ["cold"]),
        ("[/ *", []),
    ],
)
def test_every_word_must_fit_somewhere(
    season: Season, shelf: dict[str, str], text: str, expected: list[str]
) -> None:
    assert sorted(names(season, shelf, text)) == sorted(expected)


def test_no_words_bring_the_whole_shelf_newest_first(season: Season, shelf: dict[str, str]) -> None:
    assert names(season, shelf, "") == ["cold", "wet", "warm"]
    assert names(season, shelf, "", limit=1) == ["cold"]


def test_set_ups_of_todays_venue_stand_first(season: Season, shelf: dict[str, str]) -> None:
    assert names(season, shelf, "dry", venue="Larkmere") == ["warm", "cold"]
    assert names(season, shelf, "dry", venue="tidefell") == ["cold", "warm"]


def test_a_title_counts_more_than_a_word_in_the_reason(
    season: Season, shelf: dict[str, str]
) -> None:
    assert names(season, shelf, "may ann")[0] == "warm"


def test_it_says_what_each_word_hit(season: Season, shelf: dict[str, str]) -> None:
    found = find(season.logbook, "larkmere hot air>20")[0]
    said = [match_words(match, Preferences()) for match in found.matched]
    assert said == ["venue “Larkmere”", "hot: air 29 °C", "air 29 °C > 20"]
    assert conditions_words(found, Preferences()) == "dry, air 29 °C"
    crews = Preferences(preset="imperial")
    imperial = find(season.logbook, "air>80", unit=crews.unit)[0]
    assert conditions_words(imperial, crews) == "dry, air 84 °F"
    assert match_words(imperial.matched[0], crews) == "air 84 °F > 80"


def test_unknown_weather_fits_no_temperature(season: Season) -> None:
    season.add("kept", session=season.run("2026-05-09 09:00", "Ann"), title="No weather")
    for word in ("cold", "hot", "air<99", "air>-99"):
        assert find(season.logbook, word) == []


@pytest.mark.parametrize("word", ["grip<3", "air<", "air<warm", "air<5mm"])
def test_a_comparison_without_sense_is_refused(season: Season, word: str) -> None:
    season.add("kept", session=season.run("2026-05-09 09:00", "Ann"), title="One")
    with pytest.raises(BadInput):
        find(season.logbook, word)


def test_notes_and_reasons_come_after_the_shelf(season: Season, shelf: dict[str, str]) -> None:
    session = season.run("2026-10-18 10:00", "Ann", air_temperature=degrees(6))
    note = season.add("note", session=session, words="Kerbs of the rear skip", phase="kerbs")
    reason = season.add("change", session=session, what="rear bar", reason="rear skips")
    found = find(season.logbook, "rear", shelf_only=False)
    assert found[0].kind == "kept"
    assert {item.entity for item in found[1:]} >= {note, reason}
    assert all(item.kind == "kept" for item in find(season.logbook, "rear"))
    cold = find(season.logbook, "skip air<8", shelf_only=False)
    assert {item.entity for item in cold} == {note, reason}
    assert find(season.logbook, "skip air>8", shelf_only=False) == []


def test_equal_means_shown_as_equal(season: Season) -> None:
    """70 % is not 60 %; 30 kg is not 30 L, and neither answers for the other."""
    for title, humidity, fuel, unit in (
        ("low", 0.60, 30.0, "kg"), ("mid", 0.70, 0.030, "L"), ("high", 0.784, 0.0404, "L"),
    ):  # fmt: skip
        ran = season.run(
            "2026-05-09 09:00", "Ann",
            humidity={"typed": "x", "unit": "%", "si": humidity},
            fuel={"typed": "x", "unit": unit, "si": fuel},
            air_temperature=degrees(14.6),
        )  # fmt: skip
        season.add("kept", session=ran, title=title)

    def titles(text: str) -> set[str]:
        return {found.title for found in find(season.logbook, text)}

    assert titles("humidity=70") == {"mid"}
    assert titles("humidity=78%") == {"high"}
    assert titles("humidity>65") == {"mid", "high"}
    assert titles("fuel=30") == {"mid"}
    assert titles("fuel=30 kg") == {"low"}
    assert titles("fuel<=40.4") == {"mid", "high"}
    assert titles("fuel>1kg") == {"low"}
    assert titles("air=15") == {"low", "mid", "high"}
    assert titles("air=14") == set()
    assert titles("air=58F") == {"low", "mid", "high"}, "14.6 °C is 58.28 °F"


def test_a_kept_set_up_whose_session_is_gone_is_passed_over(season: Season) -> None:
    season.add("kept", session="019e0bc0-0000-7000-8000-000000000000", title="Orphan")
    assert find(season.logbook, "") == []
