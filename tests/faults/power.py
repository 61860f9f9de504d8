"""Power loss, replayed: the program's own writes are recorded under strace, and the disk is rebuilt
as it may look after a power cut at each of them.

What a disk may hold then: all that was synced, and of the rest any part, torn at sectors of 512
bytes; of names made and removed since the folder was synced, any first few. That is weaker than
what common file systems give (a judgement, no source), so what stands here stands there.
"""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from trackside.logbook.canonical import digest

SECTOR = 512
WRITER = """
import sys
from trackside.logbook import Logbook, patch, put
from trackside.logbook.uuid7 import uuid7
with Logbook.open(sys.argv[1], device="writer") as logbook:
    session = put("session", {"driver": "Ines"})
    logbook.write(session)
    for number in range(int(sys.argv[2])):
        saved = logbook.write(
            patch("session", session.entity, {"FL.camber": {"typed": str(number), "unit": "deg"}}),
            put("note", {"session": session.entity, "words": "word " * (number % 7 * 150)}),
        )
        print(*(revision.rev for revision in saved), flush=True)
"""
_TRACED = "openat,write,pwrite64,ftruncate,fsync,fdatasync,unlink,unlinkat,close"
_CALL = re.compile(r"^\d+ +(\w+)\((.*)\) += (-?\d+)")
_BYTES = re.compile(r"\\x([0-9a-f]{2})")


class Losses(NamedTuple):
    """States of the disk that were opened, saves acknowledged in all, and what was lost of them."""

    states: int
    acknowledged: int
    lost: int


