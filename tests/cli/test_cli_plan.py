"""`trackside plan`: begun, shown, changed and taken from the command line."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from shutil import copy

import pytest

from tests.running import Cli


@pytest.fixture
def own(cli: Cli, samples_log: Path, tmp_path: Path) -> Cli:
    return partial(cli, "--log", copy(samples_log, tmp_path / "own.trackside"))


def test_a_plan_from_the_first_word_to_the_mechanics_sheet(own: Cli) -> None:
    assert own("plan").out == "No plan is on record. Begin one: trackside plan new.\n"
    told = own("plan", "new", "last", "fl.rebound_bleed=4", "FL.packers=9 mm").out
    assert "FL rebound: 6 to 4" in told
    assert "FL packers: 3.0 mm to 9.0 mm" in told
    own("plan", "set", "A", "RR.bump_bleed=3", "FL.packers=")
    body = own("plan", "show", "A", "--json").json
    assert set(body["cells"]) == {"FL.rebound_bleed", "RR.bump_bleed"}
    bump, rebound = body["corners"]["FL"]["forces"]
    assert bump["step"] is None
    assert rebound["step"]["change_N"][0] > 50
    assert len(rebound["damping_ratio"]) == 4
    assert body["corners"]["FL"]["left"][1]["to_full_hard"] == 4
    assert body["corners"]["FL"]["cavitation"]["margin"] > 1
    shown = own("plan", "show", "A").out
    assert "rebound 4 to full hard, 16 to full soft" in shown
    assert "RR  N at mm/s" in shown
    assert "cold for the hot target: 1." in shown
    cold = body["corners"]["FL"]["today"]["cold_pressure_Pa"]
    assert 1e5 < cold["low"] < cold["at"] < cold["high"] < 2e5
    assert "FL rebound, RR bump" in own("plan").out
    told = own("plan", "take", "A", "--reason", "calmer rear").out
    assert "Plan A is race 1 run 2 now, to be set." in told
    sheet = own("sheet", "last", "--to-do").out
    assert "6 → 4 from full hard" in sheet
    assert "11 → 3 from full hard" in sheet
    assert own("plan", "list", "--json").json["plans"][0]["taken_as"]
    assert own("verify").status == 0


@pytest.mark.parametrize(("words", "told"), [
    (("set", "A", "FL.rebound_bleed=99"), "79 clicks past full soft"),
    (("set", "A", "FL.damper=X"), "cannot be planned"),
    (("set", "A", "FL.packers"), "names no value"),
    (("set", "A", "FL.packers=much"), "packers|number"),
    (("show", "nothing"), "There is no plan “nothing”"),
    (("take", "A", "--reason", ""), "taken for a reason"),
])  # fmt: skip
def test_what_cannot_be_is_said_in_a_sentence(own: Cli, words: tuple[str, ...], told: str) -> None:
    own("plan", "new", "last")
    ran = own("plan", *words)
    assert ran.status == 2
    assert any(one in ran.err for one in told.split("|"))
