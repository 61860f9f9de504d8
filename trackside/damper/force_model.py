"""How a coefficient grows from click to click: a smooth law through the measured positions.

A line plus departures from it (universal kriging), in several forms: the line is straight in clicks
from full hard, or in a power of them, as for a needle that opens the more the further it is out, or
has dead clicks. A departure has a smooth part, a rough part (a step in the needle) and the play
of each detent, which is in clicks: a detent that is off moves the value by as much as the law is
steep there, at every speed alike, and where clicks are dead it moves nothing.
Three or more values say how far each form is to be believed and how large its departures are
(Bayes' rule), and the law is the mean of the forms. It is linear in the values at the measured
positions, so their errors carry through exactly, and it says how far it may be off between and
beyond them. What is believed before is our own, no source; sizes were set on the virtual
benches of the tests. For a cone needle of seat D it follows from the frustum
πx·sin a·(D − x·sin a·cos a).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats

_SMOOTH, _ROUGH = 1.0, 0.35  # distances over which departures are alike, in measured ranges
_JITTER = 1e-8  # keeps the system solvable where positions are close together
_STEP = 1.0 / 128.0  # of the measured range, on the way from one measured position
LINES = {
    "straight": (0.56, 0.25),
    "bent": (0.14, 0.10),
    "steep": (0.06, 0.10),
    "growing": (0.06, 0.10),
    "eased": (0.10, 0.06),
    "late": (0.04, 0.10),
    "idle": (0.04, 0.06),
}
"""The lines, how many adjusters are like that, and how large a smooth departure from each is before
any value has spoken, as a share of the whole change: even steps; clicks from full hard to the power
3/2, and 2.2; steps that grow by a share each; small steps at both ends; dead clicks at the hard
end; dead clicks at both ends. What is nearly even departs most: a cone is one of those. A line with
a shape of its own is kept to it, or it would say nothing of what lies between."""

ROUGH, PLAY = 0.004, 0.015
"""A rough departure (dead clicks, steps in a needle) as a share of the whole change, and the play
of each detent in clicks, before any value has spoken."""

_UNSURE = np.array([0.6, 1.4, 0.8])  # standard deviation of those
_UNLIKELY = 0.02  # a form less believed is left out
_LATE, _LATELY = 0.10, 1.1  # dead share of the range at the hard end, and the power after it
_IDLE = (0.07, 0.85)  # shares of the range between which an idle needle moves
_ENDS = 0.03  # standard deviation of where dead clicks end, share of the range
_GOES_ON = {"eased": 0.5, "idle": 1.0}
"""Share of a mean step that a click is worth beyond the measured positions, where a law that fits
three of them was seen at neither end."""
_GROWN = 3.0  # ln of how much larger the last step of a growing needle is than its first
_OF_FEW = {2: 2.0}  # departures are so many times larger where so few positions say how large
_MISREAD = 1.5  # standard deviation in clicks of a position that was misread
_OFTEN = 0.03  # as many sheets have such a one: our own, no source
_HARDLY = 3  # positions hardly tell which of them was misread
_TINY, _HUGE = 1e-300, 1e30
_FLAT = 0.1  # of the mean change by a click: what a detent's play moves where clicks seem dead
_TRIES = [-1.0, 0.0, 1.0], [-1.0, 0.0, 1.0, 2.0], [-1.0, 0.0, 1.0, 2.0, 3.0]
_GRID = np.stack(np.meshgrid(*_TRIES), -1)
_TRIED = _GRID.reshape(-1, 3) * _UNSURE


@dataclass(frozen=True)
class Form:
    """One of `LINES`, how far it is believed, and ln of its departures: `sizes` the likely ones,
    for the law; `wide` their rms, for its doubt, because large ones are rare and count."""

    line: str
    share: float
    sizes: tuple[float, float, float]
    wide: tuple[float, float, float]


@dataclass(frozen=True)
class Misread:
    """That a node's position was misread: how likely, and by how many clicks it then was more open
    than its count says."""

    likely: float
    clicks: float


def _believed(line: str) -> Form:
    share, smooth = LINES[line]
    sizes = np.log([smooth, ROUGH, PLAY])
    return Form(line, share, tuple(sizes.tolist()), tuple((sizes + _UNSURE**2).tolist()))


FORMS = tuple(map(_believed, LINES))
EVEN = (replace(FORMS[0], share=1.0),)
"""What is believed of an adjuster that is a thread on a spring: even steps."""


@dataclass(frozen=True)
class ForceModel:
    """The law through `nodes`: measured positions, strictly rising, at least one; `forms` that it
    may have; `steep`: at each node what a click does, as a share of the whole change, even steps
    where none is given; `misread`: the doubt of each node's position, none where none is given."""

    nodes: tuple[float, ...]
    forms: tuple[Form, ...] = EVEN
    steep: tuple[float, ...] = ()
    misread: tuple[Misread, ...] = ()

    @property
    def range(self) -> float:
        """Distance between the outermost measured positions."""
        return self.nodes[-1] - self.nodes[0]

    def learned(
        self, values: Floats, covariance: Floats, believed: tuple[Form, ...] = FORMS
    ) -> ForceModel:
        """The law with forms and sizes that the values (n,) speak for; covariance (n, n) is that
        of the values, of what rows said of them alone; believed: the forms before they speak.
        """
        size = float(np.ptp(values))
        if len(self.nodes) < 3 or size == 0.0:
            return self
        seen = covariance / size**2
        logs = np.array([form.sizes for form in believed])[:, None] + _TRIED
        tried = np.exp(2.0 * logs)
        steep = _steepness(self.nodes, values / size)
        every = [_Through(self.nodes, form, steep) for form in believed]
        blind = np.array([through.blind for through in every])
        parts = np.array([*every[0].alike, np.diag(np.square(steep)), seen])
        parts = blind[:, None] @ parts @ np.swapaxes(blind, 1, 2)[:, None]
        flat = tried @ parts[:, :3].reshape(len(believed), 3, -1)
        spread = flat.reshape(len(believed), len(_TRIED), *parts.shape[2:]) + parts[:, 3:]
        spread += _JITTER * np.eye(blind.shape[1])
        seen_there = (blind @ (values / size))[:, :, None]
        moved = blind * np.asarray(steep)  # by one click at each node
        off, clicks_off, volume = _whitened(spread, seen_there, moved)
        squares = np.sum(off**2, axis=(2, 3)) + volume
        squares += np.sum((_TRIED / _UNSURE) ** 2, axis=1)
        support = np.log([[form.share] for form in believed]) - 0.5 * squares
        support = np.exp(support - support.max())
        odds, clicks = _odds(off, clicks_off, len(self.nodes))
        each = support[..., None] * odds
        likely = each.sum(axis=(0, 1))
        by = np.sum(each * clicks, axis=(0, 1)) / np.maximum(likely, _TINY)
        by = by * np.sign(values[-1] - values[0])
        whole = support.sum() + likely.sum()
        misread = tuple(map(Misread, (likely / whole).tolist(), by.tolist()))
        support = (support + each.sum(axis=2)) / whole
        forms = []
        for form, within, log in zip(believed, support, logs, strict=True):
            share = float(within.sum())
            if share > _UNLIKELY:
                sizes = within @ log / share
                wide = 0.5 * np.log(within @ np.exp(2.0 * log) / share)
                forms.append(Form(form.line, share, tuple(sizes.tolist()), tuple(wide.tolist())))
        whole = sum(form.share for form in forms)
        forms = [replace(form, share=form.share / whole) for form in forms]
        return replace(self, forms=tuple(forms), steep=steep, misread=misread)

    def weights(self, position: ArrayLike) -> Floats:
        """Weights (m, n) at m positions: the values there are weights @ node values.

        With one node the value is the same everywhere.
        """
        x = np.atleast_1d(np.asarray(position, float))
        if len(self.nodes) == 1:
            return np.ones((x.size, 1))
        told = [through.form.share * through.weights(x) for through in self._through]
        return np.sum(told, axis=0)

    def doubt(self, position: ArrayLike, values: Floats) -> Floats:
        """Covariance (m, m) of the law's own error at m positions; zero at a node.

        In the square of the values' unit. With one node it is infinite elsewhere.
        """
        x = np.atleast_1d(np.asarray(position, float))
        if len(self.nodes) == 1:
            return np.diag(np.where(x == self.nodes[0], 0.0, np.inf))
        size, mean = float(np.ptp(values)), self.weights(x) @ values
        total = np.zeros((x.size, x.size))
        for through in self._through:
            weights = through.weights(x)
            off = weights @ values - mean
            total += through.form.share * (size**2 * through.doubt(x, weights) + np.outer(off, off))
        return total

    def rising(self, position: float, values: Floats) -> Floats:
        """Weights (n,) at one position, such that the value never falls as the adjuster opens.

        Where the smooth law dips or shoots over a measured neighbour, the level that it had
        reached, or the neighbour's, stands.
        """
        nodes, last = np.asarray(self.nodes), len(self.nodes) - 1
        right = int(np.searchsorted(nodes, position))
        if last == 0 or (right <= last and nodes[right] == position):
            return np.eye(last + 1)[min(right, last)]
        near = max(right - 1, 0)
        step = np.copysign(_STEP * self.range, position - nodes[near])
        part, last_step = np.modf((position - nodes[near]) / step)
        weights = self.weights(nodes[near] + step * np.arange(last_step + 2))
        along = weights @ values
        if 0 < right <= last:
            over = (along > values[right]) | (
                np.arange(along.size) * step > nodes[right] - nodes[near]
            )
            weights[over] = np.eye(last + 1)[right]
            along[over] = values[right]
        better = np.argmin if right == 0 else np.argmax
        before, after = weights[better(along[:-1])], weights[better(along)]
        return before + part * (after - before)

    @cached_property
    def departure(self) -> Floats:
        """Rows R (n − 2, n): R @ values / size is standard normal for the likeliest form."""
        if len(self.nodes) < 3:
            return np.empty((0, len(self.nodes)))
        through = max(self._through, key=lambda through: through.form.share)
        spread = through.blind @ through.covariance @ through.blind.T
        return np.linalg.solve(np.linalg.cholesky(spread), through.blind)

    @cached_property
    def _through(self) -> tuple[_Through, ...]:
        steep = self.steep or (1.0 / self.range,) * len(self.nodes)
        astray = tuple(_MISREAD**2 * node.likely for node in self.misread)
        return tuple(_Through(self.nodes, form, steep, astray) for form in self.forms)


