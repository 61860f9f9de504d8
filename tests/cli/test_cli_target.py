"""`trackside target`: from a wanted curve to the builds of the box, on the command line."""

from __future__ import annotations

from math import radians
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.analysis.estimate import ground
from trackside.analysis.shed import Shed
from trackside.crew.disc_box import DiscBox, read_parts
from trackside.logbook import Logbook, put

PARTS = {
    "clamp": 0.014, "seat": 0.028, "recess": 0.020, "hub_to_seat": 0.5e-3, "spacer": 0.3e-3,
    "port_count": 6, "port_diameter": 5e-3, "slot_count": 0, "bleed_hole": 1.2e-3,
    "needle_seat": 3e-3, "needle_angle": radians(12), "needle_lift": 0.05e-3,
}  # fmt: skip
BUILD = {
    "damper": "TW-2241", "version": "A", "date": "2026-03-01", "piston_diameter": 0.046,
    "rod_diameter": 0.014, "rebound_stack": "30×0.20 ×2, 26×0.15, 22×0.15",
    "rebound_parts": PARTS, "bump_stack": "30×0.15 ×2, 24×0.15", "bump_parts": PARTS,
    "adjusters": [{"acts_on": "rebound_bleed", "clicks": 20, "counted_from": "soft"},
                  {"acts_on": "bump_bleed", "clicks": 20, "counted_from": "soft"}],
}  # fmt: skip
BOX = "30×0.25 ×4, 30×0.15 ×4, 26×0.20 ×2, 26×0.25 ×2, 22×0.20 ×2, spacer 0.20, spacer 0.10 ×2"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "shop.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        logbook.write(put("damper", {"serial": "TW-2241"}), put("build", BUILD))
        bare = {"damper": "TW-9", "version": "A"}
        logbook.write(put("damper", {"serial": "TW-9"}), put("build", bare))
        logbook.write(*DiscBox(logbook).moved(read_parts(BOX)))
    return path


WANTED = "rebound 25 same, 100 +5 %, 300 +15 %"


def test_the_builds_that_make_a_curve(cli: Cli, log: Path) -> None:
    told = cli("--log", log, "target", "TW-2241", WANTED).out
    assert "rebound at 300 mm/s:" in told
    assert "(+15.0 %)" in told
    assert "forecast from the parts alone" in told
    assert "answer 1:" in told
    assert "discs in: " in told
    body = cli("--log", log, "target", "TW-2241", WANTED, "--within", "6", "--json").json
    first = body["answers"][0]
    assert first["met"]
    assert first["furthest_off"] <= 0.06
    [side] = first["sides"]
    assert side["position"] == 20 - side["clicks_from_hard"]
    wanted = body["targets"][0]["wanted_N"]
    for force, want, off in zip(side["force_N"], wanted, side["off"], strict=True):
        assert force / want - 1 == pytest.approx(off, abs=1e-6)
    assert len(body["answers"]) <= 20
    assert body["combinations"] > body["stacks"] > 100
    second = cli("--log", log, "target", "TW-2241", WANTED, "--show", "2").out
    assert "answer 2:" in second


def test_a_disc_that_no_stack_takes_is_said(cli: Cli, log: Path) -> None:
    assert "not tried" not in cli("--log", log, "target", "TW-2241", WANTED).out
    with Logbook.open(log, author="Mara", device="d") as logbook:
        logbook.write(*DiscBox(logbook).moved(read_parts("36×0.20 ×2")))
    told = cli("--log", log, "target", "TW-2241", WANTED).out
    assert "not tried: 36" in told
    assert "wider than the widest disc in there today" in told


def test_both_directions_hold_one_box(cli: Cli, log: Path) -> None:
    body = cli("--log", log, "target", "TW-2241", WANTED, "bump 100 +10 %", "--json").json
    sides = body["answers"][0]["sides"]
    assert {side["direction"] for side in sides} == {"rebound", "bump"}


def test_nothing_in_the_box_reaches_it(cli: Cli, log: Path) -> None:
    told = cli("--log", log, "target", "TW-2241", WANTED).out
    assert "nothing in the box reaches it: rebound at 25 mm/s is 5.0 % short at best" in told
    assert "with spacer 0.35 ×1 besides it would be met" in told
    assert "1 !" in told
    far = cli("--log", log, "target", "TW-2241", "rebound 100 20000 N", "--discs", "1").out
    assert "no disc or spacer of the usual sizes would do it alone" in far


def test_the_curve_of_another_damper_is_a_target(cli: Cli, log: Path) -> None:
    body = cli("--log", log, "target", "TW-2241", "--like", "TW-2241@10", "--json").json
    assert body["answers"][0]["discs_changed"] == 0
    assert body["answers"][0]["furthest_off"] < 1e-3


