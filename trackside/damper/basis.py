"""How an estimate is known, from best to worst."""

from __future__ import annotations

from enum import StrEnum


class Basis(StrEnum):
    """What an estimate is based on; `rank` 0 is the firmest."""

    MEASURED = "measured"
    BETWEEN = "between clicks"
    BEYOND = "outside range"
    FROM_SISTERS = "from sisters"
    SHOP_RULE = "shop rule"
    FROM_PARTS = "from parts"

    @property
    def rank(self) -> int:
        """0 for measured up to 5 for what is calculated from the parts alone."""
        return list(Basis).index(self)


def weakest(*bases: Basis) -> Basis:
    """The least firm of these: what a result built on all of them can claim."""
    return max(bases, key=lambda basis: basis.rank)
