"""Fitting a dyno sheet: one direction's positions together, with bands on every coefficient.

Leak, opening and port are shared; the bleed has one value for each adjuster position and never
falls as the adjuster opens, the crack one for each position of a preload adjuster. Residuals are
weighted by bench scatter (relative and absolute) and the network's own misfit, and bounded in
influence (soft-L1), so one bad row does not bend the curve. Weak beliefs of our own, without a
source, hold a coefficient that the sheet cannot tell; its band shows that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from trackside.damper import residual, solver, starts
from trackside.damper.flow import Floats
from trackside.damper.force_model import EVEN, FORMS, ForceModel
from trackside.damper.network import Network, Point
from trackside.damper.residual import Residual, Seen, Sizes
from trackside.damper.sheet import Side
from trackside.damper.solver import Priors, lower_inverse, minimise

RELATIVE = 0.015  # bench scatter as a share of force, before the sheet's own residuals speak
ABSOLUTE = 2.0  # N
_PRIOR_ROWS = 6.0  # how many rows the assumed scatter is worth against the residuals
_LEAST = 1e-3  # of the largest force: a row of less says nothing of its share
_ROUGH = 0.03  # what the network may miss of the force before its residual is learned
_KEPT, _STEPS = 2, 12  # beginnings carried on, and how far
_ROUNDS = 3  # of learning sizes and weighing rows
_SAME = 0.1  # ln of a row's weight: a smaller change asks for no further round
STRANGE = 3.5  # standard deviations beyond which a row counts for less
_OUTLIERS = 4  # rows that may be left out, one after another
_SUSPECT = 4.5  # standard deviations, by the usual sizes, from which a row is tried without
_GROWN = 0.3  # ln of a size above the usual: it may have grown to hold a slip
_SUSPECTS = 2  # rows tried at a time
_RARE = 2.0 * np.log(2000.0)  # −2 ln of how often a row is a slip: our own, no source
_RUN_OFF = 0.04  # standard deviation of ln force by which a run is off that is off as a whole
_OFTEN = 0.05  # as often is a run: our own, no source
_HARDLY = 0.3  # odds that some run is off, below which the fit is not made again
_RUNS_TRIED, _LOOK = 2, 1.0  # so many runs are tried, none where all are off by less (deviations)
_LOOKS_KEPT = 4
_GONE = 1e-6  # weight of a row that is left out

# mean and standard deviation, scaled to the sheet's largest force and speed
_OPENING = (np.log(1.0), 1.5)
_PORT = (np.log(4.0), 1.2)
_KNEE = (np.log(0.02), 1.0)
_LEAK = (0.0, 0.15)
_CRACK = (0.2, 0.4)  # at the softest preload
_CRACK_STEP = (0.0, 0.4)
_BLEED = (0.0, 3.0)
_FRICTION = 20.0  # N


@dataclass(frozen=True)
class RunDoubt:
    """That whole runs may be wrong, and how likely: `of` "gain", its forces are off by a share
    `by`; of "position" or "preload", all runs at its count of that adjuster were `by` clicks more
    open than it says. row: place of one of its rows in the order of the fit's rows."""

    of: str
    row: int
    likely: float
    by: float


@dataclass(frozen=True)
class FitResult:
    """What a fit found: free numbers, their covariance, and what the sheet says beyond them.

    freedom: degrees of freedom behind the bench's scatter; misses: what the flow network alone
    misses, measured less network, N; weights: how far each row was believed, in (0, 1].
    """

    network: Network
    free: Floats
    covariance: Floats
    residual: Residual
    freedom: float
    misses: Floats
    weights: Floats
    doubts: tuple[RunDoubt, ...] = ()

    @property
    def strange(self) -> Floats:
        """How far each row is off what all the others say of it, in standard deviations (n,); what
        is less than `STRANGE` is given as that."""
        return np.asarray(STRANGE / np.sqrt(self.weights))

    @property
    def scatter(self) -> float:
        """The bench's standard deviation as a multiple of the assumed one, rms over the rows."""
        force = self.residual.at.effects[2]
        assumed = (RELATIVE * force) ** 2 + (ABSOLUTE / self.network.force) ** 2
        return float(np.sqrt(np.mean(self.residual.sizes.noise(force) / assumed)))


def fit_side(side: Side, friction_in: bool) -> tuple[ForceModel, ForceModel, FitResult]:
    """Fit one direction: the bleed law, the preload law and the numbers found.

    Rows go in by position, ring, speed and force, so that a sheet in another order has the same
    fit to the last bit; what is found of each row comes out in the order of `side`.
    """
    order = np.lexsort((side.force, side.speed, side.preload, side.position))
    names = "rows", "position", "preload", "speed", "force"
    side = replace(side, **{name: getattr(side, name)[order] for name in names})
    back = np.argsort(order)
    bleed_law = ForceModel(tuple(np.unique(side.position).tolist()))
    crack_law = ForceModel(tuple(np.unique(side.preload).tolist()))
    fit = _Fit(side, friction_in, bleed_law, crack_law)
    found = fit.run()
    doubts = tuple(replace(doubt, row=int(order[doubt.row])) for doubt in found.doubts)
    found = replace(found, misses=found.misses[back], weights=found.weights[back], doubts=doubts)
    return *fit.laws, found


