"""A dyno sheet fitted, and what it answers: force at any position and speed, with a band.

    fit = fit_sheet(SheetRows(position_from_hard, direction, speed, force))
    fit.bump.predict(7, [0.05, 0.1, 0.25])            at a position, measured or not
    fit.bump.difference(7, 5, [0.05, 0.1, 0.25])      what two clicks harder are worth

The forces have no gas force in them; they hold the seal friction if the sheet's did. Method and
assumptions: `estimation`, `law`, `network`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.clicks import ClickLaw
from trackside.damper.curve import Difference, Prediction
from trackside.damper.estimation import ABSOLUTE, DEPARTURE, RELATIVE, Found, fit_side
from trackside.damper.flow import Floats, FlowPath, force_at
from trackside.damper.law import MeasuredLaw
from trackside.damper.network import Point
from trackside.damper.sheet import SheetRows, Side, sides
from trackside.damper.standing import Standing, weakest
from trackside.errors import BadSheet, NoEstimate

__all__ = ["DirectionFit", "Parameter", "SheetFit", "SheetRows", "fit_sheet"]

STEP_DOUBT = 0.35  # doubt of a shop click law, as a share of ln(force ratio): no source


@dataclass(frozen=True)
class Parameter:
    """A coefficient of the flow path with its 95 % band, SI; unit as in `FlowPath`."""

    name: str
    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True)
class _Place:
    """A position asked for, as weights on the measured ones."""

    bleed_weights: Floats
    crack_weights: Floats


@dataclass(frozen=True)
class DirectionFit:
    """One direction of a fitted sheet.

    positions, preloads: measured, clicks from full hard; rows: index of each row in the sheet;
    residuals (N): measured less fitted, in that order; oil_C: the sheet's oil, None if unknown.
    """

    direction: str
    bleed_law: MeasuredLaw
    crack_law: MeasuredLaw
    found: Found
    rows: np.ndarray
    residuals: Floats
    rms_percent: float
    oil_C: float | None = None
    click_law: ClickLaw | None = None

    @property
    def positions(self) -> tuple[float, ...]:
        """Measured positions of the bleed adjuster."""
        return self.bleed_law.nodes

    @property
    def preloads(self) -> tuple[float, ...]:
        """Measured positions of the preload adjuster; (0.0,) if the sheet has none."""
        return self.crack_law.nodes

    @property
    def friction(self) -> float:
        """Seal friction that the fit found in the forces, N."""
        return float(self.found.free[-1] * self.found.network.force)

    def standing(
        self, position_from_hard: float, preload_from_hard: float | None = None
    ) -> Standing:
        """How a force at this position is known."""
        preload = self._preload(preload_from_hard)
        return weakest(_stands(position_from_hard, self.positions), _stands(preload, self.preloads))

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The flow path at a position, SI, for the sheet's oil; seal friction is not in it."""
        place = self._place(position_from_hard, self._preload(preload_from_hard))
        bleeds, cracks = self.found.network.nodes(self.found.free)
        path = self.found.network.path(
            self.found.free,
            float(place.bleed_weights @ bleeds),
            float(place.crack_weights @ cracks),
        )
        law = self.click_law
        preload = self._preload(preload_from_hard)
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
        position was measured, another is asked for, and no click law was given.
        """
        speed = np.atleast_1d(np.asarray(speeds, float))
        preload = self._preload(preload_from_hard)
        standing = self.standing(position_from_hard, preload)
        oil = viscosity_ratio, density_ratio
        if standing is Standing.SHOP_RULE:
            return self._by_click_law(position_from_hard, preload, speed, oil)
        place = self._place(position_from_hard, preload)
        point = self._point(place, speed, oil)
        variance = np.einsum("ij,jk,ik->i", point.slopes, self.found.covariance, point.slopes)
        variance += self._law_variance([(point, position_from_hard, preload)])
        scatter = self.found.scatter * np.hypot(
            RELATIVE * point.force, ABSOLUTE / self.found.network.force * (speed > 0.0)
        )
        band = self._reach * np.sqrt(variance + scatter**2)
        top = self.found.network.force
        return Prediction(
            speed,
            point.force * top,
            np.maximum(point.force - band, 0.0) * top,
            (point.force + band) * top,
            standing,
        )

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
        standing = weakest(self.standing(position_a, first), self.standing(position_b, second))
        oil = viscosity_ratio, density_ratio
        top = self.found.network.force
        if standing is Standing.SHOP_RULE:
            a = self.predict(position_a, speed, first, *oil).force
            b = self.predict(position_b, speed, second, *oil).force
            change = b - a
            band = self._reach * STEP_DOUBT * np.abs(change)
        else:
            start = self._point(self._place(position_a, first), speed, oil)
            end = self._point(self._place(position_b, second), speed, oil)
            a, change = start.force * top, (end.force - start.force) * top
            slopes = end.slopes - start.slopes
            variance = np.einsum("ij,jk,ik->i", slopes, self.found.covariance, slopes)
            variance += self._law_variance([(start, position_a, first), (end, position_b, second)])
            band = self._reach * np.sqrt(variance) * top
        percent = 100.0 * np.divide(change, a, out=np.zeros_like(a), where=a > 0.0)
        return Difference(speed, change, percent, change - band, change + band, standing)

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Every coefficient with its 95 % band."""
        net, free, covariance = self.found.network, self.found.free, self.found.covariance
        root = np.sqrt(net.force)
        found = []
        groups = (
            ("bleed", self.positions, net.bleed_sums, 0, net.speed / root, "(m/s)/√N"),
            ("crack", self.preloads, net.crack_sums, net.bleeds, net.force, "N"),
        )
        for name, nodes, sums, first, scale, unit in groups:
            part = slice(first, first + len(nodes))
            values = sums @ free[part] * scale
            reach = self._reach * scale * np.sqrt(np.diag(sums @ covariance[part, part] @ sums.T))
            for node, value, band in zip(nodes, values, reach, strict=True):
                label = name if len(nodes) == 1 else f"{name} at {node:g}"
                found.append(Parameter(label, value, max(value - band, 0.0), value + band, unit))
        band = self._reach * np.sqrt(np.diag(covariance))
        for k, name, scale, unit in (
            (-4, "opening", net.speed / root**3, "(m/s)/N^1.5"),
            (-3, "port", net.speed / root, "(m/s)/√N"),
        ):
            low, value, high = np.exp(free[k] + np.array([-1, 0, 1]) * band[k]) * scale
            found.append(Parameter(name, float(value), float(low), float(high), unit))
        for k, name, scale, unit in (
            (-2, "leak", net.speed / net.force, "(m/s)/N"),
            (-1, "friction", net.force, "N"),
        ):
            low, value, high = (free[k] + np.array([-1, 0, 1]) * band[k]) * scale
            found.append(Parameter(name, float(value), max(float(low), 0.0), float(high), unit))
        return tuple(found)

    @property
    def _reach(self) -> float:
        """95 % of Student's distribution, in standard deviations."""
        from scipy.special import stdtrit

        return float(stdtrit(self.found.freedom, 0.975))

    def _preload(self, preload: float | None) -> float:
        if preload is not None:
            return float(preload)
        if len(self.preloads) > 1:
            raise NoEstimate(
                f"the {self.direction} preload adjuster was measured at several positions",
                "say at which one",
            )
        return self.preloads[0]

    def _place(self, position: float, preload: float) -> _Place:
        if self.click_law is None and Standing.SHOP_RULE is self.standing(position, preload):
            raise NoEstimate(
                f"{self.direction} was measured at one position only, and {position:g} clicks"
                " from full hard is another",
                "measure a second position, or enter the shop's share of force for one click",
            )
        bleeds, cracks = self.found.network.nodes(self.found.free)
        return _Place(
            self.bleed_law.rising(position, bleeds),
            # the crack falls as the preload adjuster opens
            self.crack_law.rising(preload, -cracks),
        )

    def _point(self, place: _Place, speed: Floats, oil: tuple[float, float]) -> Point:
        shape = (speed.size, 1)
        net = self.found.network
        return net.at(
            self.found.free,
            speed / net.speed,
            np.tile(place.bleed_weights, shape),
            np.tile(place.crack_weights, shape),
            *oil,
        )

    def _law_variance(self, ends: list[tuple[Point, float, float]]) -> Floats:
        """Variance of one force, or of the change between two, from the laws between clicks."""
        bleeds, cracks = self.found.network.nodes(self.found.free)
        signs = np.array([1.0]) if len(ends) == 1 else np.array([-1.0, 1.0])
        total = np.zeros_like(ends[0][0].force)
        for law, values, slopes, positions in (
            (self.bleed_law, bleeds, [e[0].by_bleed for e in ends], [e[1] for e in ends]),
            (self.crack_law, cracks, [e[0].by_crack for e in ends], [e[2] for e in ends]),
        ):
            if len(law.nodes) == 1:
                continue
            size = DEPARTURE * float(np.ptp(values))
            doubt = law.weights(positions)[1] * size**2
            signed = np.array(slopes) * signs[:, None]
            total += np.maximum(np.einsum("ai,ab,bi->i", signed, doubt, signed), 0.0)
        return total

    def _by_click_law(
        self, position: float, preload: float, speed: Floats, oil: tuple[float, float]
    ) -> Prediction:
        """The measured curve carried to another position by the shop's click law."""
        anchor = self.predict(self.positions[0], speed, self.preloads[0], *oil)
        path = self.path(position, preload)
        force = force_at(speed, path, *oil) + self.friction * (speed > 0.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            moved = np.log(force / anchor.force)
            own = (anchor.high - anchor.low) / (2.0 * anchor.force)
        band = np.hypot(np.nan_to_num(own), self._reach * STEP_DOUBT * np.nan_to_num(moved))
        return Prediction(
            speed, force, force * np.exp(-band), force * np.exp(band), Standing.SHOP_RULE
        )


def _stands(position: float, nodes: tuple[float, ...]) -> Standing:
    if position in nodes:
        return Standing.MEASURED
    if len(nodes) == 1:
        return Standing.SHOP_RULE
    return Standing.BETWEEN if nodes[0] < position < nodes[-1] else Standing.BEYOND


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
    for name, side in sides(rows).items():
        gas = (gas_force or 0.0) * gas_in * (1.0 if name == "bump" else -1.0)
        side = replace(side, force=side.force - gas)
        if side.force.max() <= 0.0:
            raise BadSheet(
                f"the gas force is larger than every {name} force", "check the gas pressure"
            )
        found[name] = _direction_fit(side, friction_in, oil, click_law)
    return SheetFit(found.get("bump"), found.get("rebound"), oil)


def _direction_fit(
    side: Side, friction_in: bool, oil_C: float | None, click_law: ClickLaw | None
) -> DirectionFit:
    bleed_law, crack_law, found = fit_side(side, friction_in)
    share = found.residuals / np.maximum(side.force, 1e-9)
    return DirectionFit(
        side.direction,
        bleed_law,
        crack_law,
        found,
        side.rows,
        found.residuals,
        float(100.0 * np.sqrt(np.mean(share**2))),
        oil_C,
        click_law,
    )
