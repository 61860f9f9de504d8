"""Where the words of a cell come from: for each field of words, its list or that it has none.

The lists are made from what is on record and from what sessions already say, the newest first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Final

from trackside.crew.belonging import BELONGS, all_in_words
from trackside.logbook.driven import SETS
from trackside.records.fields import CORNERS, field_of
from trackside.tui.widgets.picking import Offer
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.crew.workspace import Workspace

NEWEST: Final = 1000
"""Sessions whose words are offered: more than two seasons of one car, and read within a frame."""

FREE: Final = frozenset(("start", "result", "lap_times"))
"""Fields of a session whose words come from no list: each says something of its own."""


def _dampers(desk: Workspace, path: str) -> Offer:
    """The serials on record, those that this car ran last first."""
    ran = [desk.session.corner(corner).damper or "" for corner in CORNERS]
    before = [desk.before.corner(corner).damper or "" for corner in CORNERS] if desk.before else []
    kept = [str(body.get("serial", "")) for _, body in desk.logbook.once("damper")]
    return _offer((*ran, *before, *kept), "damper")


def _builds(desk: Workspace, path: str) -> Offer:
    """The builds of the damper at that corner, the newest first."""
    serial = (desk.session.corner(path.partition(".")[0]).damper or "").casefold()
    mine = [
        (str(body.get("date", "")), str(body.get("version", "")))
        for _, body in desk.logbook.once("build")
        if str(body.get("damper", "")).casefold() == serial
    ]
    return _offer((version for _, version in sorted(mine, reverse=True)), "build")


def _bump_stops(desk: Workspace, path: str) -> Offer:
    """The stops whose curve the car's record knows, then those that sessions name."""
    body = desk.logbook.state(desk.session.car) if desk.session.car else None
    known = [part.partition("=")[0] for part in str((body or {}).get("stops") or "").split(";")]
    return _offer((*known, *desk.logbook.words_of("bump_stop", NEWEST)), "bump stop")


def _drivers(desk: Workspace, path: str) -> Offer:
    """Who drove."""
    return _offer(desk.logbook.words_of("driver", NEWEST), "driver")


def _tyre_sets(desk: Workspace, path: str) -> Offer:
    """The sets of this car that are on record, the one entered last first; then those that sessions
    name."""
    mine = [b for _, b in desk.logbook.once("tyre_set") if b.get("car") == desk.session.car]
    kept = [str(body.get("name", "")) for body in reversed(mine)]
    said = (word for name in SETS for word in desk.logbook.words_of(name, NEWEST))
    return _offer((*kept, *said), "tyre set")


def _belongs(desk: Workspace, path: str) -> Offer:
    """The events, or the cars, in words; there can be no other."""
    return _offer(reversed(all_in_words(desk.logbook, path)))


SOURCES: Final[dict[str, Callable[[Workspace, str], Offer]]] = {
    "damper": _dampers,
    "build": _builds,
    "bump_stop": _bump_stops,
    "driver": _drivers,
    **dict.fromkeys(SETS, _tyre_sets),
    **dict.fromkeys(BELONGS, _belongs),
}
"""The list of a field by its name; beside them stand the fields with words of their own, such as
the kinds of session."""


def is_listed(path: str) -> bool:
    """Whether the words of that cell of a session come from a list."""
    name = path.rpartition(".")[2]
    if path.startswith("items.") or path in FREE:
        return False
    return name in SOURCES or bool(field_of(path).choices)


def offered(desk: Workspace, path: str) -> Offer:
    """What the cell of the current session may hold."""
    source = SOURCES.get(path.rpartition(".")[2])
    if source is not None:
        return source(desk, path)
    field = field_of(path)
    return Offer(field.choices, field.label.lower())


def _offer(words: Iterable[str], new: str = "") -> Offer:
    return Offer(tuple(dict.fromkeys(w for word in words if (w := one_line(word)))), new)
