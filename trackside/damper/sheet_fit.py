"""A dyno sheet fitted, and what it answers: force at any position and speed, with a band.

    fit = fit_sheet(SheetRows(position_from_hard, direction, speed, force))
    fit.bump.predict(7, [0.05, 0.1, 0.25])            at a position, measured or not
    fit.bump.difference(7, 5, [0.05, 0.1, 0.25])      what two clicks harder are worth

The forces have no gas force in them; they hold the seal friction if the sheet's did. Method and
assumptions: `estimation`, `law`, `network`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper import bands, residual
from trackside.damper.basis import Basis, weakest
from trackside.damper.clicks import ClickLaw
from trackside.damper.curve import Difference, Prediction
from trackside.damper.estimation import FitResult, fit_side, weighed
from trackside.damper.flow import Floats, FlowPath, force_at
from trackside.damper.force_model import ForceModel
from trackside.damper.parameters import Parameter, parameters
from trackside.damper.sheet import SheetRows, Side, fitted_rows, sides
from trackside.damper.surface import FARTHEST, Surface, surface
from trackside.damper.viscous import BY_CLEARANCE, Viscous, with_oil
from trackside.errors import BadSheet, NoEstimate

__all__ = ["DirectionFit", "Parameter", "SheetFit", "SheetRows", "fit_sheet"]

_SHIFTS = 3.0  # so many times less sure is a change at a speed not run: our own, no source
SLACK = 1.1  # a speed this near to a measured one is as good as measured: our own, no source
# Doubt of a shop's click law (up, down), set on the virtual bench of the tests: the last clicks
# before full hard are worth far more than even steps say. Of ln(force ratio), of ln(change).
HARDER_DOUBT, SOFTER_DOUBT = (1.0, 0.12), (0.33, 0.33)
HARDER_CHANGE, SOFTER_CHANGE = (0.6, 0.1), (0.25, 0.4)


@dataclass(frozen=True)
class DirectionFit:
    """One direction of a fitted sheet.

    positions, preloads: measured, clicks from full hard; rows: index of each row in the sheet;
    residuals (N): measured less fitted, in that order; speeds: the sheet's, m/s, rising; oil_C:
    the sheet's oil, None if unknown; viscous: what of the flow goes with the oil's viscosity; zero:
    standard deviation (N) of what all forces may be off together.
    """

    direction: str
    bleed_law: ForceModel
    crack_law: ForceModel
    found: FitResult
    rows: np.ndarray
    residuals: Floats
    rms_percent: float
    speeds: Floats
    oil_C: float | None = None
    click_law: ClickLaw | None = None
    friction_in: bool = True
    viscous: Viscous = BY_CLEARANCE
    zero: float = 0.0

    @property
    def positions(self) -> tuple[float, ...]:
        """Measured positions of the bleed adjuster."""
        return self.bleed_law.nodes

    @property
    def preloads(self) -> tuple[float, ...]:
        """Measured positions of the preload adjuster; (0.0,) if the sheet has none."""
        return self.crack_law.nodes

    @property
    def takes_preload(self) -> bool:
        """Whether the bench varied the preload adjuster."""
        return len(self.preloads) > 1

    @property
    def limits(self) -> None:
        """None: what a bench measured needs no theory of discs."""

    @property
    def misses(self) -> Floats:
        """What the flow network alone misses, in the order of `rows`: measured less network, N."""
        return self.found.misses

    def scatter(self, force: ArrayLike) -> Floats:
        """Standard deviation of one bench point at forces (N), as learned from the sheet, N."""
        top = self.found.network.force
        return bands.scatter(self.found, np.asarray(force, float) / top) * top

    @property
    def friction(self) -> float:
        """Seal friction that the fit found in the forces, N."""
        return float(self.found.free[-1] * self.found.network.force)

    def basis(self, position_from_hard: float, preload_from_hard: float | None = None) -> Basis:
        """How a force at this position is known."""
        preload = self._preload(preload_from_hard)
        return weakest(_stands(position_from_hard, self.positions), _stands(preload, self.preloads))

    def ran(self, speeds: ArrayLike) -> np.ndarray:
        """Whether each speed (m/s) lies within those that the sheet ran in this direction."""
        speed = np.asarray(speeds, float)
        return (speed * SLACK >= self.slowest) & (speed <= self.fastest * SLACK)

    @property
    def slowest(self) -> float:
        """The smallest rod speed of the sheet in this direction, m/s."""
        return float(self.speeds[0])

    @property
    def fastest(self) -> float:
        """The largest rod speed of the sheet in this direction, m/s."""
        return self.found.network.speed

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The flow path at a position, SI, for the sheet's oil; seal friction is not in it."""
        preload = self._preload(preload_from_hard)
        bleed_weights, crack_weights = self._weights(position_from_hard, preload)
        laws = self.laws
        path = self.found.network.path(
            self.found.free,
            float(bleed_weights @ laws.bleeds),
            float(crack_weights @ laws.cracks),
        )
        law = self.click_law
        if law is not None and len(self.positions) == 1:
            path = law.path_at(path, self.positions[0], position_from_hard, "bleed")
        if law is not None and len(self.preloads) == 1:
            path = law.path_at(path, self.preloads[0], preload, "preload")
        return path

    def predict(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Prediction:
        """Force at speeds (m/s) at one position; [low, high] holds 95 % of new bench points.

        The ratios are those of `flow`, sheet's oil over oil now. Raises NoEstimate if only one
        position was measured, another is asked for, and no click law was given, or if the
        position is far beyond those measured.
        """
        speed = np.atleast_1d(np.asarray(speeds, float))
        preload = self._preload(preload_from_hard)
        if (viscosity_ratio, density_ratio) != (1.0, 1.0):
            return with_oil(
                lambda rod: self.predict(position_from_hard, rod, preload),
                speed,
                viscosity_ratio,
                density_ratio,
                self.viscous,
            )
        basis = self.basis(position_from_hard, preload)
        oil = 1.0, 1.0
        if basis is Basis.SHOP_RULE:
            return self._by_click_law(position_from_hard, preload, speed, oil)
        force, end = self._force(position_from_hard, preload, speed, oil)
        top = self.found.network.force
        spread = np.sqrt(
            bands.variance(self.found, self.laws, end)
            + bands.scatter(self.found, force) ** 2
            + (self._unrun(speed) * force) ** 2
            + (self.zero / top) ** 2
        )
        low, high = bands.around(force, self._reach * spread)
        return Prediction(speed, force * top, low * top, high * top, basis)

    def difference(
        self,
        position_a: float,
        position_b: float,
        speeds: ArrayLike,
        preload_a: float | None = None,
        preload_b: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Difference:
        """Force at position b less force at position a, with the band of the true change."""
        speed = np.atleast_1d(np.asarray(speeds, float))
        first, second = self._preload(preload_a), self._preload(preload_b)
        basis = weakest(self.basis(position_a, first), self.basis(position_b, second))
        oil = viscosity_ratio, density_ratio
        top = self.found.network.force
        if basis is Basis.SHOP_RULE:
            a = self.predict(position_a, speed, first, *oil).force
            b = self.predict(position_b, speed, second, *oil).force
            change = b - a
            more, less = np.where(
                change > 0.0, *(np.array(d)[:, None] for d in (HARDER_CHANGE, SOFTER_CHANGE))
            )
            ends = change * np.exp(-self._reach * less), change * np.exp(self._reach * more)
            low, high = np.minimum(*ends), np.maximum(*ends)
        else:
            was, start = self._force(position_a, first, speed, oil)
            now, end = self._force(position_b, second, speed, oil)
            a, change = was * top, (now - was) * top
            unrun = _SHIFTS * self._unrun(speed) * np.abs(now - was)
            spread = np.sqrt(bands.variance(self.found, self.laws, start, end) + unrun**2)
            band = self._reach * spread * top
            low, high = change - band, change + band
        percent = 100.0 * np.divide(change, a, out=np.zeros_like(a), where=a > 0.0)
        return Difference(speed, change, percent, low, high, basis)

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Every coefficient with its 95 % band."""
        return parameters(self.found, self.positions, self.preloads, self._reach)

    def _unrun(self, speed: Floats) -> Floats:
        return bands.unrun(speed, self.slowest, self.fastest)

    @property
    def _reach(self) -> float:
        """95 % of Student's distribution, in standard deviations."""
        return bands.reach(self.found.freedom)

    def _preload(self, preload: float | None) -> float:
        if preload is not None:
            return float(preload)
        if len(self.preloads) > 1:
            raise NoEstimate(
                f"the {self.direction} preload adjuster was measured at several positions",
                "say at which one",
            )
        return self.preloads[0]

    @cached_property
    def laws(self) -> bands.Laws:
        """The click laws with the scaled values found at the measured positions."""
        bleeds, cracks = self.found.network.nodes(self.found.free)
        return bands.Laws(self.bleed_law, self.crack_law, bleeds, cracks)

    def _weights(self, position: float, preload: float) -> tuple[Floats, Floats]:
        """Weights of the measured bleeds and cracks at a position."""
        self._refuse_unknown(position, preload)
        laws = self.laws
        # the crack falls as the preload adjuster opens
        return (
            self.bleed_law.rising(position, laws.bleeds),
            self.crack_law.rising(preload, -laws.cracks),
        )

    def _refuse_unknown(self, position: float, preload: float) -> None:
        """Raises NoEstimate for a position of which the rows say nothing."""
        if self.click_law is None and self.basis(position, preload) is Basis.SHOP_RULE:
            bleed = _stands(position, self.positions) is Basis.SHOP_RULE
            name, only = ("", self.positions) if bleed else (" preload adjuster", self.preloads)
            raise NoEstimate(
                f"the {self.direction}{name} was measured at one position only, {only[0]:g} clicks"
                f" from full hard, and {position if bleed else preload:g} was asked for",
                "measure a second position, or enter the shop's share of force for one click",
            )
        for name, asked, law in (
            ("", position, self.bleed_law),
            (" preload adjuster", preload, self.crack_law),
        ):
            _refuse_far(f"{self.direction}{name}", asked, law)

    def fitted(self, position: Floats, preload: Floats, speed: Floats) -> Floats:
        """Forces (n,), N, at n measured positions, preloads and speeds (m/s)."""
        force = np.empty(speed.size)
        for place, ring in set(zip(position.tolist(), preload.tolist(), strict=True)):
            here = (position == place) & (preload == ring)
            force[here] = self._surface(ring).at(place, speed[here] / self.found.network.speed)
        return force * self.found.network.force

    def force(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
    ) -> Floats:
        """Force (n,) of `predict`, in a tenth of its time for want of a band."""
        preload = self._preload(preload_from_hard)
        if self.basis(position_from_hard, preload) is Basis.SHOP_RULE:
            return self.predict(position_from_hard, speeds, preload).force
        self._refuse_unknown(position_from_hard, preload)
        speed = np.atleast_1d(np.asarray(speeds, float)) / self.found.network.speed
        return self._surface(preload).at(position_from_hard, speed) * self.found.network.force

    def end(
        self, position: float, speed: Floats, preload_from_hard: float | None = None
    ) -> bands.End:
        """A position with its scaled forces and slopes at speeds (m/s), for `bands`."""
        return self._end(position, self._preload(preload_from_hard), speed, (1.0, 1.0))

    def _end(
        self, position: float, preload: float, speed: Floats, oil: tuple[float, float]
    ) -> bands.End:
        net = self.found.network
        bleed_weights, crack_weights = self._weights(position, preload)
        shape = (speed.size, 1)
        scaled = speed / net.speed
        point = net.at(
            self.found.free,
            scaled,
            np.tile(bleed_weights, shape),
            np.tile(crack_weights, shape),
            *oil,
        )
        at = residual.places(
            point,
            scaled,
            np.full(speed.shape, float(bleed_weights @ self.laws.bleeds)),
            float(self.laws.bleeds[-1]),
            np.full(speed.shape, position / (self.bleed_law.range or 1.0)),
            np.full(speed.shape, preload / (self.crack_law.range or 1.0)),
        )
        return bands.End(position, preload, point, at)

    def _force(
        self, position: float, preload: float, speed: Floats, oil: tuple[float, float]
    ) -> tuple[Floats, bands.End]:
        """Scaled forces at speeds (m/s), and their end; the oil acts through the network."""
        end = self._end(position, preload, speed, oil)
        force = self._surface(preload).at(position, speed / self.found.network.speed)
        if oil == (1.0, 1.0):
            return force, end
        as_run = self._end(position, preload, speed, (1.0, 1.0)).point.force
        share = np.divide(end.point.force, as_run, out=np.ones_like(force), where=as_run > 0.0)
        return force * share, end

    def _surface(self, preload: float) -> Surface:
        return self._surfaces(preload)

    @cached_property
    def _surfaces(self) -> Callable[[float], Surface]:
        """The table of forces at a preload, made once for each."""
        return lru_cache(maxsize=64)(partial(_table, self.found, self.laws, self.speeds))

    def _by_click_law(
        self, position: float, preload: float, speed: Floats, oil: tuple[float, float]
    ) -> Prediction:
        """The measured curve carried to another position by the shop's click law."""
        anchor = self.predict(self.positions[0], speed, self.preloads[0], *oil)
        here, there = (
            force_at(speed, path, *oil)
            for path in (
                self.path(self.positions[0], self.preloads[0]),
                self.path(position, preload),
            )
        )
        rub = self.friction * (speed > 0.0)
        share = np.divide(there, here, out=np.ones_like(here), where=here > 0.0)
        force = np.maximum(anchor.force - rub, 0.0) * share + rub
        with np.errstate(divide="ignore", invalid="ignore"):
            moved = np.log(force / anchor.force)
            own = (anchor.high - anchor.low) / (2.0 * anchor.force)
        own, moved = np.nan_to_num(own), np.nan_to_num(moved)
        doubts = (np.array(d)[:, None] for d in (HARDER_DOUBT, SOFTER_DOUBT))
        rise, fall = self._reach * np.where(moved > 0.0, *doubts) * moved
        low = force * np.exp(-np.hypot(own, fall))
        high = force * np.exp(np.hypot(np.minimum(own, 1.0), rise)) * np.maximum(own, 1.0)
        return Prediction(speed, force, low, high, Basis.SHOP_RULE)


def _refuse_far(what: str, position: float, law: ForceModel) -> None:
    """NoEstimate so far outside the measured positions that the law says nothing."""
    first, last = law.nodes[0], law.nodes[-1]
    if max(first - position, position - last) > FARTHEST * law.range > 0.0:
        raise NoEstimate(
            f"the {what} was measured from {first:g} to {last:g} clicks from full hard, and"
            f" {position:g} is too far beyond",
            "measure a position nearer to it",
        )


def _stands(position: float, nodes: tuple[float, ...]) -> Basis:
    if position in nodes:
        return Basis.MEASURED
    if len(nodes) == 1:
        return Basis.SHOP_RULE
    return Basis.BETWEEN if nodes[0] < position < nodes[-1] else Basis.BEYOND


@dataclass(frozen=True)
class SheetFit:
    """A fitted sheet: each direction that it has, None where it has no rows."""

    bump: DirectionFit | None
    rebound: DirectionFit | None
    oil_C: float | None = None

    def direction(self, name: str) -> DirectionFit:
        """The fit of "bump" or "rebound"; NoEstimate if the sheet has no rows of it."""
        fit = {"bump": self.bump, "rebound": self.rebound}.get(name)
        if fit is None:
            raise NoEstimate(f"the sheet has no rows in {name}", "measure this direction too")
        return fit


def fit_sheet(
    rows: SheetRows,
    gas_force: float | None = None,
    gas_in: bool = False,
    friction_in: bool = True,
    click_law: ClickLaw | None = None,
) -> SheetFit:
    """Fit all positions of a sheet, each direction on its own.

    gas_in: the sheet's bump forces hold the gas force and its rebound forces lack it, as a load
    cell reads them; gas_force (N) is then needed and taken out. friction_in: the forces hold
    seal friction, which is then found too. click_law carries a sheet measured at one position
    to others. Raises BadSheet with the row and the remedy.
    """
    if gas_in and gas_force is None:
        raise BadSheet(
            "the sheet has gas force in it, and how much is not known",
            "enter the gas pressure and the rod diameter, or the bench's gas force",
        )
    oil = None
    if rows.oil_C is not None:
        known = np.asarray(rows.oil_C, float)
        oil = float(np.median(known[np.isfinite(known)])) if np.isfinite(known).any() else None
    found: dict[str, DirectionFit] = {}
    for name, side in sides(rows, (gas_force or 0.0) * gas_in).items():
        found[name] = _direction_fit(side, friction_in, oil, click_law)
    return SheetFit(found.get("bump"), found.get("rebound"), oil)


def _direction_fit(
    side: Side, friction_in: bool, oil_C: float | None, click_law: ClickLaw | None
) -> DirectionFit:
    chosen = fitted_rows(side)
    names = "rows", "position", "preload", "speed", "force"
    some = replace(side, **{name: getattr(side, name)[chosen] for name in names})
    bleed_law, crack_law, found = fit_side(some, friction_in)
    fit = DirectionFit(
        side.direction,
        bleed_law,
        crack_law,
        found,
        side.rows,
        np.zeros(side.rows.size),
        0.0,
        np.unique(side.speed),
        oil_C,
        click_law,
        friction_in,
    )
    residuals = side.force - fit.fitted(side.position, side.preload, side.speed)
    share = residuals / np.maximum(side.force, 0.02 * side.force.max())
    rms = float(100.0 * np.sqrt(np.mean(share**2)))
    if chosen.size < side.rows.size:
        doubts = tuple(replace(d, row=int(chosen[d.row])) for d in found.doubts)
        fit = replace(fit, found=replace(found, doubts=doubts))
        found = _with_rest(fit, side, residuals, chosen)
    return replace(fit, found=found, residuals=residuals, rms_percent=rms)


def _with_rest(fit: DirectionFit, side: Side, residuals: Floats, chosen: np.ndarray) -> FitResult:
    """What was found of the chosen rows, and of the others what the curve makes of them."""
    network = np.empty_like(side.force)
    for place, ring in set(zip(side.position.tolist(), side.preload.tolist(), strict=True)):
        here = (side.position == place) & (side.preload == ring)
        network[here] = fit.end(place, side.speed[here], ring).point.force
    fitted = side.force - residuals
    weights = weighed(residuals / np.maximum(fit.scatter(fitted), 1e-9))
    weights[chosen] = fit.found.weights
    misses = side.force - network * fit.found.network.force
    return replace(fit.found, misses=misses, weights=weights)


def _table(found: FitResult, laws: bands.Laws, speeds: Floats, preload: float) -> Surface:
    crack = float(laws.crack.rising(preload, -laws.cracks) @ laws.cracks)
    ring = preload / (laws.crack.range or 1.0)
    return surface(found, laws.bleed, max(crack, 0.0), ring, speeds / found.network.speed)
