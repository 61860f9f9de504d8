"""The garage book from the command line, and its records on every other road."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pytest

from tests.book_entries import write_book
from tests.running import Cli
from trackside.logbook import Logbook, patch, put


@pytest.fixture
def log(runs_alone_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season, its garage book empty."""
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


WEIGHED = ("FL=293", "FR=288", "RL=305", "RR=300", "driver=in", "fuel=20L", "at=2026-10-16 18:00")


def test_a_weighing_is_written_and_listed(cli: Cli, log: Path) -> None:
    assert "not weighed yet" in cli("--log", log, "weights").out
    written = cli("--log", log, "weights", *WEIGHED).out
    assert "cross (FR + RL) 50.0 %" in written
    [found] = cli("--log", log, "weights", "--json").json["weighing"]
    assert found["kg"] == {"FL": 293.0, "FR": 288.0, "RL": 305.0, "RR": 300.0}
    assert found["cross_share_FR_RL"] == 0.5
    assert found["total_kg"] == 1186.0
    assert (found["at"], found["driver"]) == ("2026-10-16 18:00", "in")
    assert found["fuel"]["si"] == 0.02


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("XX=3", "no PLACE=VALUE here: the places are at, driver"),
        ("FL", "no PLACE=VALUE here"),
        ("FL=many", "not a number"),
        ("driver=perhaps", "type in or out"),
        ("at=yesterday", "no day or time"),
    ],
)
def test_what_cannot_be_read_writes_nothing(cli: Cli, log: Path, given: str, words: str) -> None:
    refused = cli("--log", log, "weights", "FR=288", given)
    assert refused.status == 2
    assert words in refused.err
    assert cli("--log", log, "weights", "--json").json["weighing"] == []


def test_the_run_after_it_shows_it_with_its_time(cli: Cli, log: Path) -> None:
    before = cli("--log", log, "show", "last", "--json").json
    assert before["corner_weights"] is None
    cli("--log", log, "weights", *WEIGHED)
    shown = cli("--log", log, "show", "last").out
    assert "corner weights: last read 2026-10-16 18:00, driver in, fuel 20.0 L" in shown
    after = cli("--log", log, "show", "last", "--json").json["corner_weights"]
    assert after["front_share"] == pytest.approx(581 / 1186)
    for page in ("sheet", "debrief"):
        told = cli("--log", log, page, "last").out
        assert "corner weights" in told.casefold()
        assert "last read 2026-10-16 18:00" in told


def test_another_cars_weighings_are_its_own(cli: Cli, log: Path) -> None:
    cli("--log", log, "weights", *WEIGHED)
    with Logbook.open(log, read_only=True) as logbook:
        names = {str(body["name"]) for _, body in logbook.all("car")}
    mine = cli("--log", log, "weights", "--json").json["car"]
    other = next(name for name in names if name not in mine)
    assert cli("--log", log, "weights", "--car", other, "--json").json["weighing"] == []


def test_it_goes_out_and_comes_in_whole(cli: Cli, log: Path, tmp_path: Path) -> None:
    cli("--log", log, "weights", *WEIGHED)
    out, other = tmp_path / "season.json", tmp_path / "other.trackside"
    cli("--log", log, "export", out)
    assert cli("--log", other, "import", out).status == 0
    mine, theirs = (cli("--log", p, "weights", "--json").json for p in (log, other))
    assert mine == theirs
    assert cli("--log", other, "verify").status == 0


def test_a_body_that_is_no_weighing_is_refused_at_the_door(cli: Cli, tmp_path: Path) -> None:
    entity = {
        "entity": "01890000-0000-7000-8000-000000000001",
        "kind": "weighing",
        "body": {"car": "c", "driver": "beside it"},
    }
    document = {"format": "trackside-logbook", "version": 1, "entities": [entity]}
    file = tmp_path / "bad.json"
    file.write_text(json.dumps(document), "utf-8")
    refused = cli("--log", tmp_path / "log.trackside", "import", file)
    assert refused.status == 2
    assert "driver" in refused.err


