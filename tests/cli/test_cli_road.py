"""What a road does, on the command line: asked once, driven, a profile, what is refused."""

from __future__ import annotations

import math
import shutil
from pathlib import Path

import pytest

from tests.running import Cli, ran
from trackside.logbook import Logbook, patch
from trackside.records import Event

ON = ("--class", "B", "--speed", "120")


def test_each_corner_with_its_band_and_the_turn_in(on_samples: Cli) -> None:
    found = on_samples("road", "last", *ON, "--json").json
    assert found["speed_m_s"] == pytest.approx(120 / 3.6)
    assert found["roughness_m3"] == pytest.approx(64e-6)
    assert [one["corner"] for one in found["corners"]] == ["FL", "FR", "RL", "RR"]
    for one in found["corners"]:
        now = one["now"]
        for figure in (now["body_m_s2"], now["tyre_N"], now["travel_m"], now["pump_down_m"]):
            assert figure["least"] <= figure["value"] <= figure["most"]
        assert now["tyre_share_of_static"] == now["tyre_N"]["value"] / now["static_N"]
        assert now["stop_unread"] is None
    assert found["turn_in"]["bars_without_rate"] == ["Front bar", "Rear bar"]
    said = on_samples("road", "last", *ON).out
    assert "ISO 8608 class B at 120 km/h" in said
    assert "Front bar, Rear bar: no rate on record" in said
    assert max(map(len, said.splitlines()[1:])) <= 88


def test_twice_the_speed_shakes_by_the_root_of_two(on_samples: Cli) -> None:
    """Class means are a factor of 4, speeds of 2: class B at 200 km/h is class A at 800 (S in the
    closed forms is their product; ISO 8608 with w = 2)."""
    one, other = (
        on_samples("road", "last", "--class", c, "--speed", v, "--json").json["corners"][0]["now"]
        for c, v in (("B", "50"), ("A", "200"))
    )
    assert one["body_m_s2"]["value"] == pytest.approx(other["body_m_s2"]["value"], rel=1e-9)
    mph = on_samples("road", "last", "--class", "B", "--speed", "31.0686 mph", "--json").json
    assert mph["speed_m_s"] == pytest.approx(50 / 3.6, rel=1e-5)


def test_two_runs_against_each_other_and_driven(on_samples: Cli) -> None:
    pair = ("road", "last", "--against", "last-6", *ON)
    told = on_samples(*pair, "--json").json
    driven = on_samples(*pair, "--drive", "--json").json
    assert driven["seconds"] == pytest.approx(60.0)
    for one, other in zip(told["corners"], driven["corners"], strict=True):
        change, step = one["change"]["tyre_N"], other["tyre_step_N"]
        assert change["value"] == pytest.approx(
            one["then"]["tyre_N"]["value"] - one["now"]["tyre_N"]["value"], abs=1e-9
        )
        assert step["told"] == (abs(step["change"]) > step["spread"])
        assert other["now"]["tyre_N"] == pytest.approx(one["now"]["tyre_N"]["value"], rel=0.08)
    same = on_samples("road", "last", "--against", "last", *ON, "--drive").out
    assert "this road cannot tell the two apart" in same


def test_class_and_speed_are_asked_once_for_a_venue(samples_log: Path, tmp_path: Path) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    with Logbook.open(log) as logbook:
        events = sorted(logbook.records(Event, "event"), key=lambda one: one[1].date)
        assert len({event.venue for _, event in events}) == 1
        nothing = {"road_class": None, "road_speed": None}
        logbook.write(*(patch("event", entity, nothing) for entity, _ in events))
    asked = ran("--log", log, "road", "last")
    assert asked.status == 2
    assert "no road class and no speed on it on record for Averholme" in asked.err
    asked = ran("--log", log, "road", "last", "--class", "B")
    assert (asked.status, "no speed on it on record" in asked.err) == (2, True)
    with Logbook.open(log) as logbook:
        kept = {"road_class": "C", "road_speed": {"typed": "150", "unit": "km/h", "si": 150 / 3.6}}
        logbook.write(patch("event", events[0][0], kept))  # of May; the last run is of October
    found = ran("--log", log, "road", "last", "--json").json
    assert found["road"] == "ISO 8608 class C at 150 km/h"


def road_file(folder: Path, rows: list[tuple[float, float]]) -> Path:
    path = folder / "road.csv"
    path.write_text("distance_m,height_mm\n" + "".join(f"{x},{h}\n" for x, h in rows), "utf-8")
    return path


def test_a_profile_is_driven(on_samples: Cli, tmp_path: Path) -> None:
    rows = [(0.1 * n, 6.0 * math.sin(0.03 * n) + 2.0 * math.sin(0.31 * n)) for n in range(6000)]
    profile = road_file(tmp_path, rows)
    found = on_samples("road", "last", "--profile", profile, "--speed", "108", "--json").json
    assert found["road"] == "road.csv at 108 km/h"
    assert found["seconds"] == pytest.approx(600 / 30.0, abs=0.1)
    assert found["corners"][0]["now"]["tyre_N"] > 0.0


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--class", "Z", "--speed", "120"), "“Z” is no road class"),
        (("--class", "B", "--speed", "0"), "--speed 0 is no speed"),
        (("--class", "B", "--speed", "-5"), "is no speed"),
        (("--class", "B", "--speed", "fast"), "fast"),
        (("--profile", "nowhere.csv", "--speed", "100"), "nowhere.csv cannot be read"),
        ((*ON, "--against", "last-1"), "of two cars"),
    ],
)
def test_what_cannot_be_is_said(on_samples: Cli, given: tuple[str, ...], said: str) -> None:
    refused = on_samples("road", "last", *given)
    assert refused.status == 2
    assert said in refused.err


def test_a_bad_profile_names_its_line(on_samples: Cli, tmp_path: Path) -> None:
    rows = [(0.25 * n, 0.0) for n in range(300)]
    profile = road_file(tmp_path, rows[:50] + rows[60:])
    refused = on_samples("road", "last", "--profile", profile, "--speed", "100")
    assert "road.csv, line 52: a gap of 2.75 m" in refused.err
    binary = tmp_path / "binary.csv"
    binary.write_bytes(b"\xff\xfe\x00")
    assert "is no text" in on_samples("road", "last", "--profile", binary, "--speed", "9").err
    both = on_samples("road", "last", "--profile", road_file(tmp_path, rows), *ON)
    assert "a class or a profile, not both" in both.err


def test_the_map_of_a_corner(on_samples: Cli) -> None:
    found = on_samples("road", "last", *ON, "--map", "fl", "--json").json
    assert len(found["tyre_N"]) == len(found["bump"]) == 21
    assert found["least_tyre"]["tyre_N"] == min(map(min, found["tyre_N"]))
    corner = on_samples("road", "last", *ON, "--json").json["corners"][0]["now"]
    assert found["as_set"][0]["tyre_N"] == pytest.approx(corner["tyre_N"]["value"])
    said = on_samples("road", "last", "--against", "last-7", *ON, "--map", "FL").out
    for words in ("as set ", "the other ", "least tyre load", "least body", "all 441 positions"):
        assert words in said
    refused = on_samples("road", "last", *ON, "--map", "FL", "--drive")
    assert "leave --drive and --profile out" in refused.err
    assert on_samples("road", "last", *ON, "--map", "XX").status == 2
