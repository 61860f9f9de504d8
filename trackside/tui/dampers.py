"""What the damper shed writes: dampers, strip-downs, dyno sheets, and a serial put right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trackside.errors import BadInput, BadSheet
from trackside.logbook import patch, put
from trackside.records import Build, DynoSheet, read_sheet
from trackside.records.fields import CORNERS
from trackside.tui.forms import read_day
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook import Logbook
    from trackside.tui.desk import Desk

LARGEST_FILE = 20_000_000
"""Bytes; a larger file is a raw recording, not a sheet of peak forces."""

_RENEWED = ("date", "work", "gas_pressure", "version")
"""What a strip-down says anew; everything else is taken from the build before."""


def _same(a: str, b: str) -> bool:
    return a.casefold() == b.casefold()


def damper_of(desk: Desk, serial: str) -> str:
    """The entity of the damper of that serial; empty when there is none."""
    found = (e for e, body in desk.logbook.all("damper") if _same(body.get("serial", ""), serial))
    return next(found, "")


def builds_of(desk: Desk, serial: str) -> list[tuple[str, dict[str, Any]]]:
    """The builds of a damper, oldest first."""
    builds = [(e, b) for e, b in desk.logbook.all("build") if _same(b.get("damper", ""), serial)]
    return sorted(builds, key=lambda item: (item[1].get("date", ""), item[1].get("version", "")))


def records_of(desk: Desk, serial: str) -> dict[str, str]:
    """Damper and present build, for the record page."""
    builds = builds_of(desk, serial)
    records = {"damper": damper_of(desk, serial)}
    return records | ({"build": builds[-1][0]} if builds else {})


def new_damper(desk: Desk, typed: str) -> None:
    """A damper with its first build, in one step of undo. BadInput when the serial is taken."""
    serial = one_line(typed)
    if not serial:
        raise BadInput("no serial was typed", "type it as engraved")
    if damper_of(desk, serial):
        raise BadInput(f"{serial} is in the shed already", "add a build to it instead")
    build = {"damper": serial, "version": "A", "date": date.today().isoformat()}
    desk.write(put("damper", {"serial": serial}), put("build", build))


def strip_down(desk: Desk, serial: str, work: str) -> str:
    """A new build, a copy of the present one under the next letter; its version.

    The charge is unknown until it is read again, and the sheets of the build before stay there.
    """
    builds = builds_of(desk, serial)
    present = builds[-1][1] if builds else {"damper": serial}
    taken = {body.get("version", "").casefold() for _, body in builds}
    body = {name: value for name, value in present.items() if name not in _RENEWED}
    version = next_version(present.get("version", ""), taken)
    body |= {"version": version, "date": date.today().isoformat(), "work": work.strip()}
    desk.write(put("build", body))
    return version


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


def sheet_of(build: Build, answers: dict[str, str]) -> DynoSheet:
    """The sheet in the file that was named, for that build. BadSheet says what is wrong with the
    file, BadInput with what was said of it."""
    path = Path(answers["path"].strip().strip("'\""))
    try:
        path = path.expanduser()
        if path.stat().st_size > LARGEST_FILE:
            raise BadSheet(f"{path.name} is too large", "give peak speeds and forces")
        text = path.read_text("utf-8")
    except (OSError, ValueError, RuntimeError) as error:
        raise BadSheet(f"{path} cannot be read ({error})", "check the path") from error
    gas_in = _one_of(answers["gas"], "no", "yes") == "yes"
    about = {
        "damper": build.damper,
        "build": build.version,
        "date": read_day(one_line(answers["date"]) or date.today().isoformat()),
        "counted_from": _one_of(answers["counted"], "", "hard", "soft") or None,
        "gas_in": gas_in,
        "gas_pressure": build.gas_pressure if gas_in else None,
    }
    return DynoSheet.checked(read_sheet(text, path.name).body() | about)


def _one_of(typed: str, default: str, *others: str) -> str:
    """The word that was typed, `default` for none; BadInput for any other word."""
    word = typed.strip().casefold()
    known = [known for known in (default, *others) if known]
    if word and word not in known:
        raise BadInput(f"“{one_line(typed)}” is not known here", f"type {' or '.join(known)}")
    return word or default


def keep_sheet(desk: Desk, sheet: DynoSheet) -> None:
    """Put a dyno sheet into the shed."""
    desk.write(put("sheet", sheet.body()))


def rename(
    desk: Desk, kind: str, entity: str, body: dict[str, Any], values: dict[str, Any]
) -> None:
    """Put a serial or a build's name right, in its sheets too, in one step of undo.

    BadInput when it is taken, or when sessions ran under the old one: what they say stands.
    """
    name = "serial" if kind == "damper" else "version"
    old, new = body.get(name, ""), values[name]
    serial = old if kind == "damper" else body["damper"]
    others = builds_of(desk, serial)
    if kind == "damper":
        taken = damper_of(desk, new) not in ("", entity)
    else:
        taken = any(e != entity and _same(b.get("version", ""), new) for e, b in others)
    if taken:
        raise BadInput(f"{new} is taken", "give another name")
    sessions = _ran(desk.logbook, serial, "" if kind == "damper" else old)
    if sessions and not _same(old, new):
        many = "a session names" if sessions == 1 else f"{sessions} sessions name"
        raise BadInput(f"{many} {old}", "enter the other one as new, and leave this as it ran")
    writes = [patch(kind, entity, values)]
    sheets = [(e, s) for e, s in desk.logbook.all("sheet") if _same(s.get("damper", ""), serial)]
    if kind == "damper":
        writes += [patch("build", e, {"damper": new}) for e, _ in others]
        writes += [patch("sheet", e, {"damper": new}) for e, _ in sheets]
    else:
        of_build = [e for e, s in sheets if _same(s.get("build", ""), old)]
        writes += [patch("sheet", e, {"build": new}) for e in of_build]
    desk.write(*writes)


def _ran(logbook: Logbook, serial: str, version: str) -> int:
    """How many sessions name that damper, or that build of it."""
    found: set[str] = set()
    for corner in CORNERS:
        ran = {row[0] for row in logbook.readings(corner, "damper") if _same(row[1], serial)}
        if version:
            builds = logbook.readings(corner, "build")
            ran &= {row[0] for row in builds if _same(row[1], version)}
        found |= ran
    return len(found)


@dataclass(frozen=True)
class LastRan:
    """Where a damper last ran: the session (entity, date, in words) and the corner."""

    session: str
    corner: str
    date: str
    words: str


def last_ran(logbook: Logbook) -> dict[str, LastRan]:
    """By serial (case folded), from the newest session that names it."""
    named: dict[str, list[tuple[str, str]]] = {}
    for corner in CORNERS:
        for session, serial, *_ in logbook.readings(corner, "damper"):
            named.setdefault(session, []).append((serial.casefold(), corner))
    found: dict[str, LastRan] = {}
    for line in logbook.session_lines():
        day = line.start[:10]
        words = f"{day} {line.venue} {line.kind} {line.number}".strip()
        for serial, corner in named.get(line.entity, ()):
            found.setdefault(serial, LastRan(line.entity, corner, day, words))
    return found