@dataclass(frozen=True)
class _Through:
    """One form of the law through at least two nodes; covariances for a change of size one."""

    nodes: tuple[float, ...]
    form: Form
    steep: tuple[float, ...]
    astray: tuple[float, ...] = ()

    def weights(self, x: Floats) -> Floats:
        """Weights (m, n) of the values at the nodes."""
        n = len(self.nodes)
        nodes = np.asarray(self.nodes)
        cross = np.vstack([_departure(nodes, x, self._range, self._sizes), self._line(x).T])
        weights = np.asarray(np.linalg.solve(self._system, cross)[:n].T)
        exact, node = np.nonzero(x[:, None] == nodes)
        weights[exact] = np.eye(n)[node]
        return weights

    def doubt(self, x: Floats, weights: Floats) -> Floats:
        """Covariance (m, m) of what the law with these weights is off."""
        nodes, wide = np.asarray(self.nodes), _squares(self.form.wide, len(self.nodes))
        every = np.concatenate([x, nodes])
        spread = _departure(every, every, self._range, wide)
        play = wide[2] * np.interp(every, nodes, self.steep) ** 2
        spread += play * (every[:, None] == every)
        for moved in self._ends(every):
            spread += np.outer(moved, moved)
        spread[x.size :, x.size :] += np.diag(self._astray)
        off = np.hstack([np.eye(x.size), -weights])
        return np.asarray(off @ spread @ off.T)

    @cached_property
    def blind(self) -> Floats:
        """Rows (n − 2, n) that see no line."""
        return np.asarray(np.linalg.svd(self._line(np.asarray(self.nodes)).T)[2][2:])

    @cached_property
    def alike(self) -> tuple[Floats, Floats]:
        """Covariances (n, n) of a smooth and of a rough departure of size one at the nodes."""
        x = np.asarray(self.nodes)
        apart = (x[:, None] - x[None, :]) / self._range
        return _bell(apart / _SMOOTH), _bend(apart / _ROUGH)

    @cached_property
    def covariance(self) -> Floats:
        """Covariance (n, n) of the departures at the nodes, the play of detents among them."""
        sizes, (smooth, rough) = self._sizes, self.alike
        play = sizes[2] * np.square(self.steep) + _JITTER
        return sizes[0] * smooth + sizes[1] * rough + np.diag(play + self._astray)

    @property
    def _astray(self) -> Floats:
        """Variance (n,) of the values because a node may be misread."""
        return np.square(self.steep) * (self.astray or 0.0)

    @property
    def _sizes(self) -> Floats:
        return _squares(self.form.sizes, len(self.nodes))

    @property
    def _range(self) -> float:
        return self.nodes[-1] - self.nodes[0]

    def _ends(self, x: Floats) -> list[Floats]:
        """What the line (m,) would be off if dead clicks ended one deviation later."""
        moves = {"late": [(_ENDS, 0.0)], "idle": [(_ENDS, 0.0), (0.0, _ENDS)]}
        ends = np.array(self.nodes)[[0, -1]]
        found = []
        for move in moves.get(self.form.line, []):
            whole = [float(np.diff(self._line(ends, *by)[:, 1])[0]) for by in (move, (0.0, 0.0))]
            later, now = (self._line(x, *by)[:, 1] for by in (move, (0.0, 0.0)))
            found.append(later / whole[0] - now / whole[1])
        return found

    def _line(self, x: Floats, hard: float = 0.0, soft: float = 0.0) -> Floats:
        """Columns (m, 2) of the line, with dead clicks that end later by shares of the range."""
        out = (x - self.nodes[0]) / self._range
        inside = np.clip(out, 0.0, 1.0)
        match self.form.line:
            case "eased":
                part = inside**2 * (3.0 - 2.0 * inside) + _GOES_ON["eased"] * (out - inside)
            case "late":
                part = np.maximum(out - _LATE - hard, 0.0) ** _LATELY
            case "idle":
                first, last = _IDLE[0] + hard, _IDLE[1] + soft
                part = np.clip((out - first) / (last - first), 0.0, 1.0)
                part = part + _GOES_ON["idle"] * (out - inside)
            case "growing":
                part = np.expm1(_GROWN * out) / np.expm1(_GROWN)
            case line:
                power = {"bent": 1.5, "steep": 2.2}.get(line, 1.0)
                from_hard = x / self._range
                part = np.sign(from_hard) * np.abs(from_hard) ** power
        return np.column_stack([np.ones(x.size), part])

    @cached_property
    def _system(self) -> Floats:
        line = self._line(np.asarray(self.nodes))
        top = np.hstack([self.covariance, line])
        return np.vstack([top, np.hstack([line.T, np.zeros((2, 2))])])


