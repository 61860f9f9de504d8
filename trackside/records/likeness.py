"""Two names that may mean one thing: they differ by case, accent, blanks, or one letter.

Whoever typed the name is asked; nothing is ever replaced by itself.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

SHORTEST = 3
"""Letters that the longer name needs before one letter counts as a slip: our own choice."""


def folded(name: str) -> str:
    """The name without case, accents and doubled blanks."""
    spread = unicodedata.normalize("NFKD", name)
    return " ".join("".join(c for c in spread if not unicodedata.combining(c)).casefold().split())


def alike(name: str, other: str) -> bool:
    """Whether two different names may mean the same: `teo vannick`, `Teo Vanick`, `Toe Vannick`
    for `Teo Vannick`. Names that differ in a digit are two names: `FP-0611` and `FP-0612`."""
    if name == other or not name.strip() or not other.strip():
        return False
    a, b = folded(name), folded(other)
    if a == b:
        return True
    if [c for c in a if c.isdigit()] != [c for c in b if c.isdigit()]:
        return False
    return max(len(a), len(b)) >= SHORTEST and _one_slip(*sorted((a, b), key=len))


def likely(name: str, known: Iterable[str]) -> tuple[str, ...]:
    """Those of the known names that this one may be a slip of, each once; none when the name
    itself is among them."""
    names = tuple(dict.fromkeys(known))
    return () if name in names else tuple(other for other in names if alike(name, other))


def _one_slip(short: str, long: str) -> bool:
    """Whether one letter more, another letter, or two neighbours swapped make one of the other."""
    if len(long) - len(short) > 1:
        return False
    at = next((n for n, letter in enumerate(short) if letter != long[n]), len(short))
    if len(short) < len(long):
        return short[at:] == long[at + 1 :]
    swapped = short[at + 1 : at + 2] + short[at : at + 1] + short[at + 2 :]
    return short[at + 1 :] == long[at + 1 :] or swapped == long[at:]