def test_two_laptops_meet_over_one_weighing(cli: Cli, log: Path, tmp_path: Path) -> None:
    """Each typed another weight: both stand, and a person decides."""
    cli("--log", log, "weights", *WEIGHED)
    other = Path(shutil.copy(log, tmp_path / "other.trackside"))
    with Logbook.open(log, read_only=True) as logbook:
        [(entity, _)] = logbook.all("weighing")
    for path, device, kg in ((log, "a", 291.0), (other, "b", 295.0)):
        with Logbook.open(path, author=device, device=device) as logbook:
            typed = {"typed": f"{kg}", "unit": "kg", "si": kg}
            logbook.write(patch("weighing", entity, {"FL.mass": typed}))
    bundle = tmp_path / "b.bundle"
    cli("--log", other, "bundle", "write", bundle)
    cli("--log", log, "bundle", "read", bundle)
    [conflict] = cli("--log", log, "conflicts", "--json").json
    assert conflict["path"] == "FL.mass"
    assert cli("--log", log, "verify").status == 0


def test_a_tyre_set_is_entered_with_what_it_came_with(cli: Cli, log: Path) -> None:
    told = cli("--log", log, "tyres", "name=Q9", "compound=soft", "laps=20", "cycles=2").out
    assert "set Q9: 20 laps, 2 heat cycles" in told
    found = {one["name"]: one for one in cli("--log", log, "tyres", "--json").json["tyre_set"]}
    assert (found["Q9"]["laps"], found["Q9"]["heat_cycles"]) == (20, 2)
    assert found["D7"]["entity"] is None  # only runs name it
    assert found["D7"]["runs"] > 0


def test_a_set_needs_a_name_of_its_own(cli: Cli, log: Path) -> None:
    assert "no name yet" in cli("--log", log, "tyres", "compound=soft").err
    cli("--log", log, "tyres", "name=Q9")
    again = cli("--log", log, "tyres", "name=q9")
    assert again.status == 2
    assert "a set q9 already" in again.err


def test_a_run_says_what_its_set_had_before_and_what_ran_before_that(cli: Cli, log: Path) -> None:
    shown = cli("--log", log, "show", "last", "--json").json
    assert shown["tyre_set_before"]["name"] == shown["values"]["tyre_set"]
    assert "before this run" in cli("--log", log, "show", "last").out
    with Logbook.open(log, device="d") as logbook:
        logbook.write(patch("session", logbook.session("last"), {"tyre_set": "Q9"}))
    assert "before this run; the outing before ran set" in " ".join(
        cli("--log", log, "debrief", "last").out.split()
    )


def test_a_set_entered_on_two_laptops_is_one_for_a_person_to_settle(
    cli: Cli, log: Path, tmp_path: Path
) -> None:
    other = Path(shutil.copy(log, tmp_path / "other.trackside"))
    with Logbook.open(log, read_only=True) as logbook:
        car = logbook.session_lines(limit=1)[0].car
    for path, device, laps in ((log, "a", 0), (other, "b", 5)):
        with Logbook.open(path, author=device, device=device) as logbook:
            logbook.write(put("tyre_set", {"car": car, "name": "Q9", "laps": laps}))
    bundle = tmp_path / "b.bundle"
    cli("--log", other, "bundle", "write", bundle)
    cli("--log", log, "bundle", "read", bundle)
    names = [one["name"] for one in cli("--log", log, "tyres", "--json").json["tyre_set"]]
    assert names.count("Q9") == 1  # one of the two counts until it is decided
    [conflict] = cli("--log", log, "conflicts", "--json").json
    assert conflict["path"] == "entered twice"
    assert "(tyre set Q9)" in cli("--log", log, "conflicts").out
    [theirs] = [v["version"] for v in conflict["versions"] if v["author"] == "b"]
    settled = cli("--log", log, "settle", conflict["name"], theirs)
    assert settled.status == 0, settled.err
    with Logbook.open(log, read_only=True) as logbook:
        [(_, body)] = [one for one in logbook.all("tyre_set") if one[1]["name"] == "Q9"]
    assert body["laps"] == 5
    assert cli("--log", log, "verify").status == 0