def test_an_answer_becomes_a_planned_strip_down_and_its_build(cli: Cli, log: Path) -> None:
    found = cli("--log", log, "target", "TW-2241", WANTED, "--within", "6", "--plan", "1", "--json")
    [side] = found.json["answers"][0]["sides"]
    job = cli("--log", log, "job", "TW-2241", "--json").json
    assert job["id"] == found.json["job"]
    assert job["stage"] == "planned"
    assert job["rebound_stack"] == side["stack"]
    assert job["why"] == WANTED
    assert job["goes_in"].startswith("from the box: ")
    steps = [word for n in range(1, 4) for word in ("--tick", str(n))]
    assert cli("--log", log, "job", "TW-2241", *steps, "--json").json["build"] == "B"
    with Logbook.open(log, read_only=True) as logbook:
        shed = Shed.of(logbook)
    build = shed.build("TW-2241")
    assert build is not None
    speeds = [v / 1000 for v in found.json["targets"][0]["speed_mm_s"]]
    force = ground(build, "rebound", shed).curve.predict(side["clicks_from_hard"], speeds).force
    assert list(force) == pytest.approx(side["force_N"], rel=1e-6)
    again = cli("--log", log, "target", "TW-2241", WANTED, "--plan", "1")
    assert "has a strip-down that is on the bench" in again.err


def test_what_is_planned_says_what_comes_out_of_the_box(cli: Cli, log: Path) -> None:
    told = cli("--log", log, "target", "TW-2241", WANTED, "--plan", "2", "--why", "entry").out
    assert "answer 2:" in told
    assert "a strip-down is planned" in told
    assert cli("--log", log, "job", "TW-2241", "--json").json["why"] == "entry"


def test_an_adjuster_at_its_end_is_wanted_mid_range(cli: Cli, log: Path) -> None:
    """Twenty clicks counted from full soft, run at 19 and 20: the curve is today's, and the answers
    have the adjuster from 5 to 15, the middle half of it."""
    with Logbook.open(log, author="Mara", device="d") as logbook:
        for n, at in enumerate((19, 20, 19)):
            corner = {"damper": "TW-2241", "rebound_bleed": {"typed": f"{at}", "si": at}}
            start = f"2026-04-0{n + 1} 10:00"
            run = {"start": start, "kind": "test", "laps": {"typed": "9", "si": 9}, "RL": corner}
            logbook.write(put("session", run))
    told = cli("--log", log, "target", "TW-2241", "--mid-range", "--within", "40").out
    assert "the adjuster is kept in the middle half of its travel" in told
    body = cli("--log", log, "target", "TW-2241", "--mid-range", "--json").json
    [target] = body["targets"]
    assert target["direction"] == "rebound"
    assert target["wanted_N"] == pytest.approx(target["today_N"], rel=1e-9)
    counts = [side["position"] for one in body["answers"] for side in one["sides"]]
    assert counts
    assert all(5 <= count <= 15 for count in counts)
    planned = cli("--log", log, "target", "TW-2241", "--mid-range", "--plan", "1")
    assert planned.status == 0
    why = cli("--log", log, "job", "TW-2241", "--json").json["why"]
    assert why == "today's curve, mid-range"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("TW-2241",), "say what is wanted"),
        (("TW-2241", WANTED, "--like", "TW-9"), "one of them"),
        (("TW-2241", "rebound 100 900 N, 200 500 N"), "falls with speed"),
        (("TW-2241", "sideways"), "“sideways” is no speed and force"),
        (("TW-9", WANTED), "no dyno sheet and no shop rule"),
        (("nobody", WANTED), "“nobody” has no build in the shed"),
        (("TW-2241", WANTED, "--discs", "20"), "--discs 20 cannot be"),
        (("TW-2241", WANTED, "--within", "0"), "--within 0 is no share"),
        (("TW-2241", WANTED, "--at", "21"), "21 is beyond them"),
        (("TW-2241", WANTED, "--show", "99"), "there is no answer 99"),
        (("TW-2241", WANTED, "--plan", "0"), "there is no answer 0"),
        (("TW-2241", WANTED, "--why", "x"), "--why goes with --plan"),
        (("TW-2241", WANTED, "--mid-range"), "one of them"),
        (("TW-2241", "--mid-range"), "no adjuster of TW-2241 lives at an end of its travel"),
        (("TW-2241", "--mid-range", "--hold-clicks"), "leaves the adjuster at its end"),
        (("nobody", "--mid-range"), "“nobody” has no build in the shed"),
    ],
)
def test_bad_input_is_said_plainly(
    cli: Cli, log: Path, arguments: tuple[str, ...], told: str
) -> None:
    ran = cli("--log", log, "target", *arguments)
    assert ran.status == 2
    assert told in ran.err
