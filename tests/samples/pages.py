"""How the samples are written down: run sheets as short texts, entries with fixed identities."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Any

from tests.samples.drawings import FILES
from trackside.records import Change, Kept, Note, Record, Session, read_value, value_body
from trackside.records.fields import CORNERS, SESSION_FIELDS, field_of
from trackside.units import show_lap

ENGINEER, TECHNICIAN = "Sanna Brede", "Olle Marsten"
SUMMER_TIME = timedelta(hours=1)
"""How far the paddock's clock is ahead of UTC."""
Sheet = dict[str, str]
"""Field → text of one cell for all corners, or of four: `FL | FR | RL | RR`; `-` is unknown."""


@dataclass(frozen=True)
class Laps:
    """A run's laps: how many, the best (s), how far the others scatter, what each lap fades."""

    count: int
    best: float
    scatter: float = 0.35
    fade: float = 0.02

    def times(self, seed: str) -> tuple[float, ...]:
        """The lap times in s, the first on cool tyres, the best among the early ones."""
        dice = Random(seed)
        times = [
            self.best + 0.08 + abs(dice.gauss(0, self.scatter)) + self.fade * n
            for n in range(self.count)
        ]
        times[0] += 2.4
        times[dice.randrange(1, max(2, self.count // 2))] = self.best
        return tuple(round(time, 3) for time in times)


@dataclass(frozen=True)
class Said:
    """What the driver said of one phase."""

    words: str
    phase: str = ""
    turn: str | None = None
    balance: int | None = None
    rating: int | None = None
    files: tuple[str, ...] | None = None
    """Names of `drawings.FILES`."""


@dataclass(frozen=True)
class Why:
    """Why something was changed for a session, and what came of it."""

    what: str
    reason: str
    verdict: str = ""
    verdict_words: str = ""


@dataclass(frozen=True)
class Outing:
    """One run as the crew kept it. `after` is the key of the one it started from."""

    key: str
    event: str
    car: str
    kind: str
    number: str
    start: str
    driver: str
    setup: Sheet
    read: Sheet = field(default_factory=dict)
    head: Sheet = field(default_factory=dict)
    items: Sheet = field(default_factory=dict)
    laps: Laps | None = None
    status: str = "done"
    after: str = ""
    run: str = ""
    """Which run of its session; empty where the session was one run."""
    words: str = ""
    why: tuple[Why, ...] = ()
    said: tuple[Said, ...] = ()
    keep: tuple[str, str, str] | None = None
    """Title, why and result of the set-up put on the shelf."""
    decimal: str = "."
    """How this car's crew writes the best lap."""


@dataclass(frozen=True)
class Entry:
    """One entity of the exchange document."""

    kind: str
    key: str
    record: Record
    recorded_at: datetime
    author: str = ENGINEER
    reason: str = ""
    made: datetime | None = None
    """When the entity was made, if its record was completed later."""

    @property
    def entity(self) -> str:
        """A UUID of version 7 (RFC 9562, section 5.7), its random bits drawn from the key."""
        return identity(self.kind, self.key, self.made or self.recorded_at)

    def document(self) -> dict[str, Any]:
        """The entity as the exchange file holds it."""
        return {
            "entity": self.entity,
            "kind": self.kind,
            "body": self.record.body(),
            "author": self.author,
            "recorded_at": self.recorded_at.isoformat(timespec="milliseconds") + "Z",
            "reason": self.reason,
        }


def identity(kind: str, key: str, when: datetime) -> str:
    """Milliseconds since 1970, then version, variant and 74 bits of a hash."""
    milliseconds = (when - datetime(1970, 1, 1)) // timedelta(milliseconds=1)
    bits = int.from_bytes(hashlib.sha256(f"{kind} {key}".encode()).digest()[:10], "big")
    value = (milliseconds << 80) | bits
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return str(uuid.UUID(int=value))


def opened_at(outing: Outing) -> datetime:
    """When its run sheet was opened (UTC): twenty minutes before the start."""
    return datetime.fromisoformat(outing.start) - SUMMER_TIME - timedelta(minutes=20)


def back_at(outing: Outing) -> datetime:
    """When it was over and written down (UTC)."""
    return datetime.fromisoformat(outing.start) - SUMMER_TIME + timedelta(minutes=45)


def session_of(outing: Outing, entities: dict[str, str]) -> Session:
    """The session's record; `entities` gives events, cars and sessions by key."""
    body: dict[str, Any] = {
        "event": entities[outing.event],
        "car": entities[outing.car],
        "based_on": entities[outing.after] if outing.after else "",
        "items": outing.items,
        "words": outing.words,
        **{corner: {} for corner in CORNERS},
    }
    head = outing.head | {
        name: getattr(outing, name) for name in ("kind", "number", "start", "driver", "status")
    }
    if outing.laps:
        times = outing.laps.times(outing.key)
        body["lap_times"] = times
        head["best_lap"] = show_lap(min(times)).replace(".", outing.decimal)
        head["laps"] = str(len(times))
    if outing.run:
        head["run"] = outing.run
    for name, text in head.items():
        body[name] = value_body(read_value(SESSION_FIELDS[name], text))
    for name, row in (outing.setup | outing.read).items():
        for corner, text in zip(CORNERS, _cells(row), strict=True):
            _put(body[corner], corner, name, text)
    return Session.checked(body)


def _cells(row: str) -> list[str]:
    cells = [cell.strip() for cell in row.split("|")]
    return cells * 4 if len(cells) == 1 else cells


def _put(sheet: dict[str, Any], corner: str, name: str, text: str) -> None:
    if text == "-":
        return
    if name == "tread":
        for part, value in zip(("inner", "middle", "outer"), text.split(), strict=True):
            _put(sheet, corner, f"tread_{part}", value)
    else:
        sheet[name] = value_body(read_value(field_of(f"{corner}.{name}"), text))


def _named(files: Sequence[str] | None) -> list[dict[str, Any]] | None:
    if files is None:
        return None
    return [
        {
            "name": name,
            "sha256": hashlib.sha256(FILES[name].encode()).hexdigest(),
            "size": len(FILES[name].encode()),
        }
        for name in files
    ]


def entries_of(outing: Outing, entities: dict[str, str]) -> list[Entry]:
    """The session, its reasons, the driver's notes, and the shelf entry if it was kept."""
    opened, back = opened_at(outing), back_at(outing)
    me = identity("session", outing.key, opened)
    entries = [Entry("session", outing.key, session_of(outing, entities), back, made=opened)]
    for n, why in enumerate(outing.why):
        change = Change.checked({"session": me, **vars(why)})
        when = opened + timedelta(minutes=2 + n)
        entries.append(Entry("change", f"{outing.key} {n}", change, when))
    for n, said in enumerate(outing.said):
        note = Note.checked(
            {"session": me, "driver": outing.driver, **vars(said), "files": _named(said.files)}
        )
        when = back + timedelta(minutes=1 + n)
        entries.append(Entry("note", f"{outing.key} {n}", note, when))
    if outing.keep:
        title, reason, result = outing.keep
        kept = Kept(session=me, title=title, why=reason, result=result)
        entries.append(Entry("kept", outing.key, kept, back + timedelta(hours=1)))
    return entries
