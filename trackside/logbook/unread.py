"""What stands in the logbook and cannot be read: named, so that the rest can go on.

A newer laptop may write what this version does not know, and a file may be changed by another tool.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final, NamedTuple

from trackside.units import one_line

NAMED_BY: Final = {
    "event": ("venue", "date"),
    "car": ("name", "number"),
    "damper": ("serial", "model"),
    "build": ("damper", "version"),
    "sheet": ("damper", "build", "date"),
    "session": ("kind", "number", "run", "start", "driver"),
    "note": ("driver", "words"),
    "change": ("what", "reason"),
    "kept": ("title", "result"),
    "weighing": ("at",),
    "weather": ("at", "wind"),
    "counter": ("part", "serial"),
    "tyre_set": ("name", "compound"),
    "job": ("words", "who"),
    "strip_down": ("damper", "date"),
    "box_part": ("sort", "name"),
    "plan": ("name",),
}
"""The fields of a record that say which one it is."""
_LONGEST = 40
_OF_DAMPERS = ("damper", "build", "sheet")


def named(kind: str, entity: str, body: Any) -> str:
    """Which record that is, from what of it is text: `note “Ann · It skips.”`; its code when
    nothing names it."""
    values = (_words(body.get(name)) for name in NAMED_BY.get(kind, ())) if _is(body) else ()
    words = " · ".join(word for word in values if word)
    told = kind.replace("_", " ")
    return f"{told} “{words}”" if words else f"{told} …{entity[-6:]}"


def _is(body: Any) -> bool:
    return isinstance(body, dict)


def _session_of(kind: str, entity: str, body: Any) -> str:
    of = entity if kind == "session" else body.get("session") if _is(body) else ""
    return of if isinstance(of, str) else ""


def _words(value: Any) -> str:
    if isinstance(value, dict):
        value = value.get("typed")
    words = one_line(str(value)) if isinstance(value, (str, int, float)) else ""
    return words if len(words) <= _LONGEST else f"{words[: _LONGEST - 1]}…"


class Unread(NamedTuple):
    """One record of which something cannot be read; `whole`: none of it."""

    kind: str
    entity: str
    name: str
    why: str
    whole: bool
    session: str = ""
    """The session that it is, or belongs to."""

    @property
    def brief(self) -> str:
        """What cannot be read, its places first: `balance of note “Ann · It skips.”`."""
        if self.whole:
            return self.name
        places = ", ".join(reason.partition(":")[0] for reason in self.why.split("; "))
        return f"{places} of {self.name}"

    @property
    def sentence(self) -> str:
        """`note “Ann · It skips.” is shown without balance: Input should be …`."""
        what = "is left out:" if self.whole else "is shown without"
        return f"{self.name} {what} {self.why}"


class Doubted(Unread):
    """One record of which a table does not hold what its revisions say."""

    __slots__ = ()

    @property
    def sentence(self) -> str:
        """`note “Ann · It skips.”: shown from its revisions: a table is damaged; …`."""
        return f"{self.name}: {self.why}"


class UnreadRecords:
    """Those that were met since the logbook was opened; one that can be read again is let go."""

    def __init__(self) -> None:
        self._found: dict[str, Unread] = {}
        self._doubted: dict[str, Doubted] = {}

    def doubt(self, kind: str, entity: str, body: Any, why: str) -> None:
        """Note that the tables do not hold what that record's revisions say."""
        if entity not in self._doubted:
            self._doubted[entity] = Doubted(
                kind, entity, named(kind, entity, body), why, False, _session_of(kind, entity, body)
            )

    def take(self, kind: str, entity: str, body: Any, why: Collection[str], whole: bool) -> None:
        """Note what of that record cannot be read; nothing, when `why` is empty."""
        if why:
            name = named(kind, entity, body)
            session = _session_of(kind, entity, body)
            self._found[entity] = Unread(kind, entity, name, "; ".join(why), whole, session)
        else:
            self._found.pop(entity, None)

    def stand(self, kind: str, session: str, entities: Collection[str]) -> None:
        """Let go what of that kind (of that session, where one is given) no longer stands."""
        for entity, one in list(self._found.items()):
            here = one.kind == kind and session in ("", one.session)
            if here and entity not in entities:
                del self._found[entity]

    def of(self, *kinds: str) -> tuple[Unread, ...]:
        """Those of these kinds; without a kind, all of them."""
        found = (*self._doubted.values(), *self._found.values())
        return tuple(one for one in found if not kinds or one.kind in kinds)

    def about(self, sessions: Collection[str], car: str, dampers: Collection[str]) -> list[Unread]:
        """Those that a page about these sessions, that car and those dampers' serials rests on."""
        serials = [serial.casefold() for serial in dampers]
        return [
            one
            for one in self.of()
            if one.session in sessions
            or one.entity == car
            or (one.kind in _OF_DAMPERS and any(s in one.name.casefold() for s in serials))
        ]
