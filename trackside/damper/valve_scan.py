"""How far each of many builds of one piston is from a wanted curve, all of them at once.

v(F) is explicit (`flow`), so nothing is inverted: with F* the wanted force at a speed v, a build
passes v_c(F*) at that force, and its own force at v differs from F* by the share
(v − v_c)/(F*·dv_c/dF), to first order (derived). `forces` then gives the few best exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper.flow import Floats, FlowPath, force_at

_TINY = 1e-300


@dataclass(frozen=True)
class Scan:
    """One piston and one wanted curve. wanted (K, J): force (N) at K positions of the adjuster and
    J rod speeds (m/s) `speeds`; bleeds (B, K): coefficient of each bleed at each position; preloads
    (P,) in m, below zero where discs stand off their seat; edge: coefficient of the seat's edge
    for each metre of lift; port: coefficient of the ports; leak (m/s)/N."""

    speeds: Floats
    wanted: Floats
    bleeds: Floats
    preloads: Floats
    edge: float
    port: float
    leak: float = 0.0

    def misses(self, lifts: Floats) -> Floats:
        """Shares (S, P, B, K, J) by which stacks of these lifts (S,), in m for each newton of
        damping force, make more force than is wanted; below zero: less."""
        force = self.wanted
        root = np.sqrt(force)
        soft = lifts[:, None, None, None]
        preload = self.preloads[None, :, None, None]
        opening = self.edge * soft
        over = np.maximum(force - np.maximum(preload, 0.0) / soft, 0.0)
        lift = opening * over
        choke = 1.0 / (1.0 + np.square(lift / self.port))
        stack = lift * np.sqrt(choke)
        rise = np.where(over > 0.0, opening * choke * np.sqrt(choke), 0.0)
        gap = self.edge * np.maximum(-preload, 0.0)
        bleed = self.bleeds[None, None, :, :, None]
        open_area = (stack + gap)[:, :, None] + bleed
        speed = open_area * root + self.leak * force
        slope = 0.5 * open_area / root + (rise * root)[:, :, None] + self.leak
        return np.asarray((self.speeds - speed) / np.maximum(force * slope, _TINY))

    def forces(self, lifts: Floats, preloads: Floats, bleeds: Floats) -> Floats:
        """Force (n, K, J) of n builds, each with its lift, its preload and its bleed's place."""
        crack = np.maximum(preloads, 0.0) / lifts
        gap = self.edge * np.maximum(-preloads, 0.0)
        whole = self.bleeds[bleeds] + gap[:, None]
        path = FlowPath(
            self.leak,
            whole[:, :, None],
            crack[:, None, None],
            (self.edge * lifts)[:, None, None],
            self.port,
        )
        return force_at(self.speeds[None, None, :], path)