def test_the_weather_is_read_along_the_day_and_shown_beside_a_run(cli: Cli, log: Path) -> None:
    with Logbook.open(log, read_only=True) as logbook:
        start = logbook.session_lines(limit=1)[0].start
    day = start[:10]
    for at, air in (("09:00", "9"), ("13:40", "12"), ("18:00", "7")):
        given = (f"air={air}", f"at={day} {at}", "wind=15 km/h NW", "surface=damp")
        assert cli("--log", log, "weather", *given).status == 0
    listed = cli("--log", log, "weather", "--json").json["weather"]
    assert [one["at"][11:] for one in listed] == ["18:00", "13:40", "09:00"]
    assert listed[1]["air_temperature"]["si"] == 12
    shown = cli("--log", log, "show", "last", "--json").json["nearest_weather"]
    assert (shown["at"], shown["wind"]) == (f"{day} 13:40", "15 km/h NW")
    words = "read 13:40, 20 min before the start: damp, air 12 °C, wind 15 km/h NW"
    assert words in cli("--log", log, "show", "last").out
    assert words in " ".join(cli("--log", log, "sheet", "last").out.split())


def test_weather_of_another_hour_is_not_shown(cli: Cli, log: Path) -> None:
    with Logbook.open(log, read_only=True) as logbook:
        day = logbook.session_lines(limit=1)[0].start[:10]
    cli("--log", log, "weather", "air=9", f"at={day} 09:00")
    assert cli("--log", log, "show", "last", "--json").json["nearest_weather"] is None
    assert "read 09:00" not in cli("--log", log, "show", "last").out


def test_hours_are_summed_from_the_runs(cli: Cli, log: Path) -> None:
    with Logbook.open(log, device="d") as logbook:
        last = logbook.session_lines(limit=1)[0]
        time = {"typed": "30", "unit": "min", "si": 1800.0}
        logbook.write(patch("session", last.entity, {"run_time": time, "lap_times": None}))
    given = ("part=engine", "serial=E12", "start=10h", "limit=10.4h", f"since={last.start}")
    assert "engine E12: 10.5 h of 10.4 h" in cli("--log", log, "hours", *given).out
    [found] = cli("--log", log, "hours", "--json").json["counter"]
    assert (found["has_s"], found["runs"], found["runs_not_wholly_timed"]) == (37800, 1, 0)
    assert found["left_s"] == pytest.approx(-360)
    [before] = cli("--log", log, "show", "last", "--json").json["hours_before"]
    assert before["has_s"] == 36000
    assert "engine E12: 10.0 h of 10.4 h, 0.4 h left" in cli("--log", log, "show", "last").out
    assert "no name yet: part" in cli("--log", log, "hours", "serial=E13").err


def test_a_list_goes_to_a_spreadsheet(cli: Cli, log: Path, tmp_path: Path) -> None:
    cli("--log", log, "weights", *WEIGHED, "words==HYPERLINK()")
    target = tmp_path / "weights.csv"
    assert "1 row written" in cli("--log", log, "weights", "--csv", target).out
    [row] = list(csv.DictReader(target.open(encoding="utf-8", newline="")))
    assert (row["car"], row["kg FL"], row["total_kg"]) == ("Coupé 64", "293.0", "1186.0")
    assert row["fuel typed"] == "20L"
    assert row["words"] == "'=HYPERLINK()"  # no cell can start a formula
    again = cli("--log", log, "weights", "--csv", target)
    assert again.status == 2
    assert "is there already" in again.err


@pytest.mark.parametrize("command", ["tyres", "weights", "hours", "weather"])
def test_every_part_is_listed_as_a_table_json_and_csv(
    cli: Cli, log: Path, tmp_path: Path, command: str
) -> None:
    write_book(log)
    assert cli("--log", log, command).status == 0
    parts = list(cli("--log", log, command, "--json").json.values())
    [entries] = [part for part in parts if isinstance(part, list)]
    target = tmp_path / f"{command}.csv"
    assert cli("--log", log, command, "--csv", target).status == 0
    rows = list(csv.DictReader(target.open(encoding="utf-8", newline="")))
    assert len(rows) == len(entries) > 0
