"""Damaged files: each is refused or noticed in a sentence, or is harmless; none is believed."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from trackside.errors import LogbookDamaged, LogbookError
from trackside.logbook import Logbook, SessionLine, patch, put
from trackside.logbook.salvage import salvage
from trackside.tui.listing import UNPROVED, Heading, Listing


class Damaged(NamedTuple):
    """What became of the damaged files, and of the revisions that salvage could have had."""

    files: int
    refused: int
    noticed: int
    harmless: int
    believed: int
    salvaged: int
    written: int


def a_season(path: Path) -> None:
    """A small logbook with something of every table in it."""
    with Logbook.open(path, device="d", author="Mara") as logbook:
        event, car = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"}), put("car", {})
        logbook.write(event, car)
        for number in range(20):
            reading = {"typed": str(number), "unit": "clicks", "si": float(number)}
            session = put(
                "session",
                {"event": event.entity, "car": car.entity, "start": f"10:{number:02d}"}
                | {corner: {"rebound_bleed": reading} for corner in ("FL", "FR", "RL", "RR")},
            )
            note = put("note", {"session": session.entity, "words": f"loose {number} " * 30})
            logbook.write(session, note, reason=f"run {number}")
            logbook.write(patch("session", session.entity, {"driver": f"D{number}"}))


def damage_files(folder: Path, files: int, seed: int = 11) -> Damaged:
    """Damage a sound logbook in one way after another, and look at it as the program does."""
    folder.mkdir(parents=True, exist_ok=True)
    path, new = folder / "team.trackside", folder / "new.trackside"
    a_season(path)
    whole, truth = path.read_bytes(), _seen(path)
    chance, count = random.Random(seed), Counter[str]()
    for _ in range(files):
        path.write_bytes(_hurt(whole, chance))
        count[_judged(path, truth)] += 1
        new.unlink(missing_ok=True)
        try:
            count["salvaged"] += salvage(path, new).added
            with Logbook.open(new) as logbook:
                assert {line.rev for line in logbook.lines()} <= truth[0]
        except LogbookDamaged:
            pass
    return Damaged(
        files,
        *(count[name] for name in ("refused", "noticed", "harmless", "believed", "salvaged")),
        files * len(truth[0]),
    )


class Flipped(NamedTuple):
    """What became of files with one bit that is not as it was written: `refused` with a sentence,
    `told` (every figure right, and the damage named), `right` (nothing changed that is shown);
    `false` figures shown, or gone unseen; backups that were taken for good and are not."""

    flips: int
    refused: int
    told: int
    right: int
    false: int
    bad_backups: int


def flip_bits(folder: Path, flips: int, seed: int = 12) -> Flipped:
    """Change one bit of a sound logbook at a time, and look at all that its pages show."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "team.trackside"
    a_season(path)
    whole = path.read_bytes()
    truth, _, _ = shown(path)
    chance, count = random.Random(seed), Counter[str]()
    for _ in range(flips):
        content = bytearray(whole)
        content[_place(whole, chance)] ^= 1 << chance.randrange(8)
        path.write_bytes(content)
        there, told, is_refused = shown(path)
        if there - truth or (truth - there and not told):
            count["false"] += 1
        else:
            count["refused" if is_refused else "told" if told else "right"] += 1
        count["bad"] += _is_bad_backup(path, folder / "copy.trackside", truth)
    kinds = ("refused", "told", "right", "false", "bad")
    return Flipped(flips, *(count[kind] for kind in kinds))


def _place(whole: bytes, chance: random.Random) -> int:
    """Anywhere in the file, but one in four within the text that describes a table, which SQLite
    reads before anything else."""
    if chance.random() < 0.75:
        return chance.randrange(len(whole))
    start, end = chance.choice([found.span() for found in _DESCRIBED.finditer(whole)])
    return chance.randrange(start, end)


_DESCRIBED = re.compile(rb"CREATE (?:TABLE|VIRTUAL|INDEX|VIEW|TRIGGER)[ -~\n]{20,}")


