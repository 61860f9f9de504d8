"""Which record a link leads to: one that was dropped because another holds leads to that one.

Who settles what two laptops entered twice (see `twins`) drops one of the records. A laptop that had
not heard of it may have filed a session, or a note, under the dropped one; that stays as it was
written. The decision itself is a record of the kind `TWIN`, with the body `{"dropped": code,
"holds": code}`: it is merged, undone and proved like any other. What reads a link follows it here.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from typing import Any, Final, Self

from trackside.logbook.revisions import Body, Write, put

BodyOf = Callable[[sqlite3.Connection, str], Body | None]
Pair = tuple[str, str]

TWIN: Final = "twin"
"""The kind of a decision which of two records holds."""
LINKED: Final = ("event", "car", "session")
"""The kinds of record that another names by their code."""
_LINKS: Final = (*LINKED, "based_on")
"""The values that are such a code."""


def decided(dropped: str, holds: str) -> Write:
    """The write that says which record holds in place of the one dropped."""
    return put(TWIN, {"dropped": dropped, "holds": holds})


def pair_of(body: Body | None) -> list[Pair]:
    """What was dropped and what holds, of a decision's body; none where it does not say."""
    dropped, holds = ((body or {}).get(name) for name in ("dropped", "holds"))
    return [(dropped, holds)] if isinstance(dropped, str) and isinstance(holds, str) else []


def pairs_in(sql: sqlite3.Connection, read: BodyOf) -> list[Pair]:
    """Every decision that stands, in the order of the codes: the same on every laptop."""
    made = sql.execute("SELECT entity FROM current WHERE kind = ? ORDER BY entity", (TWIN,))
    return [pair for (entity,) in made.fetchall() for pair in pair_of(read(sql, entity))]


def joined(entities: Iterable[str], pairs: Iterable[Pair]) -> set[str]:
    """These, and all that any chain of decisions joins with them."""
    pairs, found = list(pairs), set(entities)
    while more := {one for pair in pairs if not found.isdisjoint(pair) for one in pair} - found:
        found |= more
    return found


class Links:
    """Where links lead, given all decisions and what tells whether a record stands."""

    def __init__(self, pairs: Iterable[Pair], stands: Callable[[str], bool]) -> None:
        self._holding: dict[str, list[str]] = {}
        for dropped, holds in pairs:
            self._holding.setdefault(dropped, []).append(holds)
        self._stands = stands

    @classmethod
    def read(cls, sql: sqlite3.Connection, read: BodyOf) -> Self:
        """Those of the bodies that `read` gives."""
        return cls(pairs_in(sql, read), lambda entity: read(sql, entity) is not None)

    def holder(self, entity: str) -> str:
        """The record that counts for that one: itself while it stands. Of several decisions the
        first counts that leads to a record that stands; where none does, it stays itself."""
        waiting, seen = [entity], set[str]()
        while waiting and self._holding:
            one = waiting.pop()
            if one in seen:
                continue
            if self._stands(one):
                return one
            seen.add(one)
            waiting += self._holding.get(one, ())[::-1]
        return entity

    def followed(self, body: Body) -> Body:
        """The body with the record that counts in each of its links."""
        found: dict[str, Any] = {
            name: self.holder(body[name])
            for name in _LINKS
            if isinstance(body.get(name), str) and body[name] in self._holding
        }
        return {**body, **found} if found else body

    def names_of(self, entity: str) -> list[str]:
        """The code of a record, then those of the records that it counts for."""
        others = (one for one in self._holding if one != entity and self.holder(one) == entity)
        return [entity, *others]
