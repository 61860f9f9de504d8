"""Disc stacks as they are written down: `27×0.15 ×2, 21×0.10, 17×0.30`, in mm."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence

Discs = tuple[tuple[float, float], ...]
"""(diameter, thickness) in m, from the piston face to the clamp."""

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_TIMES = r"\s*[x×*]\s*"
_DISC = re.compile(rf"{_NUMBER}{_TIMES}{_NUMBER}(?:\s*mm)?(?:{_TIMES}(\d+)(?![.,]?\d))?", re.I)
_BETWEEN = re.compile(r"[\s,;+/]*")
_MOST = 60


def read_discs(text: str) -> Discs | None:
    """The discs in the order of `text`: diameter × thickness in mm, and × how many.

    None where anything else stands there, or no such disc can be: nothing is guessed.
    """
    if not text or _BETWEEN.fullmatch(_DISC.sub("", text)) is None:
        return None
    discs: list[tuple[float, float]] = []
    for wide, thick, count in _DISC.findall(text):
        diameter, thickness = (float(n.replace(",", ".")) * 1e-3 for n in (wide, thick))
        if not 0.005 <= diameter <= 0.1 or not 0.0 < thickness <= diameter / 5:
            return None
        discs += [(diameter, thickness)] * int(count or 1)
    return tuple(discs) if 0 < len(discs) <= _MOST else None


def stack_text(discs: Sequence[tuple[float, float]]) -> str:
    """`27×0.15 ×2, 21×0.10`: the discs in their order as `read_discs` reads them back, from sizes
    in m."""
    told = []
    for disc, same in itertools.groupby(discs):
        count = len(list(same))
        told.append(f"{disc_text(*disc)} ×{count}" if count > 1 else disc_text(*disc))
    return ", ".join(told)


def disc_text(diameter: float | None, thickness: float | None) -> str:
    """`27×0.15`, in mm from m; `?` for what is not known."""
    return f"{in_mm(diameter)}×{in_mm(thickness, 2)}"


def in_mm(size: float | None, decimals: int = 0) -> str:
    """A size in m as it is written on the bench: in mm with at least so many decimals, and as many
    more as it has; `?` for what is not known."""
    if size is None:
        return "?"
    exact = f"{1e3 * size:.6g}"
    return exact if len(exact.partition(".")[2]) > decimals else f"{1e3 * size:.{decimals}f}"
