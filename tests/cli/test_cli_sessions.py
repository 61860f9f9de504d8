"""list, show, find: what the sample weekends hold is what the commands tell."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.running import SHEETS, Cli
from trackside.logbook import Logbook, put
from trackside.records import Reading

WEEKENDS = json.loads((SHEETS.parent / "weekends.json").read_text("utf-8"))["entities"]


def of_kind(kind: str) -> list[dict]:
    return [entity for entity in WEEKENDS if entity["kind"] == kind]


def test_list_tells_every_session_newest_first(on_samples: Cli) -> None:
    found = on_samples("list", "--json").json
    assert found["total"] == len(of_kind("session"))
    assert {s["entity"] for s in found["sessions"]} == {s["entity"] for s in of_kind("session")}
    starts = [session["start"] for session in found["sessions"]]
    assert starts == sorted(starts, reverse=True)


def test_list_short_ids_are_the_end_of_the_entity_and_name_it(on_samples: Cli) -> None:
    session = on_samples("list", "--json").json["sessions"][3]
    assert session["entity"].endswith(session["id"])
    assert len(session["id"]) == 6
    assert on_samples("show", session["id"], "--json").json["session"] == session
    assert on_samples("show", "last-3", "--json").json["session"] == session


def test_list_limits_and_says_so(on_samples: Cli) -> None:
    ran = on_samples("list", "--limit", 2)
    assert len(ran.out.splitlines()) == 1 + 2 + 1
    assert f"{len(of_kind('session')) - 2} older" in ran.out


def test_list_of_one_driver(on_samples: Cli) -> None:
    driver = of_kind("session")[0]["body"]["driver"]
    found = on_samples("list", "--driver", driver, "--json").json["sessions"]
    assert found
    assert {session["driver"] for session in found} == {driver}


def test_show_keeps_what_was_typed_beside_its_si_value(on_samples: Cli) -> None:
    session = next(s for s in reversed(of_kind("session")) if "gas_pressure" in s["body"]["FL"])
    shown = on_samples("show", session["entity"], "--json").json
    kept = session["body"]["FL"]["gas_pressure"]
    assert shown["corners"]["FL"]["gas_pressure"] == {**kept, "si_unit": "Pa"}
    assert shown["corners"]["FL"]["damper"] == session["body"]["FL"]["damper"]


def test_show_marks_what_cannot_be_right_and_leaves_it(on_samples: Cli) -> None:
    marks = {}
    for session in of_kind("session"):
        shown = on_samples("show", session["entity"], "--json").json
        marks |= {(session["entity"], path): why for path, why in shown["marks"].items()}
        for path in shown["marks"]:
            corner, _, name = path.partition(".")
            value = shown["corners"][corner][name] if name else shown["values"][path]
            assert value is not None
    assert marks, "the weekend with gaps has values that cannot be right"


def test_show_tells_gas_that_went_missing(tmp_path: Path, cli: Cli) -> None:
    # by hand: (15.00 + 1.01325) bar × 283.15/293.15 − 1.01325 = 14.45 bar at 10 °C; p/T constant
    log = tmp_path / "gas.trackside"
    with Logbook.open(log, author="tester") as logbook:
        for day, (typed, warm) in enumerate([("15", "20"), ("14.45", "10"), ("13.2", "10")]):
            corner = {
                "damper": "D1",
                "build": "A",
                "gas_pressure": Reading.of_text(typed, "pressure").model_dump(),
                "gas_temperature": Reading.of_text(warm, "temperature").model_dump(),
            }
            body = {"car": "C", "start": f"2026-05-0{day + 1} 10:00", "FL": corner}
            logbook.write(put("session", body))
    told = cli("--log", log, "show", "last", "--json").json["lost_charge"]
    [(words, _)] = [sentence.split(" that") for sentence in told]
    assert words == "FL gas: 1.25 bar less than the 14.45 bar"
    assert f"! {told[0]}\n" in cli("--log", log, "show", "last").out
    assert cli("--log", log, "show", "last-1", "--json").json["lost_charge"] == []
    early = cli("--log", log, "show", "last", "--as-of", "2099-01-01T00:00", "--json").json
    assert early["lost_charge"] == told


def test_show_in_words_has_all_four_corners_and_the_notes(on_samples: Cli) -> None:
    note = of_kind("note")[0]["body"]
    ran = on_samples("show", note["session"])
    assert ran.status == 0
    assert any(line.split() == ["FL", "FR", "RL", "RR"] for line in ran.out.splitlines())
    assert note["words"].splitlines()[0] in ran.out


@pytest.mark.parametrize("name", ["zzz", "last-999", "0000000", "", "[/", "last-"])
def test_an_unknown_session_is_one_sentence_and_status_2(on_samples: Cli, name: str) -> None:
    ran = on_samples("show", name)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("trackside: ")
    assert ran.err.count("\n") == 1


def test_find_puts_kept_set_ups_before_notes(on_samples: Cli) -> None:
    venue = of_kind("event")[0]["body"]["venue"]
    found = on_samples("find", venue, "--json").json["found"]
    kinds = [item["kind"] for item in found]
    assert kinds[: len(of_kind("kept"))].count("kept") == len(of_kind("kept"))
    assert all(item["venue"] == venue for item in found if item["kind"] == "kept")
    assert all(item["matched"] for item in found)


def test_find_without_words_tells_the_whole_shelf(on_samples: Cli) -> None:
    found = on_samples("find", "--json").json["found"]
    assert {item["entity"] for item in found} == {kept["entity"] for kept in of_kind("kept")}


def test_find_compares_conditions(on_samples: Cli) -> None:
    air = {s["entity"]: s["body"].get("air_temperature", {}).get("si") for s in of_kind("session")}
    found = on_samples("find", "air<13", "--json").json["found"]
    expected = {
        kept["entity"]
        for kept in of_kind("kept")
        if air[kept["body"]["session"]] is not None and air[kept["body"]["session"]] < 13
    }
    assert {item["entity"] for item in found if item["kind"] == "kept"} == expected
    assert expected


def test_find_nothing_says_so_and_succeeds(on_samples: Cli) -> None:
    ran = on_samples("find", "nowhere-at-all")
    assert (ran.status, ran.out) == (0, "Nothing matches all of these words.\n")


@pytest.mark.parametrize("words", ["grip<3", "air<", "air<warm", "track>=12N"])
def test_find_a_comparison_without_sense_is_refused(on_samples: Cli, words: str) -> None:
    assert on_samples("find", words).status == 2


def test_what_the_lap_times_give_is_said_to_come_from_them(cli: Cli, tmp_path: Path) -> None:
    laps = ["1:50 out", 95.2, 94.9, "1:20 in"]
    log = tmp_path / "team.trackside"
    with Logbook.open(log, author="Mara", device="d") as logbook:
        logbook.write(put("session", {"kind": "race", "status": "done", "lap_times": laps}))
    at = ("--log", log)
    listed = cli(*at, "list")
    assert "2 timed" in listed.out
    assert "1:34.900 of the laps" in listed.out
    [line] = cli(*at, "list", "--json").json["sessions"]
    assert (line["laps"], line["best_lap_s"]) == (None, None)
    assert (line["timed_laps"], line["best_timed_s"]) == (2, 94.9)
    assert "lap times: 2 timed laps, best 1:34.900" in cli(*at, "show", "last").out
    shown = cli(*at, "show", "last", "--json").json
    assert shown["from_lap_times"] == {"timed_laps": 2, "best_lap_s": 94.9}
    assert shown["lap_times_s"] == laps
    assert shown["values"]["best_lap"] is None


def test_a_damper_on_two_cars_in_one_session_is_told(cli: Cli, tmp_path: Path) -> None:
    """The program's own rule, no source."""
    log = tmp_path / "log.trackside"
    with Logbook.open(log, author="t", device="t") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        cars = [put("car", {"name": "Coupé", "number": number}) for number in ("7", "8")]
        runs = [
            put("session", {"event": event.entity, "car": car.entity, "kind": "practice",
                            "start": f"2026-05-09 09:0{n}", "FL": {"damper": "D1"}})
            for n, car in enumerate(cars)
        ]  # fmt: skip
        logbook.write(event, *cars, *runs)
    told = "D1 is on Coupé 8 too, in practice: which car has it?"
    assert f"! FL.damper: {told}" in cli("--log", log, "show", "last-1").out
    assert cli("--log", log, "show", "last-1", "--json").json["marks"] == {"FL.damper": told}
    assert f"FL damper: {told}" in cli("--log", log, "sheet", "last-1").out
