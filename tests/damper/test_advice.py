"""What a sheet cannot tell, checked by making the run that is advised."""

import numpy as np
import pytest

from tests.bench.virtual_bench import SPEEDS, Sheet, population, virtual_damper
from trackside.damper.advice import best_run, untold
from trackside.damper.sheet_fit import DirectionFit, SheetRows, fit_sheet

SLOW = SPEEDS[:4]


def _bump(*sheets: Sheet) -> DirectionFit:
    rows = tuple(row for sheet in sheets for row in sheet.rows)
    return fit_sheet(SheetRows(*Sheet(rows).columns)).bump


def _width(fit: DirectionFit, clicks: int) -> float:
    """Mean relative width of the map's bands."""
    widths = []
    for position in np.linspace(0, clicks, 7):
        answer = fit.predict(position, SPEEDS)
        widths.append((answer.high - answer.low) / answer.force)
    return float(np.mean(widths))


def test_a_slow_sheet_tells_less_of_port_and_all_than_a_full_one():
    slow_count, full_count, slow_ports, full_ports = 0, 0, 0, 0
    for seed, damper in enumerate(population(8, first_seed=20)):
        positions = [0, damper.clicks // 2, damper.clicks]
        slow = untold(_bump(damper.measure(positions, seed, SLOW)))
        full = untold(_bump(damper.measure(positions, seed)))
        slow_ports += "port" in slow
        slow_count, full_count = slow_count + len(slow), full_count + len(full)
        full_ports += "port" in full
    assert full_count < slow_count
    assert slow_ports > full_ports


def test_the_advice_goes_where_the_sheet_has_not_been():
    damper = virtual_damper(21)
    run = best_run(_bump(damper.measure([0, 8, 16], 1, SLOW)), damper.clicks)
    assert run.position not in (0, 8, 16) or max(run.speeds) > SLOW[-1]
    assert 0.0 < run.gain < 1.0


def test_the_run_that_is_advised_helps_more_than_a_random_one():
    # made on the virtual bench: the narrower map is measured, not computed
    advised, chance = [], []
    for seed, damper in enumerate(population(12, first_seed=300)):
        first = damper.measure([0, damper.clicks // 2], seed)
        fit = _bump(first)
        run = best_run(fit, damper.clicks)
        before = _width(fit, damper.clicks)
        rng = np.random.default_rng(seed)
        other = (float(rng.integers(0, damper.clicks + 1)), float(rng.choice(SPEEDS)))
        for (position, speed), found in (((run.position, run.speeds[0]), advised), (other, chance)):
            rows = damper.measure([position], seed + 50, np.array([speed])).rows
            rows = tuple(row for row in rows if row[1] == "bump")
            found.append(_width(_bump(first, Sheet(rows)), damper.clicks) / before)
    assert np.mean(advised) < 1.0
    assert np.mean(advised) < np.mean(chance)


def test_one_position():
    damper = virtual_damper(4)
    run = best_run(_bump(damper.measure([5], 1)))
    assert run.position == 5
    assert run.gain > 0


def test_a_sheet_that_varied_its_preload_ring_is_advised_too():
    # the ring's second position adds a tenth of the force: made up, only to give it two
    damper = virtual_damper(4)
    rows = np.array([row for row in damper.measure([0, 8], 1).rows if row[1] == "bump"], object)
    position, speed, force = (rows[:, n].astype(float) for n in (0, 2, 3))
    fit = fit_sheet(
        SheetRows(
            position_from_hard=np.tile(position, 2),
            direction=np.full(2 * len(rows), "bump"),
            speed=np.tile(speed, 2),
            force=np.concatenate([1.1 * force, force]),
            preload_from_hard=np.repeat([0.0, 3.0], len(rows)),
        )
    ).bump
    assert fit.preloads == (0.0, 3.0)
    run = best_run(fit, damper.clicks)
    assert 0.0 <= run.position <= damper.clicks
    assert 0.0 < run.gain < 1.0


@pytest.mark.parametrize("seed", range(3))
def test_names_are_those_of_the_parameters(seed):
    damper = virtual_damper(seed)
    fit = _bump(damper.measure([0, 6], seed))
    names = {parameter.name.split(" ")[0] for parameter in fit.parameters}
    assert set(untold(fit)) <= names
