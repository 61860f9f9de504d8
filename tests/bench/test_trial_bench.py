"""The trial bench obeys the laws it is made of, and shares nothing with the program."""

import ast
from pathlib import Path

import numpy as np
import pytest

from tests.bench import trial_bench
from tests.bench.trial_bench import (
    JUDGING,
    NEEDLES,
    SPEEDS,
    TUNING,
    VALVES,
    dampers,
    revalved,
    sisters,
    trial_damper,
)


def test_it_imports_nothing_of_the_program_nor_of_another_bench():
    tree = ast.parse(Path(trial_bench.__file__).read_text())
    modules = {
        node.module if isinstance(node, ast.ImportFrom) else node.names[0].name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
    }
    assert not {m for m in modules if m.split(".")[0] in {"trackside", "tests"}}
    assert not set(TUNING) & set(JUDGING)


@pytest.mark.parametrize("valve", VALVES)
@pytest.mark.parametrize("needle", NEEDLES)
def test_force_rises_with_speed_and_falls_as_the_needle_opens(valve, needle):
    damper = trial_damper(21, valve, needle)
    curves = np.array([
        damper.true_force("bump", n, SPEEDS) for n in range(damper.bump.clicks + 1)
    ])  # fmt: skip
    assert np.all(np.diff(curves, axis=1) > 0)
    assert np.all(np.diff(curves, axis=0) < 1e-6)


def test_seal_leak_follows_viscosity_and_a_sharp_orifice_density():
    """Hagen and Poiseuille: q ∝ 1/μ; orifice: q ∝ 1/√ρ (textbook)."""
    from dataclasses import replace

    damper = trial_damper(5, "digressive")
    side, oil = damper.bump, damper.oil
    only_gap = replace(side, base=1e-14, open=0.0, growth=0.0, length=0.0)
    only_hole = replace(side, open=0.0, growth=0.0, length=0.0, gap=0.0, port=1.0)
    for valving, ratio in (
        (only_gap, oil.mu(40) / oil.mu(80)),
        (only_hole, np.sqrt(oil.rho(40) / oil.rho(80))),
    ):
        cold, slow = valving.flow(damper.area, 0, oil, 40)
        warm, fast = valving.flow(damper.area, 0, oil, 80)
        same = np.interp(np.log(cold[100:-100]), np.log(warm), np.log(fast))
        assert np.exp(same) / slow[100:-100] == pytest.approx(np.full(2300, ratio), rel=1e-3)


def test_viscosity_passes_through_its_points():
    oil = trial_damper(1).oil
    assert oil.nu(40.0) == pytest.approx(oil.at_40)
    assert oil.nu(100.0) == pytest.approx(oil.at_100)


def test_sisters_are_alike_and_a_revalve_keeps_the_needle():
    family = sisters(3, 5)
    soft = [d.true_force("bump", 8, SPEEDS) for d in family]
    spread = np.std(np.log(soft), axis=0)
    assert 0.005 < spread.mean() < 0.25
    new = revalved(family[0], 1)
    steps = [d.bump.needle_area(9) - d.bump.needle_area(2) for d in (new, family[0])]
    assert steps[0] == pytest.approx(steps[1])


def test_what_is_wrong_with_a_sheet_is_what_was_asked_for():
    _, damper = next(iter(dampers(1)))
    clean = damper.sheet([2, 8], 1, scatter=(0, 0))
    assert [row[3] for row in clean.rows[:9]] == pytest.approx(damper.true_force("bump", 2, SPEEDS))
    gassy = damper.sheet([2, 8], 1, scatter=(0, 0), gas=20)
    change = np.array([r[3] for r in gassy.rows]) - np.array([r[3] for r in clean.rows])
    assert change[:9] == pytest.approx(np.full(9, 20.0))
    assert change[9:18] == pytest.approx(np.full(9, -20.0))
    warm = damper.sheet([2, 8], 1, warm_by=30, label=1, share=0.94)
    assert (warm.rows[0][4], warm.rows[-1][4], warm.rows[0][0]) == (40.0, 70.0, 3)