def _is_bad_backup(path: Path, copy: Path, truth: set[str]) -> bool:
    """Whether a copy was proved and does not show what was written down."""
    copy.unlink(missing_ok=True)
    try:
        with Logbook.open(path, device="d") as logbook:
            logbook.back_up(copy)
    except LogbookError:
        return False
    return shown(copy)[0] != truth


def shown(path: Path) -> tuple[set[str], bool, bool]:
    """Every figure and word that pages show, each with where it is shown; whether damage was
    named, unasked, there or by the look at all of it after a start, and whether something was
    refused."""
    found: set[str] = set()
    refused = False
    try:
        with Logbook.open(path, device="d") as logbook:
            for name, look in _PAGES.items():
                try:
                    found.update(f"{name}: {item!r}" for item in look(logbook))
                except LogbookError:
                    refused = True
            told = bool(logbook.unread.of()) or refused
            try:
                told = told or bool(logbook.look_through())
                logbook.verify()
            except LogbookError:
                told = refused = True
    except LogbookError:
        return found, True, True
    return found, told, refused


def _shown_on(rows: Listing) -> Iterator[SessionLine | str]:
    for row in rows:
        if isinstance(row, SessionLine):
            yield row
        elif row.text != UNPROVED:
            yield row.text


def _one_above_another(rows: list[SessionLine | Heading]) -> Iterator[tuple[str, str]]:
    """Each two sessions under one heading, the upper one first."""
    above: list[str] = []
    for row in rows:
        if isinstance(row, Heading):
            above = []
            continue
        yield from ((other, row.entity) for other in above)
        above.append(row.entity)


_PAGES: dict[str, Callable[[Logbook], Iterable[object]]] = {
    "board": lambda log: _shown_on(Listing(log)),
    "order on the board": lambda log: _one_above_another(list(Listing(log))),
    "names": lambda log: log.session_names(),
    "of the car": lambda log: [
        one for car, _ in log.all("car") for one in log.session_entities(car)
    ],
    "in dispute": lambda log: log.open_conflicts(),
    "columns": lambda log: log.reading_columns(),
    "ran": lambda log: log.newest_ran("driver"),
    "sheets": lambda log: [log.state(line.entity) for line in log.session_lines()],
    "notes": lambda log: [one for line in log.session_lines() for one in log.notes(line.entity)],
    "events": lambda log: log.all("event"),
    "trend": lambda log: log.readings("FL", "rebound_bleed"),
    "typed": lambda log: log.words_of("driver", 30),
    "out": lambda log: list(log.current_rows()),
    "spreadsheet": lambda log: list(log.session_readings()),
    "found": lambda log: [(*one[:3], one.excerpt[:30]) for one in log.search("loose", 100)],
    "history": lambda log: [
        one for line in log.session_lines() for one in log.history(line.entity)
    ],
}


def _hurt(whole: bytes, chance: random.Random) -> bytes:
    content = bytearray(whole)
    kind = chance.choice(("bit", "bits", "cut", "page", "sector"))
    if kind == "cut":
        return bytes(content[: chance.randrange(1, len(content))])
    if kind in ("bit", "bits"):
        for _ in range(1 if kind == "bit" else chance.randint(2, 40)):
            content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        return bytes(content)
    size = 4096 if kind == "page" else 512
    start = chance.randrange(len(content) // size) * size
    content[start : start + size] = chance.choice((bytes(size), chance.randbytes(size)))
    return bytes(content)


def _judged(path: Path, truth: tuple) -> str:
    """How a damaged file is met. Anything but a LogbookError ends the run: it is no sentence."""
    try:
        with Logbook.open(path, device="d") as logbook:
            if logbook.verify().problems:
                return "noticed"
        return "harmless" if _seen(path) == truth else "believed"
    except LogbookError as error:
        return "refused" if str(error).endswith(".") else "believed"


def _seen(path: Path) -> tuple:
    """All that can be read from a logbook."""
    with Logbook.open(path, device="d") as logbook:
        return (
            {line.rev for line in logbook.lines()},
            logbook.current_states(),
            logbook.session_lines(),
            list(logbook.session_readings()),
            logbook.search("loose", 100),
            [logbook.history(line.entity) for line in logbook.session_lines()],
        )