@dataclass
class _File:
    """One file: what the disk surely holds, and what was written since."""

    synced: bytes = b""
    waiting: list[tuple[int, bytes] | int] = field(default_factory=list)

    def content(self, chance: random.Random, share: float) -> bytes:
        """The file with that share of what was written since the last sync; None of it at 0."""
        content = bytearray(self.synced)
        for step in self.waiting:
            if chance.random() >= share:
                continue
            if isinstance(step, int):
                del content[step:]
                content.extend(bytes(step - len(content)))
                continue
            start, data = step
            if share < 1 and chance.random() < 0.3:
                data = data[: chance.randrange(len(data) // SECTOR + 1) * SECTOR]
            content.extend(bytes(max(0, start + len(data) - len(content))))
            content[start : start + len(data)] = data
        return bytes(content)


@dataclass
class _Disk:
    """The folder of the logbook, as the program sees it and as the disk surely has it."""

    names: dict[str, _File] = field(default_factory=dict)
    surely: dict[str, _File] = field(default_factory=dict)
    moves: list[tuple[str, _File | None]] = field(default_factory=list)

    def state(self, chance: random.Random, share: float) -> dict[str, bytes]:
        """The files that a power cut may leave."""
        names = dict(self.surely)
        count = len(self.moves) if share == 1 else chance.randint(0, len(self.moves))
        for name, file in self.moves[: 0 if share == 0 else count]:
            if file is None:
                names.pop(name, None)
            else:
                names[name] = file
        return {name: file.content(chance, share) for name, file in names.items()}


def can_trace() -> str:
    """Why power loss cannot be replayed here; "" when it can."""
    if not shutil.which("strace"):
        return "strace is not installed"
    tried = subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True, check=False)
    return "" if tried.returncode == 0 else "this system does not let strace trace"


def lose_power(folder: Path, saves: int, states_a_write: int, seed: int = 1) -> Losses:
    """Record one run of `saves`, then open `states_a_write` disks for each of its system calls."""
    log, trace = folder / "log" / "team.trackside", folder / "trace"
    log.parent.mkdir(parents=True)
    subprocess.run(
        [
            *("strace", "-f", "-xx", "-s", "1000000", "-e", f"trace={_TRACED}", "-o", str(trace)),
            *(sys.executable, "-c", WRITER, str(log), str(saves)),
        ],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    chance = random.Random(seed)
    acknowledged: set[str] = set()
    states = lost = 0
    place = folder / "disk"
    for disk in _replayed(trace, log.parent, acknowledged):
        for number in range(states_a_write):
            share = (0.0, 1.0, 0.5, 0.9)[number % 4]
            lost += len(acknowledged - _survivors(place, disk.state(chance, share)))
            states += 1
    with closing(sqlite3.connect(log)) as sql:
        assert acknowledged <= {rev for (rev,) in sql.execute("SELECT rev FROM revision")}
    assert len(acknowledged) == 2 * saves, "the trace was not understood"
    return Losses(states, len(acknowledged), lost)


def _survivors(place: Path, files: dict[str, bytes]) -> set[str]:
    """Open what the power cut left, as the program would, and prove it."""
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    for name, content in files.items():
        (place / name).write_bytes(content)
    with closing(sqlite3.connect(place / "team.trackside")) as sql:
        [(found,)] = sql.execute("PRAGMA integrity_check(1)")
        assert found == "ok", found
        if not sql.execute("SELECT 1 FROM sqlite_schema WHERE name = 'revision'").fetchone():
            return set()
        rows = sql.execute("SELECT rev, envelope FROM revision").fetchall()
        assert all(digest(envelope) == rev for rev, envelope in rows)
        assert len(rows) % 2 == 1 or not rows, "half a save"
        return {rev for rev, _ in rows}


def _replayed(trace: Path, folder: Path, acknowledged: set[str]) -> Iterator[_Disk]:
    """The disk after each call that changed it, and what had been acknowledged by then."""
    disk = _Disk()
    open_: dict[int, _File | str] = {}
    for name, text, result in _calls(trace):
        given = [_decoded(part) for part in _parts(text)]
        if result < 0:
            continue
        if name == "openat":
            path = Path(given[1].decode("utf-8", "replace"))
            open_[result] = _opened(disk, path, folder, b"O_CREAT" in given[2])
            continue
        if name in ("unlink", "unlinkat"):
            path = Path(given[name == "unlinkat"].decode())
            if path.parent != folder:
                continue
            del disk.names[path.name]
            disk.moves.append((path.name, None))
            yield disk
            continue
        number = int(given[0])
        if name == "write" and number == 1:
            acknowledged.update(given[1].decode().split())
            yield disk
            continue
        file = open_.pop(number, "") if name == "close" else open_.get(number, "")
        if name == "close" or file == "":
            continue
        if isinstance(file, str):
            disk.surely, disk.moves = dict(disk.names), []
        elif name == "pwrite64":
            file.waiting.append((int(given[3]), given[1]))
        elif name == "ftruncate":
            file.waiting.append(int(given[1]))
        elif name in ("fsync", "fdatasync"):
            file.synced, file.waiting = file.content(random.Random(), 1), []
        else:
            raise AssertionError(f"{name} into the logbook's folder is not understood")
        yield disk


def _opened(disk: _Disk, path: Path, folder: Path, creates: bool) -> _File | str:
    """The file that was opened; "folder" for the folder itself, "" for anything elsewhere."""
    if path == folder:
        return "folder"
    if path.parent != folder:
        return ""
    if path.name not in disk.names:
        assert creates
        disk.names[path.name] = _File()
        disk.moves.append((path.name, disk.names[path.name]))
    return disk.names[path.name]


def _calls(trace: Path) -> Iterator[tuple[str, str, int]]:
    """Name, arguments and result of each call, in the order in which they ended."""
    begun: dict[str, str] = {}
    for line in trace.read_text().splitlines():
        pid = line.split(" ", 1)[0]
        if line.endswith("<unfinished ...>"):
            begun[pid] = line.removesuffix("<unfinished ...>").rstrip()
            continue
        if " resumed>" in line:
            line = begun.pop(pid, "") + line.split(" resumed>", 1)[1]
        found = _CALL.match(line)
        if found:
            yield found[1], found[2], int(found[3])


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(", ")]


def _decoded(text: str) -> bytes:
    if text.startswith('"'):
        return bytes.fromhex("".join(_BYTES.findall(text)))
    return text.encode()
