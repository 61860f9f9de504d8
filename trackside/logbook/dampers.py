"""Dampers in the logbook: found by serial, entered, stripped down, and a name put right.

Nothing is written here: each function gives the writes, to be kept in one step of undo.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from trackside.errors import BadInput
from trackside.logbook.revisions import Write, patch, put
from trackside.logbook.rows import text
from trackside.records.fields import CORNERS
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook.store import Logbook

KINDS = ("car", "damper", "build", "sheet")
"""The kinds of record that a damper shed is made of."""
JOB = "strip_down"
_SEALS = "done.goes_in"
_RENEWED = ("date", "entered", "work", "gas_pressure", "version", "sheet")
"""What a strip-down says anew; everything else is taken from the build before."""


def is_in_shed(write: Write) -> bool:
    """Whether the shed is another one after that: also where a strip-down put new seals in."""
    return write.kind in KINDS or (write.kind == JOB and _SEALS in write.body)


def _same(a: Any, b: Any) -> bool:
    """Whether two names are one, however cased; what is no text names nothing."""
    return isinstance(a, str) and isinstance(b, str) and a.casefold() == b.casefold()


def damper_of(logbook: Logbook, serial: str) -> str:
    """The entity of the damper of that serial; empty when there is none."""
    found = (e for e, body in logbook.once("damper") if _same(body.get("serial", ""), serial))
    return next(found, "")


def builds_of(logbook: Logbook, serial: str) -> list[tuple[str, dict[str, Any]]]:
    """The builds of a damper, oldest first."""
    builds = [(e, b) for e, b in logbook.once("build") if _same(b.get("damper", ""), serial)]
    return sorted(
        builds, key=lambda item: (text(item[1].get("date")), text(item[1].get("version")))
    )


def records_of(logbook: Logbook, serial: str) -> dict[str, str]:
    """Kind to entity: the damper, and its present build where it has one."""
    builds = builds_of(logbook, serial)
    records = {"damper": damper_of(logbook, serial)}
    return records | ({"build": builds[-1][0]} if builds else {})


def new_damper(logbook: Logbook, typed: str) -> tuple[Write, ...]:
    """A damper with its first build. BadInput when the serial is taken, or none was typed."""
    serial = one_line(typed)
    if not serial:
        raise BadInput("no serial was typed", "type it as engraved")
    if damper_of(logbook, serial):
        raise BadInput(f"{serial} is in the shed already", "add a build to it instead")
    build = {"damper": serial, "version": "A"}
    return put("damper", {"serial": serial}), put("build", build)


def strip_down(logbook: Logbook, serial: str, work: str) -> Write:
    """A new build, a copy of the present one under the next letter.

    The charge is unknown until it is read again, and the sheets of the build before stay there.
    """
    builds = builds_of(logbook, serial)
    present = builds[-1][1] if builds else {"damper": serial}
    taken = {text(body.get("version")).casefold() for _, body in builds}
    body = {name: value for name, value in present.items() if name not in _RENEWED}
    version = next_version(text(present.get("version")), taken)
    today = date.today().isoformat()
    body |= {"version": version, "date": today, "entered": today, "work": work.strip()}
    return put("build", body)


def next_version(present: str, taken: set[str]) -> str:
    """The letter after `present`: A, B … Z, AA; any other name gets a number behind it."""
    number = _letters(present)
    while number is not None:
        number += 1
        version = _spelled(number)
        if version.casefold() not in taken:
            return version
    count = 2
    while f"{present} {count}".casefold() in taken:
        count += 1
    return f"{present} {count}"


def _letters(version: str) -> int | None:
    if not version:
        return 0
    if not (version.isascii() and version.isalpha() and len(version) <= 2):
        return None
    number = 0
    for letter in version.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def _spelled(number: int) -> str:
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def rename(
    logbook: Logbook, kind: str, entity: str, body: dict[str, Any], values: dict[str, Any]
) -> tuple[Write, ...]:
    """A serial or a build's name put right in its sheets too: `values` over the `body` of a damper
    or a build. BadInput when the name is taken, or when sessions ran under the old one: what they
    say stands."""
    name = "serial" if kind == "damper" else "version"
    old, new = text(body.get(name)), values[name]
    serial = old if kind == "damper" else text(body.get("damper"))
    others = builds_of(logbook, serial)
    if kind == "damper":
        taken = damper_of(logbook, new) not in ("", entity)
    else:
        taken = any(e != entity and _same(b.get("version", ""), new) for e, b in others)
    if taken:
        raise BadInput(f"{new} is taken", "give another name")
    sessions = _naming(logbook, serial, "" if kind == "damper" else old)
    if sessions and not _same(old, new):
        many = "a session names" if sessions == 1 else f"{sessions} sessions name"
        raise BadInput(f"{many} {old}", "enter the other one as new, and leave this as it ran")
    writes = [patch(kind, entity, values)]
    sheets = [(e, s) for e, s in logbook.all("sheet") if _same(s.get("damper", ""), serial)]
    if kind == "damper":
        writes += [patch("build", e, {"damper": new}) for e, _ in others]
        writes += [patch("sheet", e, {"damper": new}) for e, _ in sheets]
        jobs = [(e, j) for e, j in logbook.all("strip_down") if _same(j.get("damper", ""), serial)]
        writes += [patch("strip_down", e, {"damper": new}) for e, _ in jobs]
    else:
        of_build = [e for e, s in sheets if _same(s.get("build", ""), old)]
        writes += [patch("sheet", e, {"build": new}) for e in of_build]
        jobs = [(e, j) for e, j in logbook.all("strip_down") if _same(j.get("damper", ""), serial)]
        writes += [
            patch("strip_down", e, {"build": new}) for e, j in jobs if _same(j.get("build"), old)
        ]
    return tuple(writes)


def _naming(logbook: Logbook, serial: str, version: str) -> int:
    """How many sessions name that damper, or that build of it."""
    found: set[str] = set()
    for corner in CORNERS:
        named = {row[0] for row in logbook.readings(corner, "damper") if _same(row[1], serial)}
        if version:
            builds = logbook.readings(corner, "build")
            named &= {row[0] for row in builds if _same(row[1], version)}
        found |= named
    return len(found)


class LastRan(NamedTuple):
    """Where a damper last ran: the session (entity, date, in words) and the corner."""

    session: str
    corner: str
    date: str
    words: str


def last_ran(logbook: Logbook) -> dict[str, LastRan]:
    """By serial (case folded), from the newest session that ran with it: one that is only planned
    says nothing of where a damper was."""
    found: dict[str, LastRan] = {}
    for serial, session, corner in logbook.newest_ran("damper"):
        line = logbook.session_line(session)
        day = line.start[:10]
        words = f"{day} {line.venue} {line.title}".strip()
        found[serial] = LastRan(session, corner, day, words)
    return found