def _whitened(spread: Floats, *columns: Floats) -> tuple[Floats, ...]:
    """Of each form and size: columns (f, b, k) over the Cholesky factor of spread (f, s, b, b),
    transposed (f, s, k, b), and last ln of its determinant (f, s).

    A factor of the matrix bordered by the columns has them in its last rows, so that one
    factorisation does for all.
    """
    size, counts = spread.shape[-1], [column.shape[-1] for column in columns]
    whole = size + sum(counts)
    bordered = np.zeros((*spread.shape[:2], whole, whole))
    bordered[..., :size, :size] = spread
    bordered[..., size:, :size] = np.swapaxes(np.concatenate(columns, axis=2), 1, 2)[:, None]
    bordered[..., range(size, whole), range(size, whole)] = _HUGE
    low = np.linalg.cholesky(bordered)
    own = np.diagonal(low, axis1=2, axis2=3)[..., :size]
    white = np.split(low[..., size:, :size], np.cumsum(counts)[:-1], axis=2)
    return *white, 2.0 * np.sum(np.log(own), axis=2)


def _odds(off: Floats, moved: Floats, nodes: int) -> tuple[Floats, Floats]:
    """Of each node, for each form and size (f, s, n): the odds that it was misread, and by how many
    clicks it then was. off (f, s, 1, b): what is seen of what sees no line, whitened; moved
    (f, s, n, b): what one click at a node moves of it.

    A covariance that grows by one node's variance: Sherman and Morrison, textbook.
    """
    told = 1.0 + _MISREAD**2 * np.einsum("fsnb,fsnb->fsn", moved, moved)
    seen = np.einsum("fsnb,fsb->fsn", moved, off[:, :, 0])
    clicks = _MISREAD**2 * seen / told
    often = _OFTEN / nodes if nodes > _HARDLY else 0.0
    return often * np.exp(np.minimum(0.5 * (seen * clicks - np.log(told)), 300.0)), clicks


def _steepness(nodes: tuple[float, ...], shares: Floats) -> tuple[float, ...]:
    """What a click does at each node; shares (n,) of the whole change at the nodes."""
    least = _FLAT / (nodes[-1] - nodes[0])
    return tuple(np.maximum(np.abs(np.gradient(shares, np.asarray(nodes))), least).tolist())


def _squares(sizes: tuple[float, float, float], positions: int) -> Floats:
    few = _OF_FEW.get(positions, 1.0) ** 2
    return np.asarray(np.exp(2.0 * np.array(sizes)) * np.array([few, few, 1.0]))


def _departure(a: Floats, b: Floats, length: float, squares: Floats) -> Floats:
    """Covariance (m, n) of smooth and rough departures at positions a (m,) and b (n,)."""
    apart = (a[:, None] - b[None, :]) / length
    return squares[0] * _bell(apart / _SMOOTH) + squares[1] * _bend(apart / _ROUGH)


def _bell(apart: Floats) -> Floats:
    return np.exp(-0.5 * apart**2)


def _bend(apart: Floats) -> Floats:
    far = np.sqrt(3.0) * np.abs(apart)
    return (1.0 + far) * np.exp(-far)
