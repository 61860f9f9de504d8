"""Records that are well formed and false: every kind, with a value that has the wrong type, brought
in as another laptop's bundle brings it, then met by every command that reads."""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from tests.unreadable import WIDE, WRONG, places, spoiled
from trackside.logbook import Logbook
from trackside.logbook.bundle import write_bundle
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.merge import Line
from trackside.logbook.samples import load_samples
from trackside.logbook.sharing import receive

COMMANDS: tuple[tuple[str, ...], ...] = (
    ("list",), ("show", "last"), ("find", "a"), ("conflicts",), ("history", "last"), ("changes",),
    ("trend", "FL"), ("axles",), ("road", "--class", "B", "--speed", "120"), ("curve", "FL"),
    ("clicks", "FL"), ("sheet",), ("debrief",),
    ("export",), ("export", "--csv"), ("export", "--wide"), ("verify",), ("dyno", "list"),
    ("hub", "status"),
)  # fmt: skip
"""What is asked of the logbook then; without the last session, of the newest that is there."""


class Mutants(NamedTuple):
    """How many records were brought in, taken, and left out with a sentence; commands run on them
    and those that ended in anything but a sentence."""

    records: int
    taken: int
    left: int
    commands: int
    speechless: int


def mutate(folder: Path, records: int, run: Callable[[list[str]], int], seed: int = 5) -> Mutants:
    """Bring in so many false records, some at a time, and run every command after each time."""
    folder.mkdir(parents=True, exist_ok=True)
    whole = folder / "whole.trackside"
    with Logbook.open(whole, device="here", author="Mara") as logbook:
        load_samples(logbook)
        bodies = {kind: logbook.all(kind)[-1] for kind in WIDE if logbook.all(kind)}
        heads = {kind: sorted(_heads(logbook, entity)) for kind, (entity, _) in bodies.items()}
    chance, left, taken, commands, speechless = random.Random(seed), 0, 0, 0, 0
    for start in range(0, records, AT_ONCE):
        log = folder / "team.trackside"
        log.write_bytes(whole.read_bytes())
        count = min(AT_ONCE, records - start)
        lines = [_mutant(chance, bodies, heads, start + n + 1) for n in range(count)]
        write_bundle(folder / "theirs.bundle", lines)
        with Logbook.open(log, device="here") as logbook:
            came = receive(logbook, folder / "theirs.bundle")
            assert came.added + len(came.problems) >= count or came.same
            taken, left = taken + came.added, left + len(came.problems)
        for words in COMMANDS:
            commands += 1
            speechless += run(["--log", str(log), *words]) not in (0, 1, 2, 3)
    return Mutants(records, taken, left, commands, speechless)


AT_ONCE = 25


def bring_in(log: Path, records: int, seed: int) -> None:
    """Bring so many false records into that logbook, made from what is in it."""
    with Logbook.open(log, device="here") as logbook:
        bodies = {kind: logbook.all(kind)[-1] for kind in WIDE if logbook.all(kind)}
        heads = {kind: sorted(_heads(logbook, entity)) for kind, (entity, _) in bodies.items()}
        chance = random.Random(seed)
        lines = [_mutant(chance, bodies, heads, n + 1) for n in range(records)]
        file = log.with_name("false.bundle")
        write_bundle(file, lines)
        receive(logbook, file)


def _heads(logbook: Logbook, entity: str) -> set[str]:
    return {entry.rev for entry in logbook.history(entity)[:1]}


def _mutant(
    chance: random.Random, bodies: dict[str, tuple[str, dict]], heads: dict, number: int
) -> Line:
    """A revision of another laptop: a new record, a change of one, or one that parts from it."""
    kind = chance.choice(sorted(bodies))
    entity, body = bodies[kind]
    place, value = chance.choice(places(kind)), chance.choice(WRONG)
    op = chance.choice(("put", "set", "put anew"))
    envelope: dict[str, Any] = {
        "format": 1, "entity": entity, "kind": kind, "op": op.split()[0], "parents": heads[kind],
        "device": "theirs", "seq": number, "save": number, "author": "Olle", "reason": "",
        "recorded_at": "2026-05-09T08:00:00.000Z", "body": copy.deepcopy(body),
    }  # fmt: skip
    if op == "set":
        envelope["body"] = {place: value}
    else:
        envelope["body"] = spoiled(envelope["body"], place, value)
    if op == "put anew":
        envelope |= {"entity": f"{number:08x}-0000-7000-8000-000000000000", "parents": []}
    if chance.random() < 0.3:
        envelope["parents"] = []
    if chance.random() < 0.15:
        odd = chance.choice(
            ("entity", "kind", "recorded_at", "parents", "author", "body", "seq", "before")
        )
        envelope[odd] = chance.choice((*WRONG, "now", "2026-13-99", ["x"], "\u200b", 2**53))
    spelled = canonical(envelope)
    return Line(digest(spelled), spelled)
