"""Where the steady runs of a recording lie: the same stroke at the same frequency, again and
again. Ramps, rests and the halves of strokes at the ends belong to none."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from trackside.damper.flow import Floats

_TURN = 0.05  # a turn of the rod is a return by this share of the whole travel: noise makes none
_ALIKE_TRAVEL = 0.05  # strokes of one run differ by less
_ALIKE_TIME = 0.03  # and by less than this and one sample
_LEAST = 4  # half cycles of a run
_BLOCKS = 100_000


def find_runs(time: Floats, displacement: Floats) -> list[slice]:
    """The samples of each steady run of two cycles or more, in order (s, m).

    Runs need a stroke of more than 1/20 of the widest one.
    """
    turns = _turns(displacement)
    if turns.size < 3:
        return []
    middles = np.array([_middle(displacement, a, b) for a, b in pairwise(turns.tolist())])
    travel = np.abs(np.diff(displacement[turns]))
    half = np.diff(time[middles])
    step = float(time[-1] - time[0]) / (time.size - 1)
    return [slice(int(middles[a]), int(middles[b]) + 1) for a, b in _alike(half, travel, step)]


def _turns(x: Floats) -> np.ndarray:
    """Indices where the rod turned. Blocks keep their least and greatest sample: a turn is one."""
    size = max(x.size // _BLOCKS, 1)
    blocks = np.pad(x, (0, -x.size % size), mode="edge").reshape(-1, size)
    ends = np.sort(np.stack([blocks.argmin(1), blocks.argmax(1)]), axis=0)
    index = np.minimum((ends + size * np.arange(len(blocks))).T.ravel(), x.size - 1)
    back = _TURN * float(np.ptp(x))
    turns: list[int] = []
    way, best, at = 1.0, float(x[0]), 0
    for n, value in zip(index.tolist(), x[index].tolist(), strict=True):
        if way * (value - best) > 0.0:
            best, at = value, n
        elif way * (best - value) > back:
            turns.append(at)
            way, best, at = -way, value, n
    return np.array(turns, dtype=np.int64)


def _middle(x: Floats, a: int, b: int) -> int:
    """Where the stroke from sample a to sample b passes its middle, noise averaged out."""
    stroke = x[a:b]
    return a + int(np.count_nonzero((stroke < 0.5 * (x[a] + x[b])) == (x[a] < x[b])))


def _alike(half: Floats, travel: Floats, step: float) -> Iterator[tuple[int, int]]:
    """(first, last) mid-stroke of every run of alike half cycles."""

    def belongs(n: int, first: int) -> bool:
        usual = half[first:n].mean() if n > first else half[n]
        reach = travel[first : n + 1].mean()
        in_time = abs(half[n] - usual) < _ALIKE_TIME * usual + step
        return bool(in_time and abs(travel[n + 1] - reach) < _ALIKE_TRAVEL * reach)

    first = 0
    for n in range(half.size + 1):
        if n < half.size and belongs(n, first):
            continue
        if n - first >= _LEAST:
            yield first, n
        first = n if n < half.size and belongs(n, n) else n + 1
