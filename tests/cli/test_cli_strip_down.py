"""`trackside job`: a strip-down planned, worked through and printed from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.crew.test_forecasts import SHEET, bench, plan_on_hard
from tests.running import Cli
from trackside.logbook import Logbook, put


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A logbook with one damper."""
    path = tmp_path / "shop.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        build = {"damper": "TW-2241", "version": "A", "date": "2026-03-01"}
        logbook.write(put("damper", {"serial": "TW-2241"}), put("build", build))
    return path


def test_a_job_is_planned_worked_through_and_fitted(cli: Cli, log: Path, tmp_path: Path) -> None:
    assert cli("--log", log, "job").out == "No strip-down is planned or under way.\n"
    told = cli("--log", log, "job", "TW-2241", "--plan", "softer").out
    assert "planned, 0 of 9 steps done" in told
    cli("--log", log, "job", "TW-2241", "charge=14", "charge_at=22", "torque=12 Nm")
    steps = [word for n in range(1, 9) for word in ("--tick", str(n))]
    body = cli("--log", log, "job", "TW-2241", *steps, "--json").json
    assert (body["stage"], body["build"]) == ("done", "B")
    assert body["charge"] == pytest.approx(1.4e6)
    assert body["charge_at_20_C"] == pytest.approx(1.389e6, rel=1e-3)
    assert [step["done"] for step in body["steps"]] == [True] * 8 + [False]
    assert "next: Fitted to the car" in cli("--log", log, "job").out
    card = tmp_path / "card.html"
    cli("--log", log, "job", "TW-2241", "--html", card)
    assert "torque 12 Nm" in card.read_text("utf-8")
    body = cli("--log", log, "job", "TW-2241", "--tick", "fitted", "--json").json
    assert body["stage"] == "fitted"
    assert body["steps"][-1]["ticked"]["author"]
    assert cli("--log", log, "job", "--json").json == {"strip_downs": []}
    assert cli("--log", log, "verify").status == 0


def test_a_step_can_be_open_again_and_one_more_be_added(cli: Cli, log: Path) -> None:
    cli("--log", log, "job", "TW-2241", "--plan", "x", "--reseal")
    body = cli("--log", log, "job", "TW-2241", "--add", "Paint mark", "--tick", "1", "--json").json
    assert body["reseal"]
    assert (body["steps"][0]["done"], body["steps"][-1]["step"]) == (True, "Paint mark")
    body = cli("--log", log, "job", "TW-2241", "--untick", "1", "--json").json
    assert not body["steps"][0]["done"]
    assert cli("--log", log, "job", "TW-2241", "--close", "--json").json["closed"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("TW-9",), "“TW-9” has no strip-down job"),
        (("TW-2241", "--reseal"), "--reseal goes with --plan"),
        (("--plan", "x"), "no damper is named"),
        (("TW-9", "--plan", "x"), "TW-9 is not in the shed"),
        (("TW-2241", "--plan", "x", "torque=tight"), "“tight” is not a number"),
        (("TW-2241", "--plan", "x", "nut=12"), "“nut=12” is no PLACE=VALUE here"),
        (("TW-2241", "--plan", "x", "--tick", "12"), "“12” is no one step"),
        (("TW-2241", "--plan", "x", "--tick", ""), "“” is no one step"),
        (("TW-2241", "--plan", "x", "--add", " "), "a step needs words"),
    ],
)
def test_bad_input_is_said_plainly(
    cli: Cli, log: Path, arguments: tuple[str, ...], told: str
) -> None:
    ran = cli("--log", log, "job", *arguments)
    assert ran.status in (1, 2)
    assert told in ran.err
    with Logbook.open(log, read_only=True) as logbook:
        assert not list(logbook.all("strip_down")), "all of it is kept, or nothing"


def test_two_steps_of_one_beginning_are_no_one_step(cli: Cli, log: Path) -> None:
    cli("--log", log, "job", "TW-2241", "--plan", "x")
    ran = cli("--log", log, "job", "TW-2241", "--tick", "gas")
    assert "“gas” is no one step" in ran.err
    assert "1 Gas read and released; 2 " in ran.err


def test_parts_of_the_old_build_are_taken_over(cli: Cli, log: Path) -> None:
    cli("--log", log, "job", "TW-2241", "--plan", "x", "--tick", "3")
    with Logbook.open(log, author="Mara", device="d") as logbook:
        from trackside.logbook import patch
        from trackside.logbook.dampers import builds_of

        old, _ = builds_of(logbook, "TW-2241")[0]
        logbook.write(patch("build", old, {"needle": "1.8°"}))
    before = cli("--log", log, "job", "TW-2241", "--json").json
    assert before["entered_on_the_build_before"] == ["needle"]
    after = cli("--log", log, "job", "TW-2241", "--take-parts", "--json").json
    assert after["entered_on_the_build_before"] == []


def test_a_planned_build_is_forecast_kept_and_set_against_the_bench(
    cli: Cli, tmp_path: Path
) -> None:
    path = tmp_path / "hard.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        plan_on_hard(logbook)
    card = cli("--log", path, "job", "HARD").out
    assert "FORECAST OF BUILD B: REBOUND" in card.upper()
    assert "planned, rebound: stack" in card
    assert "the parts alone give" in card
    ticks = [word for n in range(1, 6) for word in ("--tick", str(n))]
    body = cli("--log", path, "job", "HARD", *ticks, "--json").json
    assert body["forecast"]["kept"]["build"] == "B", "closed up: it is kept by itself"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        bench(logbook)
    body = cli("--log", path, "job", "HARD", "--json").json["forecast"]
    points = body["against_the_bench"]["points"]
    assert points
    assert body["so_far"]["builds"] == 1
    assert body["so_far"]["inside"] == sum(point["inside"] for point in points)
    assert "FORECAST AGAINST BENCH" in cli("--log", path, "job", "HARD").out.upper()
    refused = cli("--log", path, "job", "HARD", "--forecast")
    assert refused.status == 2
    assert "has been on the bench" in refused.err


def test_a_sheet_that_is_added_ticks_the_bench_run(cli: Cli, tmp_path: Path) -> None:
    path, file = tmp_path / "hard.trackside", tmp_path / "run.csv"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        plan_on_hard(logbook)
    rows = [f"{r.position:g},{r.direction},{1000 * r.speed:.4g},{r.force:.1f}" for r in SHEET.rows]
    file.write_text("position,direction,speed_mm_s,force_N\n" + "\n".join(rows))
    cli("--log", path, "job", "HARD", "--tick", "3")
    added = cli("--log", path, "dyno", "add", file, "--damper", "HARD", "--yes", "--gas-free")
    told = added.out + added.err
    assert "the bench run is ticked on its strip-down: trackside job HARD" in told
    body = cli("--log", path, "job", "HARD", "--json").json
    assert [step["done"] for step in body["steps"]][6]
