"""A sheet whose oil warmed while it was run: each row is put at one oil temperature, then fitted.

A first fit gives the curve of each position; the share by which the oil of a row moves it there
(`viscous`) is taken out of the row. Where one position was run cold and warm, the two say how much
of the flow follows viscosity; where each position was run once, warmth and knob moved together,
and clearances alone say it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from trackside.damper.flow import Floats
from trackside.damper.oil import OilData, ratios
from trackside.damper.sheet import SheetRows
from trackside.damper.sheet_fit import DirectionFit, SheetFit, fit_sheet
from trackside.damper.viscous import BY_CLEARANCE, Viscous, carried, learned, usual_ratio
from trackside.damper.wear import ROW, RUN, SEAL

WARMED = 3.0
"""K within a sheet from which each row is put at the same oil: our own, no source."""
_APART = 8.0  # K between runs of one position that teach
_ALIKE = 3.0  # K within a run


def fit_warmed(rows: SheetRows, oil: OilData | None = None, **how: Any) -> SheetFit:
    """`fit_sheet(rows, **how)`, each row at the median oil temperature of the sheet.

    rows.oil_C: °C of each row, NaN where it was not read; such rows are taken as they are. oil: its
    data; None carries density and the viscosity of a usual oil.
    """
    fit = fit_sheet(rows, **how)
    warmth = np.asarray(np.nan if rows.oil_C is None else rows.oil_C, float)
    if fit.oil_C is None or warmth.ndim == 0 or np.ptp(warmth[np.isfinite(warmth)]) <= WARMED:
        return fit
    gas = how.get("gas_force") or 0.0
    gas = gas if how.get("gas_in") else 0.0
    force = np.array(rows.force, float)
    viscous: dict[str, Viscous] = {}
    for name in ("bump", "rebound"):
        side: DirectionFit | None = getattr(fit, name)
        if side is None:
            continue
        held = gas if name == "bump" else -gas
        known = side.rows[np.isfinite(warmth[side.rows])]
        found = _Column(rows, known, side, warmth[known], oil, fit.oil_C)
        viscous[name] = found.learned(np.log(np.maximum(force[known] - held, 1.0)))
        moved = found.carry(viscous[name])[0] - found.at_reference
        force[known] = held + (force[known] - held) * np.exp(-moved)
    again = fit_sheet(replace(rows, force=force), **how)

    def with_viscous(side: DirectionFit | None) -> DirectionFit | None:
        return side and replace(side, viscous=viscous.get(side.direction, BY_CLEARANCE))

    return replace(again, bump=with_viscous(again.bump), rebound=with_viscous(again.rebound))


class _Column:
    """The rows of one direction whose oil was read, and the curve that they were fitted with."""

    def __init__(
        self,
        rows: SheetRows,
        known: np.ndarray,
        side: DirectionFit,
        warmth: Floats,
        oil: OilData | None,
        reference_C: float,
    ) -> None:
        self.warmth = np.round(warmth, 1)
        self.position = np.asarray(rows.position_from_hard, float)[known]
        ring = rows.preload_from_hard
        self.ring = np.zeros(known.size) if ring is None else np.asarray(ring, float)[known]
        self.speed = np.asarray(rows.speed, float)[known]
        self.side, self.oil, self.reference = side, oil, reference_C
        self.at_reference = self._logs(BY_CLEARANCE, at_reference=True)[0]

    def carry(self, viscous: Viscous) -> tuple[Floats, Floats]:
        """ln force (n,) of each row's position, speed and oil by the fit; slopes (n, 2)."""
        return self._logs(viscous)

    def learned(self, seen: Floats) -> Viscous:
        """What positions that were run cold and warm say; clearances where there are none."""
        keep = np.zeros(seen.size, bool)
        for place in set(zip(self.position, self.ring, strict=True)):
            here = (self.position == place[0]) & (self.ring == place[1])
            keep |= here & (np.ptp(self.warmth[here]) > _APART)
        if not keep.any():
            return BY_CLEARANCE
        runs = np.column_stack([self.position, self.ring, np.round(self.warmth / _ALIKE)])[keep]
        same = np.all(runs[:, None, :] == runs[None, :, :], axis=2)
        places = np.all(runs[:, None, :2] == runs[None, :, :2], axis=2)
        seal = SEAL * np.exp(-seen[keep])
        noise = np.diag(2.0 * ROW**2 + seal**2) + RUN**2 * same + 25.0 * RUN**2 * places

        def carry(viscous: Viscous) -> tuple[Floats, Floats]:
            logs, slopes = self.carry(viscous)
            return logs[keep], slopes[keep]

        return learned(seen[keep], carry, noise, BY_CLEARANCE)[0]

    def _logs(self, viscous: Viscous, at_reference: bool = False) -> tuple[Floats, Floats]:
        logs, slopes = np.empty(self.speed.size), np.zeros((self.speed.size, 2))
        runs = np.column_stack([self.position, self.ring, self.warmth])
        for run in np.unique(runs, axis=0):
            here = np.all(runs == run, axis=1)
            place, ring, celsius = (float(value) for value in run)
            at = self.reference if at_reference else celsius
            viscosity, density = (float(r) for r in ratios(self.oil, self.reference, at))
            if self.oil is None:
                viscosity = usual_ratio(at - self.reference)
            found = carried(
                lambda v, p=place, r=ring: self.side.predict(p, v, r).force,  # type: ignore[misc]
                self.speed[here],
                viscosity,
                density,
                viscous,
            )
            logs[here], slopes[here] = found.logs, found.slopes
        return logs, slopes
