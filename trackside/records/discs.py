"""Disc stacks as they are written down: `27×0.15 ×2, 21×0.10, 17×0.30`, in mm."""

from __future__ import annotations

import re

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
