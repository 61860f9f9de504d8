"""A damper or a car entered like another one, from the command line."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.analysis.shed import Shed
from trackside.logbook import Logbook


@pytest.fixture
def log(samples_log: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(samples_log, tmp_path / "season.trackside"))


def test_dampers_like_another(cli: Cli, log: Path) -> None:
    ran = cli("--log", log, "copy", "damper", "TW-2241", "TW-2298", "TW-2299")
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith("TW-2298, TW-2299 like TW-2241: model, ")
    assert "not copied: " in ran.out
    with Logbook.open(log, read_only=True) as logbook:
        shed = Shed.of(logbook)
    copy, pattern = shed.build("TW-2299"), shed.build("TW-2241")
    assert copy is not None
    assert pattern is not None
    assert copy.adjusters == pattern.adjusters
    assert copy.gas_pressure is None
    refused = cli("--log", log, "copy", "damper", "TW-2241", "TW-2300", "tw-2299")
    assert (refused.status, refused.out) == (2, "")
    assert "tw-2299 is on record already: give another serial." in refused.err
    with Logbook.open(log, read_only=True) as logbook:
        assert Shed.of(logbook).damper("TW-2300") is None
    told = cli("--log", log, "copy", "damper", "TW-2241", "TW-2300", "--json").json
    assert (told["copied_from"], told["dampers"]) == ("TW-2241", ["TW-2300"])
    assert "adjusters" in told["copied"]
    assert "gas_pressure" not in told["copied"]


def test_a_car_like_another(cli: Cli, log: Path) -> None:
    with Logbook.open(log, read_only=True) as logbook:
        name = logbook.all("car")[0][1]["name"]
    told = cli("--log", log, "copy", "car", name, "Second", "--number", "8", "--json").json
    assert (told["copied_from"], told["car"]) == (name, "Second")
    with Logbook.open(log, read_only=True) as logbook:
        cars = {body["name"]: body for _, body in logbook.all("car")}
    assert cars["Second"]["number"] == "8"
    assert "mass" not in cars["Second"]["FL"]
    assert cli("--log", log, "copy", "car", "nobody's", "x").status == 2
    assert cli("--log", log, "copy", "car", name, "second").status == 2


def test_a_corner_like_its_pair(cli: Cli, log: Path) -> None:
    asked = ("--log", log, "copy", "corner", "rl", "last")
    refused = cli(*asked)
    assert (refused.status, refused.out) == (2, "")
    assert "RR has other values already: " in refused.err
    assert "--instead" in refused.err
    assert "needs its reason" in cli(*asked, "--instead").err
    told = cli(*asked, "--instead", "--reason", "as it ran", "--json").json
    assert (told["from"], told["to"]) == ("RL", "RR")
    assert told["set"]
    shown = cli("--log", log, "show", "last", "--json").json["corners"]
    for path, value in told["set"].items():
        name = path.partition(".")[2]
        assert shown["RR"][name]["si"] == shown["RL"][name]["si"] == value["si"]
    assert "RR set like RL: as it ran" in cli("--log", log, "history", "last").out
    again = cli(*asked)
    assert again.status == 0
    assert "RR is like RL already" in again.out
    assert cli("--log", log, "copy", "corner", "XX").status == 2
