"""How the bench moved the rod: a sine or a triangle, found by fit and never from a header.

Peak speed is π·stroke·frequency for a sine (derived) and
2·stroke·frequency, all along the side, for a triangle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from trackside.damper.flow import Floats
from trackside.errors import BadSheet

_UNLIKE = 0.05  # rms left over, as a share of the amplitude
_CLEAR = 0.02  # a triangle leaves 0.086 beside its best sine: √(π⁴/96 − 1)/√2 (derived)
_SIDE = 0.8  # share of a triangle's stroke that is straight; the corners of a machine are round
_ENOUGH = 50_000  # samples; more of them settle nothing further


@dataclass(frozen=True)
class Sine:
    """displacement = centre + stroke/2·sin(2π·frequency·t + phase); m, Hz, rad.

    left_over: rms of what the sine does not explain, as a share of its amplitude.
    """

    stroke: float
    frequency: float
    phase: float
    centre: float
    left_over: float

    shape: ClassVar[str] = "sine"
    window: ClassVar[float] = 0.3
    """rad either side of mid stroke where the force counts as that of the peak speed."""

    @property
    def peak_speed(self) -> float:
        """m/s."""
        return float(np.pi * self.stroke * self.frequency)

    def angle(self, time: Floats) -> Floats:
        """Angle (rad) at each time: 0 at mid stroke in bump, π in rebound."""
        return 2.0 * np.pi * self.frequency * time + self.phase

    def speed(self, time: Floats) -> Floats:
        """Rod speed (m/s), positive in bump."""
        return self.peak_speed * np.cos(self.angle(time))

    def weight(self, u: Floats) -> Floats:
        """Weight of a sample at the share u of the window: it leaves the middle of a parabola
        as it is, for the mean of 1 is 1 and that of u² nothing."""
        return 3.0 - 5.0 * u**2

    def steady(self, time: Floats) -> NDArray[np.bool_]:
        """Whether the rod runs one way without doubt at each time."""
        return np.abs(np.cos(self.angle(time))) > 0.3


@dataclass(frozen=True)
class Triangle(Sine):
    """displacement = centre + stroke/π·arcsin(sin(2π·frequency·t + phase)).

    The straight sides make the fit; the stroke is theirs, corner to corner.
    """

    shape: ClassVar[str] = "triangle"
    window: ClassVar[float] = 0.3 * np.pi

    @property
    def peak_speed(self) -> float:
        """m/s, all along the sides."""
        return 2.0 * self.stroke * self.frequency

    def speed(self, time: Floats) -> Floats:
        """Rod speed (m/s), positive in bump; the corners are taken as sharp."""
        return self.peak_speed * np.sign(np.cos(self.angle(time)))

    def weight(self, u: Floats) -> Floats:
        """The same for every sample: the speed is one."""
        return np.ones_like(u)

    def steady(self, time: Floats) -> NDArray[np.bool_]:
        """Whether the rod is on a side, away from the corners."""
        return np.abs(_triangle(self.angle(time))) < _SIDE


def find_motion(time: Floats, displacement: Floats) -> Sine:
    """The sine or the triangle of one steady run (s, m), whichever leaves less over.

    Raises BadSheet if there are not two cycles, or if it is neither.
    """
    few = slice(None, None, max(time.size // _ENOUGH, 1))
    start, middle = time[0], 0.5 * float(displacement.max() + displacement.min())
    t, x = time[few] - start, displacement[few] - middle
    omega = _frequency(t, x)
    if omega * t[-1] < 1.9 * 2.0 * np.pi:
        raise _too_short()
    try:
        found = sine = _fit_sine(t, x, omega)
        if sine.left_over > _CLEAR:
            found = min(sine, _fit_triangle(t, x, sine), key=lambda motion: motion.left_over)
    except np.linalg.LinAlgError:  # nothing periodic at all
        raise _unlike("most") from None
    if not found.left_over < _UNLIKE:
        raise _unlike(f"{found.left_over:.0%}")
    return type(found)(
        found.stroke,
        found.frequency,
        found.phase - 2.0 * np.pi * found.frequency * start,
        found.centre + middle,
        found.left_over,
    )


def _unlike(share: str) -> BadSheet:
    return BadSheet(
        f"the displacement is neither a sine nor a triangle: {share} of it is something else",
        "record one speed at a time, after the machine has settled",
    )


def _too_short() -> BadSheet:
    return BadSheet("the recording has fewer than two cycles", "record more of them")


def _frequency(t: Floats, x: Floats) -> float:
    """rad/s from the crossings of the middle. One counts only after the rod has been well on the
    other side: noise makes none."""
    amplitude = 0.5 * np.ptp(x)
    side = np.where(x > 0.5 * amplitude, 1, np.where(x < -0.5 * amplitude, -1, 0))
    known = np.flatnonzero(side)
    turns = known[1:][np.diff(side[known]) != 0]
    if amplitude <= 0.0 or turns.size < 3:
        raise _too_short()
    return float(np.pi * (turns.size - 1) / (t[turns[-1]] - t[turns[0]]))


def _fit_sine(t: Floats, x: Floats, omega: float) -> Sine:
    one = np.ones_like(t)
    for _ in range(12):
        sin, cos = np.sin(omega * t), np.cos(omega * t)
        level, a, b = least_squares((one, sin, cos), x)
        change = float(least_squares((one, sin, cos, t * (a * cos - b * sin)), x)[-1])
        omega += change
        if abs(change) < 1e-13 * omega:
            break
    size = float(np.hypot(a, b))
    left = _rms(level + a * sin + b * cos - x) / size
    return Sine(2.0 * size, omega / (2.0 * np.pi), float(np.arctan2(b, a)), float(level), left)


def _fit_triangle(t: Floats, x: Floats, sine: Sine) -> Triangle:
    """From its ground wave, which has the same phase."""
    omega, phase = 2.0 * np.pi * sine.frequency, sine.phase
    for _ in range(12):
        angle = omega * t + phase
        wave = _triangle(angle)
        side = np.abs(wave) < _SIDE
        one, slope = np.ones(side.sum()), 2.0 / np.pi * np.sign(np.cos(angle[side]))
        level, size = least_squares((one, wave[side]), x[side])
        columns = (one, wave[side], size * slope, size * slope * t[side])
        *_, shift, change = map(float, least_squares(columns, x[side]))
        phase, omega = phase + shift, omega + change
        if abs(change) < 1e-12 * omega and abs(shift) < 1e-9:
            break
    left = _rms(level + size * wave - x) / abs(float(size))
    return Triangle(2.0 * float(size), omega / (2.0 * np.pi), phase, float(level), left)


def _triangle(angle: Floats) -> Floats:
    """A wave of −1 to 1 with straight sides, rising through nothing at 0."""
    turn = angle / (2.0 * np.pi) + 0.25
    return 1.0 - 4.0 * np.abs(turn - np.floor(turn) - 0.5)


def _rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values**2)))


def least_squares(columns: tuple[Floats, ...], target: Floats) -> Floats:
    """Coefficients by normal equations, columns scaled: few columns, many rows."""
    rows = np.stack(columns)
    matrix = rows @ rows.T
    scale = np.sqrt(np.diag(matrix))
    if not np.all(scale > 0.0):
        raise np.linalg.LinAlgError("a column of noughts")
    return np.linalg.solve(matrix / np.outer(scale, scale), rows @ target / scale) / scale