@dataclass(frozen=True)
class _State:
    """Where a fit has come to: numbers, sizes, weights, what they say; how unlikely the rows are;
    how far each is off; the click laws; the rows left out."""

    free: Floats
    sizes: Sizes
    weights: Floats
    told: Residual
    cost: float
    strange: Floats
    laws: tuple[ForceModel, ForceModel]
    gone: tuple[int, ...]


class _Fit:
    """One direction's rows on their way through the fit, scaled to its largest force and speed."""

    def __init__(
        self, side: Side, friction_in: bool, bleed_law: ForceModel, crack_law: ForceModel
    ) -> None:
        self.friction_in, self.laws = friction_in, (bleed_law, crack_law)
        self.network = Network(
            len(bleed_law.nodes),
            len(crack_law.nodes),
            float(side.force.max()),
            float(side.speed.max()),
        )
        self.v, self.f = side.speed / self.network.speed, side.force / self.network.force
        self.at_bleed = (side.position[:, None] == np.asarray(bleed_law.nodes)) * 1.0
        self.at_crack = (side.preload[:, None] == np.asarray(crack_law.nodes)) * 1.0
        self.clicks = side.position / (bleed_law.range or 1.0)
        self.ring = side.preload / (crack_law.range or 1.0)
        self.runs = self.clicks + 1j * self.ring
        self.lifts = np.zeros(self.f.size)  # what each row's run may be off beyond the others
        self.low = np.zeros(self.network.size)
        self.low[-5:-2] = -np.inf
        self._kept: dict[bytes, tuple[Point, Seen]] = {}

    def run(self) -> FitResult:
        """Begin anywhere, learn the residual's sizes, fit again under them, weigh the rows."""
        free, weights = self._rough()
        state = self._rounds(free, residual.believed(self.network.force), weights, _ROUNDS)
        state = self._without_slips(state)
        state = self._with_runs_off(state)
        free, told, weights = state.free, state.told, state.weights
        freedom = weights.sum() - _spent(told) + _PRIOR_ROWS
        misses = (self.f - self._point(free).force) * self.network.force
        freedom, doubts = float(max(freedom, 1.0)), tuple(self._doubts(told))
        return FitResult(self.network, free, told.free, told, freedom, misses, weights, doubts)

    def _doubts(self, told: Residual) -> Iterator[RunDoubt]:
        """What is to be doubted of whole runs, by a row of each: a run's gain, a node's count."""
        off, _ = told.runs_off(self.lifts)
        for row in np.unique(self.runs, return_index=True)[1].tolist():
            if likely := float((self.lifts[row] / _RUN_OFF) ** 2):
                yield RunDoubt("gain", row, likely, float(off[row]))
        at_nodes = self.at_bleed, self.at_crack
        for of, law, at in zip(("position", "preload"), self.laws, at_nodes, strict=True):
            for node, misread in enumerate(law.misread):
                row = int(np.argmax(at[:, node]))
                yield RunDoubt(of, row, misread.likely, misread.clicks)

    def _rounds(
        self, free: Floats, sizes: Sizes, weights: Floats, rounds: int, gone: tuple[int, ...] = ()
    ) -> _State:
        """Sizes, numbers and weights in turn; the rows `gone` are left out."""
        for step in range(rounds):
            sizes, cost = self._learn(free, sizes, weights)
            free = self._refit(free, sizes, weights)
            told = self._told(free, sizes, weights)
            self._learn_laws(free, told)
            strange = told.strange(weights)
            new = weighed(strange)
            new[list(gone)] = _GONE
            if step + 1 < rounds and step and np.max(np.abs(np.log(new / weights))) < _SAME:
                break
            weights = new
        return _State(free, sizes, weights, told, cost, strange, self.laws, gone)

    def _without_slips(self, state: _State) -> _State:
        """Leave out, one after another, rows without which the rest comes together.

        A row is a slip where the rest is so much likelier without it that no usual scatter, and
        nothing that the network may miss, says the same (a likelihood ratio, sizes learned again
        without the row). It then weighs what it is off in standard deviations of the rest.
        """
        usual = residual.believed(self.network.force)
        while len(state.gone) < _OUTLIERS and (
            np.any(state.sizes.logs > usual.logs + _GROWN)
            or np.max(np.abs(state.strange)) > _SUSPECT
        ):
            own = np.ones(self.f.size)
            own[list(state.gone)] = _GONE
            off = np.abs(self._told(state.free, usual, own).strange(own))
            off = np.maximum(off, np.abs(state.strange))
            off[list(state.gone)] = 0.0
            suspects = [int(k) for k in np.argsort(off)[::-1][:_SUSPECTS] if off[k] > _SUSPECT]
            every = [self._without(state, own, row) for row in suspects]
            tried = [one for one in every if one is not None]
            if not tried:
                break
            state = min(tried, key=lambda one: one.cost)
            self.laws = state.laws
        if state.gone:
            at = list(state.gone)
            state.weights[at] = weighed(state.strange[at])
        return state

    def _without(self, state: _State, own: Floats, row: int) -> _State | None:
        """The state without that row as well; None where the row is no slip."""
        self.laws = state.laws
        with_it = self._learn(state.free, state.sizes, own)[1]
        weights = own.copy()
        weights[row] = _GONE
        usual = residual.believed(self.network.force)
        new = self._rounds(state.free, usual, weights, 1, (*state.gone, row))
        cost = self._learn(new.free, new.sizes, weights)[1]
        noise = float(new.sizes.noise(self._point(new.free).force)[row])
        cost = cost - np.log(noise / _GONE) + 2.0 * np.log(max(self.f[row], _LEAST)) + _RARE
        self.laws = state.laws
        return replace(new, cost=cost) if cost < with_it else None

    def _rough(self) -> tuple[Floats, Floats]:
        """The likeliest of many beginnings, and how far each row fits into it."""
        net = self.network
        sigma = np.hypot(np.hypot(RELATIVE, _ROUGH) * self.f, ABSOLUTE / net.force)
        rows = starts.Rows(self.v, self.f, sigma, self.at_bleed, self.at_crack)
        friction = min(0.5 * _FRICTION / net.force, 0.5 * float(self.f.min()))
        guesses = starts.guesses(net, rows, max(friction, 0.0) * self.friction_in)
        beliefs = self._beliefs(guesses[0])
        turned = starts.best(net, rows, guesses, self.low, beliefs)

        def model(free: Floats) -> tuple[Floats, Floats]:
            point = self._point(free)
            return (point.force - self.f) / sigma, point.slopes / sigma[:, None]

        ends = [minimise(model, start, self.low, beliefs, _STEPS, 1e-3) for start in turned[:_KEPT]]
        end = min(ends, key=lambda minimum: minimum.cost)
        return end.x, end.weights

    def _point(self, free: Floats) -> Point:
        return self._look(free)[0]

    def _seen(self, free: Floats) -> Seen:
        return self._look(free)[1]

    def _look(self, free: Floats) -> tuple[Point, Seen]:
        """The network and the rows there; the last few are kept, because numbers stay while sizes
        are learned and rows are weighed."""
        numbers = free.tobytes()
        if numbers not in self._kept:
            while len(self._kept) >= _LOOKS_KEPT:
                del self._kept[next(iter(self._kept))]
            point = self.network.at(free, self.v, self.at_bleed, self.at_crack)
            bleeds, _ = self.network.nodes(free)
            bleed, widest = self.at_bleed @ bleeds, float(bleeds[-1])
            at = residual.places(point, self.v, bleed, widest, self.clicks, self.ring)
            self._kept[numbers] = point, Seen(at, point.slopes)
        return self._kept[numbers]

    def _beliefs(self, free: Floats) -> Priors:
        return _beliefs(self.network, free, *self.laws, self.friction_in)

    def _learn(self, free: Floats, sizes: Sizes, weights: Floats) -> tuple[Sizes, float]:
        beliefs, point = self._beliefs(free), self._point(free)
        wide = np.asarray(np.linalg.inv(beliefs.rows.T @ beliefs.rows), float)
        mean = wide @ (beliefs.rows.T @ beliefs.values)
        misses = self.f - point.force + point.slopes @ (free - mean)
        return residual.learned(sizes, self._seen(free), misses, wide, weights, self.lifts)

    def _refit(self, free: Floats, sizes: Sizes, weights: Floats) -> Floats:
        total = self._seen(free).total(sizes, weights, self.lifts)
        white = lower_inverse(np.asarray(np.linalg.cholesky(total), float))

        def model(free: Floats) -> tuple[Floats, Floats]:
            point = self._point(free)
            return white @ (point.force - self.f), white @ point.slopes

        beliefs = self._beliefs(free)
        return minimise(model, free, self.low, beliefs, _STEPS, 1e-4, np.inf).x

    def _learn_laws(self, free: Floats, told: Residual) -> None:
        """What the rows alone say of the values at the nodes says how far the laws depart."""
        net, beliefs = self.network, self._beliefs(free)
        own, bends = slice(0, net.size), slice(net.size, None)
        seen = told.slopes.T @ told.inverse @ told.slopes
        alone = np.linalg.inv(seen + beliefs.rows[own].T @ beliefs.rows[own])
        freed = free + alone @ beliefs.rows[bends].T @ (beliefs.rows[bends] @ free)
        first, second = slice(0, net.bleeds), slice(net.bleeds, net.bleeds + net.cracks)
        sums = net.bleed_sums, net.crack_sums
        bleeds, cracks = (
            law.learned(sum_ @ freed[part], sum_ @ alone[part, part] @ sum_.T, forms)
            for law, sum_, part, forms in zip(
                self.laws, sums, (first, second), (FORMS, EVEN), strict=True
            )
        )
        self.laws = bleeds, cracks

    def _with_runs_off(self, state: _State) -> _State:
        """Leave room for a run that is off as a whole, as far as that is likely.

        Of each suspect that is told by how much likelier the rows are if it may be off by
        `_RUN_OFF`, sizes learned again; `_OFTEN` says how likely it was before.
        """
        runs, first = np.unique(self.runs, return_index=True)
        times = np.abs(state.told.runs_off(self.lifts)[1])[first]
        if runs.size < 2 or times.max() < _LOOK:
            return state
        sizes, plain = self._learn(state.free, state.sizes, state.weights)
        odds = {}
        for run in runs[np.argsort(times)[::-1][:_RUNS_TRIED]]:
            self.lifts = _RUN_OFF * (self.runs == run)
            cost = self._learn(state.free, sizes, state.weights)[1]
            odds[run] = _OFTEN * np.exp(min(0.5 * (plain - cost), 30.0))
        self.lifts = np.zeros(self.f.size)
        for run, odd in odds.items():
            self.lifts[self.runs == run] = _RUN_OFF * np.sqrt(odd / (1.0 + sum(odds.values())))
        if sum(odds.values()) < _HARDLY:  # then its room widens the band and moves no curve
            return replace(state, told=self._told(state.free, state.sizes, state.weights))
        return self._rounds(state.free, state.sizes, state.weights, 1, state.gone)

    def _told(self, free: Floats, sizes: Sizes, weights: Floats) -> Residual:
        point, seen_at = self._point(free), self._seen(free)
        total = seen_at.total(sizes, weights, self.lifts)
        inverse = solver.inverse(np.asarray(np.linalg.cholesky(total), float))
        beliefs = self._beliefs(free)
        seen = point.slopes.T @ inverse @ point.slopes
        held = seen + beliefs.rows.T @ beliefs.rows
        covariance = np.asarray(np.linalg.inv(held), float)
        pull = inverse @ (self.f - point.force)
        return Residual(seen_at.at, sizes, pull, inverse, point.slopes, covariance)


