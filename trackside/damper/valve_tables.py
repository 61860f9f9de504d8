"""Many stacks on one seat, quickly: the discs' influences made once, for all thicknesses.

A plate's deflection under a load is ∝ 1/t³ and its moment does not change with t (thin plates,
`plates`), so one table per diameter serves every thickness. Discs of one diameter that lie side by
side bend alike and share the load by t³, so that they are one plate of t = ∛Σt³: contact is then
solved between different diameters only (derived; the tests hold both against `stack.give`, which
takes every disc by itself).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise

import numpy as np

from trackside.damper.plates import POISSON, STEEL, Floats, Plate, bend
from trackside.damper.stack import Give
from trackside.errors import BadNumber

Discs = tuple[tuple[float, float], ...]
"""(diameter, thickness) in m, from the piston face out."""
_UNIT = 1e-3  # m: the thickness that tables are made for
_ROUND = 1e9  # sizes are the same where they agree to the nm


@dataclass(frozen=True)
class _Table:
    """One diameter, `_UNIT` thick, with 1 N on each ring in turn: deflection at the rings (m), at
    the seat, at the edge, and moment at the clamp (N·m/m). Zero for rings beyond the disc."""

    influence: Floats
    seat: Floats
    edge: Floats
    moment: Floats


@dataclass(frozen=True)
class SeatTables:
    """Stacks on one clamp, under a ring of load, lifting at one seat: diameters in m.

    `diameters` are those that discs may have. Raises BadNumber as `stack.give` does.
    """

    clamp: float
    load: float
    seat: float
    diameters: tuple[float, ...]
    modulus: float = STEEL
    poisson: float = POISSON

    @cached_property
    def _rings(self) -> Floats:
        return np.array(sorted(self._at)) / (2.0 * _ROUND)

    @cached_property
    def _at(self) -> dict[int, int]:
        """Diameter → its place among the rings."""
        sizes = {_name(d) for d in (self.load, *self.diameters) if d > self.clamp}
        return {size: n for n, size in enumerate(sorted(sizes))}

    @cached_property
    def _tables(self) -> dict[int, _Table]:
        return {_name(d): self._table(d) for d in self.diameters if d > self.clamp}

    def _table(self, diameter: float) -> _Table:
        rings = self._rings
        plate = Plate(self.clamp / 2.0, diameter / 2.0, _UNIT, self.modulus, self.poisson)
        on = np.flatnonzero(rings <= plate.outer + 1e-12)
        influence = np.zeros((rings.size, rings.size))
        seat, edge, moment = np.zeros((3, rings.size))
        at = [*np.minimum(rings[on], plate.outer), min(self.seat / 2.0, plate.outer)]
        for ring in on:
            bent = bend(plate, [*at, plate.outer, plate.inner], min(rings[ring], plate.outer), 1.0)
            influence[on, ring] = bent.deflection[: on.size]
            seat[ring], edge[ring] = bent.deflection[on.size : on.size + 2]
            moment[ring] = bent.moment[-1]
        return _Table(influence, seat, edge, moment)

    def fits(self, discs: Discs) -> bool:
        """Whether the first disc that bends reaches the seat and the ring of load, and every one
        has a table."""
        first = next((d for d, _ in discs if d > self.clamp), 0.0)
        known = all(_name(d) in self._tables for d, _ in discs if d > self.clamp)
        least = min(self.load, self.seat)
        return known and first >= max(self.load, self.seat) and least > self.clamp

    def give(self, discs: Discs) -> Give:
        """How that stack gives to 1 N. BadNumber where its first disc does not reach the seat."""
        if not self.fits(discs):
            raise BadNumber(
                "the seat, or the ring the oil presses on, is not on the first disc outside its "
                "clamp",
                "check seat, clamp and first disc",
            )
        bending = [(d, t) for d, t in discs if d > self.clamp]
        groups = [(d, [t for _, t in same]) for d, same in groupby(bending, key=lambda one: one[0])]
        tables = [self._tables[_name(d)] for d, _ in groups]
        cubes = [float(np.sum(np.power(t, 3))) for _, t in groups]
        on_first = np.zeros(self._rings.size)
        on_first[self._at[_name(self.load)]] = 1.0
        handed = self._handed_on([d for d, _ in groups], tables, cubes, on_first)
        whole = np.vstack([on_first, handed, np.zeros_like(on_first)])
        lifts, bent, stress = [], [], []
        for (_, thick), table, cube, force in zip(
            groups, tables, cubes, whole[:-1] - whole[1:], strict=True
        ):
            soft = _UNIT**3 / cube
            lifts.append(float(table.seat @ force) * soft)
            bent.append(abs(float(table.edge @ force)) * soft / min(thick))
            # each of a group feels its share t³/Σt³ of the moment, as 6M/t²
            stress.append(6.0 * abs(float(table.moment @ force)) * max(thick) / cube)
        return Give(lifts[0], max(bent), max(stress))

    def _handed_on(
        self, sizes: list[float], tables: list[_Table], cubes: list[float], load: Floats
    ) -> Floats:
        """Force (n − 1, rings) that each group hands on to the next, as `stack` solves it."""
        if len(sizes) == 1:
            return np.zeros((0, load.size))
        from scipy.optimize import nnls

        used = sorted({self._at[_name(d)] for d in (self.load, *sizes)})
        place = [
            (n, ring)
            for n, pair in enumerate(pairwise(sizes))
            for ring in used
            if ring <= self._at[_name(min(pair))]
        ]
        handed = np.zeros((len(sizes) - 1, load.size))
        if not place:
            return handed
        n, ring = np.array(place).T
        shared = np.zeros((len(place), len(place)))
        for group, (table, cube) in enumerate(zip(tables, cubes, strict=True)):
            sign = 1.0 * (n == group - 1) - 1.0 * (n == group)
            soft = _UNIT**3 / cube
            shared += np.outer(sign, sign) * table.influence[np.ix_(ring, ring)] * soft
        gap = np.where(n == 0, (tables[0].influence @ load)[ring] * _UNIT**3 / cubes[0], 0.0)
        scale = np.sqrt(np.diag(shared))
        root = np.linalg.cholesky(shared / np.outer(scale, scale) + 1e-12 * np.eye(len(place)))
        handed[n, ring] = nnls(root.T, np.linalg.solve(root, gap / scale))[0] / scale
        return handed


def _name(size: float) -> int:
    return round(size * _ROUND)
