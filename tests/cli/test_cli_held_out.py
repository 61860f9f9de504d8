"""A position left out of a five-position sheet is predicted, through the command line.

The bench is the virtual one, which knows more physics than the program's model: a discharge
coefficient that depends on Reynolds number, a curved needle law, a stack that lifts softly, 1.5 %
scatter. Measure: root mean square of the relative error over the sheet's speeds.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.bench.virtual_bench import SPEEDS, Sheet, VirtualDamper, population
from tests.running import Cli

DAMPERS = list(population(6, first_seed=1000))
WITHIN = 3.0


def positions(damper: VirtualDamper) -> list[int]:
    """Five, evenly over the adjuster's clicks."""
    return [round(damper.clicks * share) for share in (0, 0.25, 0.5, 0.75, 1)]


def rms_percent(found: np.ndarray, true: np.ndarray) -> float:
    return float(100 * np.sqrt(np.mean((found / true - 1) ** 2)))


def straight(sheet: Sheet, out: float, direction: str) -> np.ndarray:
    """Straight-line interpolation in force between the measured positions on either side."""
    position, word, speed, force = sheet.columns
    mine = np.array(word) == direction
    kept = sorted({p for p in position if p != out})
    below, above = max(p for p in kept if p < out), min(p for p in kept if p > out)
    share = (out - below) / (above - below)
    curves = [force[mine & (position == p)][np.argsort(speed[mine & (position == p)])]
              for p in (below, above)]  # fmt: skip
    return (1 - share) * curves[0] + share * curves[1]


def errors(cli: Cli, damper: VirtualDamper, seed: int, folder: Path) -> list[tuple[float, float]]:
    """(ours, straight line) for each inner position left out, in each direction."""
    sheet = damper.measure(positions(damper), seed=seed)
    found = []
    for out in positions(damper)[1:-1]:
        kept = Sheet(tuple(row for row in sheet.rows if row[0] != out))
        path = folder / f"{seed}-{out}.csv"
        path.write_text(kept.as_csv())
        told = cli("dyno", "fit", path, "--count-from", "hard", "--at", out, "--json").json
        for estimate in told["estimates"]:
            direction = estimate["direction"]
            assert estimate["basis"] == "between clicks"
            true = damper.true_force(direction, out, SPEEDS)
            ours = rms_percent(np.array(estimate["force_N"]), true)
            found.append((ours, rms_percent(straight(sheet, out, direction), true)))
    return found


@pytest.fixture(scope="module")
def all_errors(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray:
    from tests.running import ran

    folder = tmp_path_factory.mktemp("held-out")
    return np.array([errors(ran, damper, seed, folder) for seed, damper in enumerate(DAMPERS)])


def rms(errors: np.ndarray) -> np.ndarray:
    """Root mean square over the positions and directions of each damper."""
    return np.sqrt(np.mean(errors**2, axis=1))


def test_a_position_left_out_is_within_three_percent_rms_of_the_bench(
    all_errors: np.ndarray,
) -> None:
    ours = all_errors[..., 0]
    assert np.all(rms(ours) < WITHIN), "for every damper"
    assert np.median(ours) < WITHIN
    assert ours.max() < 2 * WITHIN, "no single position far off"


def test_it_beats_straight_line_interpolation_in_force(all_errors: np.ndarray) -> None:
    ours, straight_line = all_errors[..., 0], all_errors[..., 1]
    assert np.all(rms(ours) < rms(straight_line)), "for every damper"
    assert np.median(straight_line / ours) > 3
