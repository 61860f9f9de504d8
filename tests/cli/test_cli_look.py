"""`trackside look`: which dampers of the samples need a look, on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.running import Cli


def test_without_the_shops_limits_it_says_that_there_are_none(on_samples: Cli) -> None:
    told = on_samples("look").out
    assert "The least charge is not given" in told
    assert "The service limit is not given" in told
    assert "Charge at 20 °C" in told


def test_the_shops_limits_put_the_most_urgent_first(on_samples: Cli) -> None:
    told = on_samples("look", "--least", "12 bar", "--service", "3h").out
    assert told.startswith("SA-3107\n  ! charge: 11.85 bar at 20 °C on 2026-10-18, below the least")
    assert "hours: 3.7 h since it was opened on 2026-04-18; the shop's limit is 3.0 h" in told
    assert "Release all gas first" in told
    assert "not given" not in told


def test_json_has_numbers_with_their_units(on_samples: Cli) -> None:
    found = on_samples("look", "--least", "12", "--service", "3", "--json").json
    assert (found["least_charge_Pa"], found["service_limit_s"]) == (1.2e6, 10800.0)
    by_serial = {one["damper"]: one for one in found["dampers"]}
    assert by_serial["SA-3108"]["needs"] == ["charge below"]
    assert by_serial["FP-0611"]["needs"] == ["hours over"]
    assert by_serial["FP-0611"]["seconds"] > 10800.0
    assert by_serial["FP-0611"]["charge"]["slope_Pa_per_day"] is not None
    assert by_serial["FP-0625"]["charge"]["readings"] == []


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("--least", "many"), "--least many is no pressure above zero"),
        (("--least", "-3"), "--least -3 is no pressure above zero"),
        (("--least", "12 mm"), "--least 12 mm is no pressure above zero"),
        (("--service", "0"), "--service 0 is no hours above zero"),
    ],
)
def test_a_limit_that_cannot_be_read_is_refused(
    on_samples: Cli, given: tuple[str, str], words: str
) -> None:
    refused = on_samples("look", *given)
    assert refused.status == 2
    assert words in refused.err


def test_an_empty_shed_is_said(cli: Cli, tmp_path: Path) -> None:
    from trackside.logbook import Logbook, put

    with Logbook.open(tmp_path / "log", device="d") as logbook:
        logbook.write(put("car", {"name": "Coupé"}))
    assert cli("--log", tmp_path / "log", "look").out == "No damper is in the shed yet.\n"
    assert cli("--log", tmp_path / "log", "look", "--json").json["dampers"] == []