def weighed(strange: Floats) -> Floats:
    """A row that many standard deviations of its own scatter off all the others counts for less."""
    return np.asarray(np.minimum(1.0, (STRANGE / np.maximum(np.abs(strange), 1e-9)) ** 2))


def _spent(told: Residual) -> float:
    """How many degrees of freedom the network's numbers took."""
    seen = told.slopes.T @ told.inverse @ told.slopes
    return float(np.trace(told.free @ seen))


def _beliefs(
    network: Network,
    free: Floats,
    bleed_law: ForceModel,
    crack_law: ForceModel,
    friction_in: bool,
) -> Priors:
    """What is believed before the rows speak; departures are scaled to the change in `free`."""
    bleeds, cracks = network.nodes(free)
    mean, deviation = believed(network, friction_in)
    size, bends = network.size, (bleed_law.departure, crack_law.departure)
    rows = np.zeros((size + sum(map(len, bends)), size))
    rows[:size] = np.diag(1.0 / deviation)
    row = size
    for bend, nodes, sums, first in (
        (bends[0], bleeds, network.bleed_sums, 0),
        (bends[1], cracks, network.crack_sums, network.bleeds),
    ):
        if len(bend):
            change = max(float(np.ptp(nodes)), 1e-3)
            rows[row : row + len(bend), first : first + len(nodes)] = bend @ sums / change
            row += len(bend)
    values = np.zeros(len(rows))
    values[:size] = mean / deviation
    return Priors(rows, values)


def believed(network: Network, friction_in: bool) -> tuple[Floats, Floats]:
    """Mean and standard deviation of each free number before the rows speak."""
    wide = [_BLEED] * network.bleeds + [_CRACK_STEP] * (network.cracks - 1) + [_CRACK]
    friction = (_FRICTION if friction_in else 1e-6) / network.force
    wide += [_OPENING, _PORT, _KNEE, _LEAK, (0.0, friction)]
    mean, deviation = np.array(wide).T
    return mean, deviation
