"""dyno fit --change: what a change of position is worth, from a sheet alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.bench.virtual_bench import virtual_damper
from tests.running import SHEETS, Cli

DAMPER = virtual_damper(1007)
KEYS = {"from", "to", "direction", "speed_mm_s", "change_N", "low_N", "high_N", "basis"}
POSITIONS = (0, 6, 11, 16, 22)


def sheet(tmp_path: Path, counted: str = "hard", rebound: int = 1) -> Path:
    path = tmp_path / "bench.csv"
    lines = ["position,direction,speed_mm_s,force_N"]
    for p, d, v, f in DAMPER.measure(POSITIONS, seed=7).rows:
        count = 22 - p if counted == "soft" else p
        lines.append(f"{count:g},{d},{1000 * v:g},{f * (rebound if d == 'rebound' else 1):.2f}")
    path.write_text("\n".join(lines) + "\n")
    return path


def changes(cli: Cli, path: Path, *arguments: object) -> list[dict]:
    return cli("dyno", "fit", path, *arguments, "--json").json["changes"]


def test_each_change_is_given_in_each_direction_with_its_band(cli: Cli, tmp_path: Path) -> None:
    asked = ("--change", "8:6", "--change", "11:16", "--speeds", "25,50,100")
    found = changes(cli, sheet(tmp_path), "--count-from", "hard", *asked)
    assert [(c["from"], c["to"], c["direction"]) for c in found] == [
        (8, 6, "bump"), (11, 16, "bump"), (8, 6, "rebound"), (11, 16, "rebound"),
    ]  # fmt: skip
    for change in found:
        assert set(change) == KEYS
        assert change["speed_mm_s"] == [25, 50, 100]
        low, force, high = (np.array(change[k]) for k in ("low_N", "change_N", "high_N"))
        assert np.all((low <= force) & (force <= high))
        assert change["basis"] == ("measured" if change["from"] == 11 else "between clicks")
        harder = change["to"] < change["from"]
        assert np.all((force > 0) == harder)


def test_a_change_is_what_the_damper_really_does(cli: Cli, tmp_path: Path) -> None:
    """The virtual bench's own curves, of other equations than the program's: 15 % and 6 N are what
    it shows here, and no more is claimed of one damper."""
    speeds = np.array([25, 50, 100, 200])
    asked = ("--change", "8:6", "--change", "16:11", "--speeds", "25,50,100,200")
    for change in changes(cli, sheet(tmp_path), "--count-from", "hard", *asked):
        there, here = (
            DAMPER.true_force(change["direction"], change[end], speeds / 1000)
            for end in ("to", "from")
        )
        miss = np.abs(np.array(change["change_N"]) - (there - here))
        assert np.all(miss < 0.15 * np.abs(there - here) + 6)


def test_it_is_the_difference_of_the_two_curves_and_its_band_is_narrower(
    cli: Cli, tmp_path: Path
) -> None:
    """Narrower than the wider of the two, also where a valve opens: there the two curves part in
    shape, and what is common to both takes least away."""
    arguments = ("--count-from", "hard", "--at", 8, "--at", 6, "--change", "8:6")
    found = cli("dyno", "fit", sheet(tmp_path), *arguments, "--json").json
    at = {(e["position"], e["direction"]): e for e in found["estimates"]}
    for change in found["changes"]:
        six, eight = (at[p, change["direction"]] for p in (6, 8))
        told = np.array(six["force_N"]) - np.array(eight["force_N"])
        assert change["change_N"] == pytest.approx(told.tolist(), abs=1e-6)
        width = np.array(change["high_N"]) - np.array(change["low_N"])
        own = [np.array(one["high_N"]) - np.array(one["low_N"]) for one in (six, eight)]
        assert np.all(width < np.maximum(*own))
        assert np.median(width / own[0]) < 0.5


def test_counted_from_soft_and_signed_the_same_change_has_the_sheets_signs(
    cli: Cli, tmp_path: Path
) -> None:
    plain = changes(cli, sheet(tmp_path), "--count-from", "hard", "--change", "8:6")
    soft = changes(cli, sheet(tmp_path, "soft"), "--count-from", "soft", "--change", "14:16")
    signed = changes(cli, sheet(tmp_path, rebound=-1), "--count-from", "hard", "--change", "8:6")
    for one, other, down in zip(plain, soft, signed, strict=True):
        assert (other["from"], other["to"]) == (14, 16)
        assert other["change_N"] == pytest.approx(one["change_N"])
        sign = -1 if one["direction"] == "rebound" else 1
        assert down["change_N"] == pytest.approx([sign * force for force in one["change_N"]])
        assert all(low <= high for low, high in zip(down["low_N"], down["high_N"], strict=True))


def test_beyond_the_sheet_and_outside_its_speeds_is_said(cli: Cli, tmp_path: Path) -> None:
    arguments = ("--count-from", "hard", "--at", 6, "--change", "22:25", "--speeds", "3,50")
    found = cli("dyno", "fit", sheet(tmp_path), *arguments, "--json").json
    assert {change["basis"] for change in found["changes"]} == {"outside range"}
    assert any("position 25 is beyond" in warning for warning in found["warnings"])
    assert any("outside the rod speeds" in warning for warning in found["warnings"])


def test_one_position_without_a_rule_has_no_estimate(cli: Cli, tmp_path: Path) -> None:
    path = sheet(tmp_path)
    lines = path.read_text().splitlines()
    path.write_text("\n".join([lines[0], *(line for line in lines if line.startswith("6,"))]))
    found = changes(cli, path, "--count-from", "hard", "--change", "8:6")
    assert [change["basis"] for change in found] == ["no estimate"] * 2
    assert all(change["why"] for change in found)
    ruled = changes(cli, path, "--count-from", "hard", "--change", "8:6", "--click", 4, 50)
    assert [change["basis"] for change in ruled] == ["shop rule"] * 2


def test_a_preload_position_may_be_held(cli: Cli) -> None:
    asked = ("--change", "8:6", "--preload", 2, "--speeds", "50")
    found = changes(cli, SHEETS / "RP-0713-A.csv", *asked)
    assert [(c["direction"], c.get("preload_position")) for c in found] == [
        ("bump", 2), ("rebound", None),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["8", "8:", ":6", "8:six", "8-6", "-1:6", "8:1e9"])
def test_what_is_no_change_is_refused(cli: Cli, tmp_path: Path, text: str) -> None:
    ran = cli("dyno", "fit", sheet(tmp_path), "--change", text)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1


def test_people_read_the_same_change(cli: Cli, tmp_path: Path) -> None:
    arguments = ("--count-from", "hard", "--change", "8:6", "--speeds", "50")
    told = cli("dyno", "fit", sheet(tmp_path), *arguments).out
    for change in changes(cli, sheet(tmp_path), *arguments):
        part = told.partition(f"\n{change['direction']} from 8 to 6, between clicks: ")[2]
        line = part.splitlines()[1].split()
        assert line[:2] == ["50", f"{change['change_N'][0]:+.0f}"]
