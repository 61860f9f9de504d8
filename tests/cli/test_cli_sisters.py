"""dyno fit --sister: a sheet of one position learns the others, and strangers are refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.bench.trial_bench import TUNING, Trial, sisters, trial_damper
from tests.cli.contract import check_estimate
from tests.running import Cli

FAMILY = sisters(TUNING[41], 4)
CLICKS = FAMILY[0].bump.clicks
EVERY = np.linspace(0, CLICKS, 5).round()
PLACE, ASKED = round(CLICKS / 3), round(CLICKS / 2)


def _sheet(folder: Path, name: str, damper: Trial, places, seed: int) -> Path:
    path = folder / name
    path.write_text(damper.sheet(places, seed).as_csv(oil=False))
    return path


@pytest.fixture
def sheets(tmp_path: Path) -> list[Path]:
    own = _sheet(tmp_path, "own.csv", FAMILY[0], [PLACE], 1)
    others = [
        _sheet(tmp_path, f"s{n}.csv", unit, EVERY, 2 + n) for n, unit in enumerate(FAMILY[1:])
    ]
    return [own, *others]


def _options(others) -> list[str]:
    said = [text for other in others for text in ("--sister", str(other))]
    return [*said, "--count-from", "hard", "--gas-free", "--at", str(ASKED), "--speeds", "25,100"]


def test_one_position_learns_the_others(cli: Cli, sheets: list[Path]) -> None:
    own, *others = sheets
    found = cli("dyno", "fit", own, *_options(others), "--json").json
    assert found["sisters"]["bump"]["used"] == ["s0.csv", "s1.csv", "s2.csv"]
    inside: list[bool] = []
    for direction, estimate in zip(("bump", "rebound"), found["estimates"], strict=True):
        check_estimate(estimate)
        assert estimate["basis"] == "from sisters"
        true = FAMILY[0].true_force(direction, ASKED, np.array([0.025, 0.1]))
        assert estimate["force_N"] == pytest.approx(true, rel=0.15)
        bands = zip(estimate["low_N"], true, estimate["high_N"], strict=True)
        inside += [low < force < high for low, force, high in bands]
    assert sum(inside) >= 3  # of four: a 95 % band may miss one
    run = found["sisters"]["bump"]["next_run"]
    assert run["then_percent"] < run["half_band_percent"]


def test_it_says_who_taught_it_and_what_one_run_more_would_do(cli: Cli, sheets: list[Path]) -> None:
    own, *others = sheets
    told = cli("dyno", "fit", own, *_options(others)).out
    assert "bump: positions not measured are learned from s0.csv, s1.csv, s2.csv" in told
    assert "would take the band from ±" in told


def test_without_sisters_there_is_no_estimate(cli: Cli, sheets: list[Path]) -> None:
    found = cli("dyno", "fit", sheets[0], *_options([]))
    assert "measured at one position only" in found.err


def test_a_stranger_is_refused_with_the_figure(
    cli: Cli, sheets: list[Path], tmp_path: Path
) -> None:
    odd = next(
        d
        for seed in TUNING[60:400]
        if (d := trial_damper(seed, "linear", "late")).bump.clicks == CLICKS
    )
    own, *others = sheets
    path = _sheet(tmp_path, "odd.csv", odd, EVERY, 9)
    found = cli("dyno", "fit", own, *_options([*others, path]), "--json").json
    refused = found["sisters"]["bump"]["refused"]
    assert [one["source"] for one in refused] == ["odd.csv"]
    assert refused[0]["miss_percent"] > 2 * refused[0]["usual_percent"]
    assert any("odd.csv is no sister" in warning for warning in found["warnings"])


def test_counting_has_to_be_known(cli: Cli, sheets: list[Path]) -> None:
    own, other = sheets[:2]
    told = cli("dyno", "fit", own, "--sister", other, "--gas-free").err
    assert "--count-from hard" in told
