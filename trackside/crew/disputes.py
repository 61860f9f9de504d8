"""What windows or laptops differ on, as the last look found it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.logbook import Logbook

if TYPE_CHECKING:
    from trackside.crew.deciding import Decision


class Disputes:
    """The conflicts that wait for a decision."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook
        self.places: dict[str, frozenset[str]] = {}
        """Entity to the places in it on which they differ."""

    def look(self) -> list[tuple[str, str]]:
        """(entity, path) of those that were not there at the last look."""
        found = self._logbook.open_conflicts()
        new = [(d.entity, d.path) for d in found if d.path not in self.places.get(d.entity, ())]
        entities = {dispute.entity for dispute in found}
        self.places = {e: frozenset(d.path for d in found if d.entity == e) for e in entities}
        return new

    @property
    def count(self) -> int:
        """How many values wait for a decision."""
        return sum(len(paths) for paths in self.places.values())

    def settle(self, decision: Decision, why: str) -> None:
        """Decide one so."""
        from trackside.crew.deciding import settle

        settle(self._logbook, decision, why)
        self.look()
