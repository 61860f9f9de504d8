"""A damper from its sisters, on the trial bench's tuning half: closer than the shop's rule, within
its band, and nobody taken for a sister who is none."""

from functools import lru_cache

import numpy as np
import pytest

from tests.bench.trial_bench import TUNING, Trial, revalved, sisters, trial_damper
from trackside.damper.basis import Basis
from trackside.damper.flow import force_at
from trackside.damper.likeness import Kind
from trackside.damper.sheet_fit import DirectionFit, SheetRows, fit_sheet
from trackside.damper.sisters import Family, Sister
from trackside.errors import NoEstimate

SPEEDS = np.array([0.025, 0.05, 0.1, 0.2])
SEED = TUNING[41]


def _fit(damper: Trial, positions, seed: int, direction: str = "bump") -> DirectionFit:
    rows = damper.sheet(positions, seed, gain=0.005).columns[:4]
    return fit_sheet(SheetRows(*rows)).direction(direction)


@lru_cache
def _household(seed: int = SEED, count: int = 4) -> tuple[Trial, tuple[Sister, ...], int]:
    family = sisters(seed, count)
    clicks = family[0].bump.clicks
    places = np.linspace(0, clicks, 5).round()
    known = tuple(
        Sister(f"S{n}", _fit(damper, places, seed + n)) for n, damper in enumerate(family[1:])
    )
    return family[0], known, clicks


def _error(family: Family, damper: Trial, places) -> float:
    errors = [
        family.predict(float(p), SPEEDS).force / damper.true_force("bump", p, SPEEDS) - 1.0
        for p in places
    ]
    return float(np.sqrt(np.mean(np.square(errors))))


def test_one_run_with_sisters_beats_the_sisters_mean():
    damper, known, clicks = _household()
    own = _fit(damper, [round(clicks / 3)], 5)
    places = [p for p in np.linspace(0, clicks, 6).round() if p not in own.positions]
    error = _error(Family("bump", own, known), damper, places)
    assert error < 0.1  # full hard at 25 mm/s, where the base bleed alone decides, is the worst
    assert error < 0.6 * _error(Family("bump", None, known), damper, places)


def test_each_position_of_its_own_brings_it_closer_and_narrows_the_band():
    damper, known, clicks = _household()
    places = [round(clicks / 2), clicks]
    widths = []
    for own_places in ([], [round(clicks / 4)], [round(clicks / 4), round(0.8 * clicks)]):
        own = _fit(damper, own_places, 5) if own_places else None
        family = Family("bump", own, known)
        found = [family.predict(p, SPEEDS) for p in places]
        widths.append(np.mean([(f.high - f.low) / f.force for f in found]))
        assert all(f.basis is Basis.FROM_SISTERS for f in found)
    assert widths[0] > 2 * widths[1] > 2 * widths[2]


def test_its_own_position_stays_its_own():
    damper, known, clicks = _household()
    place = round(clicks / 4)
    own = _fit(damper, [place], 5)
    family = Family("bump", own, known)
    assert family.predict(place, SPEEDS).force == pytest.approx(own.predict(place, SPEEDS).force)
    assert family.basis(place) is Basis.MEASURED
    near = family.predict(place + 0.01, SPEEDS).force
    assert near == pytest.approx(own.predict(place, SPEEDS).force, rel=0.03)


def test_a_change_is_the_difference_of_two_forces_and_known_better():
    _, known, clicks = _household()
    family = Family("bump", None, known)
    here, there = round(clicks / 2), round(clicks / 2) + 1
    change = family.difference(here, there, SPEEDS)
    one, two = (family.predict(p, SPEEDS) for p in (here, there))
    assert change.change == pytest.approx(two.force - one.force, rel=1e-6)
    assert np.all(change.high - change.low < 0.5 * (two.high - two.low))


def test_force_is_nothing_at_rest_and_the_path_lies_in_the_band():
    damper, known, clicks = _household()
    family = Family("bump", _fit(damper, [round(clicks / 4)], 5), known)
    found = family.predict(clicks / 2, [0.0, 0.05, 0.1, 0.2])
    assert (found.low[0], found.force[0], found.high[0]) == (0.0, 0.0, 0.0)
    force = force_at(found.speed[1:], family.path(clicks / 2)) + known[0].fit.friction
    assert np.all((found.low[1:] < force) & (force < found.high[1:]))


def test_a_stranger_is_refused_with_what_it_missed_by():
    damper, known, clicks = _household()
    other = next(
        trial_damper(seed, "linear", "late")
        for seed in TUNING[60:200]
        if trial_damper(seed).bump.clicks == clicks
    )
    stranger = Sister("odd", _fit(other, np.linspace(0, clicks, 5).round(), 3))
    own = _fit(damper, [round(clicks / 3)], 5)
    kept, refused = Family("bump", own, (*known, stranger)).strangers()
    assert [s.name for s in refused] == ["odd"]
    assert refused[0].miss > 0.08
    assert {s.name for s in kept} == {s.name for s in known}
    assert Family("bump", None, (known[0], stranger)).strangers()[0] == ()


def test_the_build_before_lends_its_needle():
    before = sisters(SEED, 1)[0]
    after = revalved(before, 9)
    clicks = before.bump.clicks
    old = _fit(before, np.linspace(0, clicks, 5).round(), 2)
    own = _fit(after, [round(clicks / 3)], 5)
    family = Family("bump", own, (Sister("before", old, Kind.NEEDLE),))
    places = [p for p in np.linspace(0, clicks, 6).round() if p not in own.positions]
    assert _error(family, after, places) < 0.08


def test_the_next_run_is_worth_what_it_says():
    """Foretold before the run; measured after it, from a family with that run."""
    damper, known, clicks = _household()
    places = [round(clicks / 4), round(clicks / 2)]
    family = Family("bump", None, known)
    run = family.next_run(places, SPEEDS, clicks)
    assert run is not None
    assert run.after < 0.5 * run.before
    own = _fit(damper, [run.position], 8)
    with_it = Family("bump", own, known)
    rest = [p for p in places if p != run.position]
    halves = [(f.high - f.low) / (2 * f.force) for p in rest for f in [with_it.predict(p, SPEEDS)]]
    assert np.mean(halves) == pytest.approx(run.after, rel=0.6)


def test_a_sister_of_one_position_teaches_nothing():
    damper, _, clicks = _household()
    alone = Sister("one", _fit(damper, [clicks // 2], 5))
    with pytest.raises(NoEstimate, match="no sister was measured at two bump positions"):
        Family("bump", None, (alone,))
