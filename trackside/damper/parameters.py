"""The coefficients that a fit found, with their bands, as a table to be read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper.estimation import FitResult


@dataclass(frozen=True)
class Parameter:
    """A coefficient of the flow path with its 95 % band, SI; unit as in `FlowPath`."""

    name: str
    value: float
    low: float
    high: float
    unit: str


def parameters(
    found: FitResult, positions: tuple[float, ...], preloads: tuple[float, ...], reach: float
) -> tuple[Parameter, ...]:
    """Every coefficient; `reach` standard deviations make the band."""
    net, free, covariance = found.network, found.free, found.covariance
    root = np.sqrt(net.force)
    table = []
    for name, nodes, sums, first, scale, unit in (
        ("bleed", positions, net.bleed_sums, 0, net.speed / root, "(m/s)/√N"),
        ("crack", preloads, net.crack_sums, net.bleeds, net.force, "N"),
    ):
        part = slice(first, first + len(nodes))
        values = sums @ free[part] * scale
        bands = reach * scale * np.sqrt(np.diag(sums @ covariance[part, part] @ sums.T))
        for node, value, band in zip(nodes, values, bands, strict=True):
            label = name if len(nodes) == 1 else f"{name} at {node:g}"
            table.append(_plain(label, value, band, unit))
    band = reach * np.sqrt(np.diag(covariance))
    for k, name, scale, unit in (
        (-5, "opening", net.speed / root**3, "(m/s)/N^1.5"),
        (-4, "port", net.speed / root, "(m/s)/√N"),
        (-3, "knee", net.force, "N"),
    ):
        low, value, high = np.exp(free[k] + np.array([-1, 0, 1]) * band[k]) * scale
        table.append(Parameter(name, float(value), float(low), float(high), unit))
    table.append(
        _plain(
            "leak", free[-2] * net.speed / net.force, band[-2] * net.speed / net.force, "(m/s)/N"
        )
    )
    table.append(_plain("friction", free[-1] * net.force, band[-1] * net.force, "N"))
    return tuple(table)


def _plain(name: str, value: float, band: float, unit: str) -> Parameter:
    return Parameter(name, float(value), max(float(value - band), 0.0), float(value + band), unit)
