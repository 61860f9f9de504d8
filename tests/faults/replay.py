"""A program's own writes, recorded under strace, and the disk as a power cut at each of them may
leave it.

What a disk may hold then: all that was synced, and of the rest any part, torn at sectors of 512
bytes; of names given and taken since the folder was synced, any. A rename is one step, as on a file
system with a journal; on a plain stick it is two, of which either may be missing. That is weaker
than what common file systems give (a judgement, no source), so what stands here stands there.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

SECTOR: Final = 512
_TRACED: Final = (
    "openat,write,pwrite64,lseek,ftruncate,fsync,fdatasync,close,"
    "unlink,unlinkat,rename,renameat,renameat2,link,linkat"
)
_CALL: Final = re.compile(r"^\d+ +(\w+)\((.*)\) += (-?\d+)")
_BYTES: Final = re.compile(r"\\x([0-9a-f]{2})")
SHARES: Final = (0.0, 1.0, 0.5, 0.9)
"""Of what was written since it was synced, this much is on the disk, in turn."""


@dataclass
class File:
    """One file: what the disk surely holds, and what was written or cut since."""

    synced: bytes = b""
    waiting: list[tuple[int, bytes] | int] = field(default_factory=list)

    def content(self, chance: random.Random, share: float) -> bytes:
        """The file with that share of what was written since the last sync; none of it at 0."""
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
class Disk:
    """One folder, as the program sees it and as the disk surely has it."""

    is_stick: bool
    names: dict[str, File]
    surely: dict[str, File] = field(default_factory=dict)
    moves: list[dict[str, File | None]] = field(default_factory=list)

    def move(self, names: dict[str, File | None]) -> None:
        """Names given (to a file) and taken (None) in one step; in several on a stick."""
        self.moves += [{name: file} for name, file in names.items()] if self.is_stick else [names]
        _apply(names, self.names)

    def state(self, chance: random.Random, share: float) -> dict[str, bytes]:
        """The files that a power cut may leave."""
        names = dict(self.surely)
        first = chance.choice((len(self.moves), chance.randint(0, len(self.moves))))
        for number, move in enumerate(self.moves):
            if share == 1 or (number < first and chance.random() < share):
                _apply(move, names)
        return {name: file.content(chance, share) for name, file in names.items()}


def _apply(move: dict[str, File | None], names: dict[str, File]) -> None:
    for name, file in move.items():
        if file is None:
            names.pop(name, None)
        else:
            names[name] = file


def can_trace() -> str:
    """Why power loss cannot be replayed here; "" when it can."""
    if not shutil.which("strace"):
        return "strace is not installed"
    tried = subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True, check=False)
    return "" if tried.returncode == 0 else "this system does not let strace trace"


def replayed(
    folder: Path, script: str, *arguments: str, is_stick: bool = False
) -> Iterator[tuple[Disk, list[str]]]:
    """Run `script`; then the disk under `folder` after each call that changed it, and the words
    that the script had printed by then."""
    disk = Disk(is_stick, {file.name: File(file.read_bytes()) for file in _files(folder)})
    disk.surely = dict(disk.names)
    trace = folder.with_name(f"{folder.name}.trace")
    subprocess.run(
        [
            *("strace", "-f", "-xx", "-s", "1000000", "-e", f"trace={_TRACED}", "-o", str(trace)),
            *(sys.executable, "-c", script, *arguments),
        ],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    yield from _Replay(disk, folder).states(trace)
    there = {file.name: file.read_bytes() for file in _files(folder)}
    assert disk.state(random.Random(), 1) == there, "the trace was not understood"


def _files(folder: Path) -> list[Path]:
    return [file for file in folder.iterdir() if file.is_file()]


@dataclass
class _Open:
    """A file that is open, and where the next write goes; None for the folder itself."""

    file: File | None
    place: int = 0


class _Replay:
    """Goes through a trace, call by call."""

    def __init__(self, disk: Disk, folder: Path) -> None:
        self.disk = disk
        self.folder = os.fsencode(folder)
        self.open: dict[int, _Open] = {}
        self.said: list[str] = []

    def states(self, trace: Path) -> Iterator[tuple[Disk, list[str]]]:
        for name, given, result in _calls(trace):
            if result >= 0 and self._changed(name, given, result):
                yield self.disk, self.said

    def _changed(self, name: str, given: list[bytes], result: int) -> bool:
        """Take in one call; whether the disk, or what was said, is another now."""
        if name == "openat":
            return self._opened(given[1], given[2], result)
        if name in ("unlink", "unlinkat"):
            gone = self._name(given[name == "unlinkat"])
            return bool(gone) and self._moved({gone: None})
        if name.startswith(("rename", "link")):
            return self._renamed(name, given)
        return self._on_open(name, int(given[0]), given, result)

    def _name(self, path: bytes) -> str:
        """The name of a file in the folder; "" of any other."""
        head, name = os.path.split(path)
        return os.fsdecode(name) if head == self.folder else ""

    def _moved(self, names: dict[str, File | None]) -> bool:
        self.disk.move(names)
        return True

    def _renamed(self, name: str, given: list[bytes]) -> bool:
        old, new = (given[1], given[3]) if "at" in name else (given[0], given[1])
        source, target = self._name(old), self._name(new)
        if not source and not target:
            return False
        assert source, "a file from elsewhere is not understood"
        assert target, "a file that leaves the folder is not understood"
        moves: dict[str, File | None] = {target: self.disk.names[source]}
        return self._moved(moves | ({} if name.startswith("link") else {source: None}))

    def _opened(self, path: bytes, flags: bytes, number: int) -> bool:
        self.open.pop(number, None)
        if path == self.folder:
            self.open[number] = _Open(None)
        name = self._name(path)
        if not name or (name not in self.disk.names and b"O_CREAT" not in flags):
            return False
        is_new = name not in self.disk.names
        if is_new:
            self.disk.move({name: File()})
        file = self.disk.names[name]
        self.open[number] = _Open(file)
        if b"O_TRUNC" in flags:
            file.waiting.append(0)
        return is_new or b"O_TRUNC" in flags

    def _on_open(self, name: str, number: int, given: list[bytes], result: int) -> bool:
        if name == "write" and number == 1:
            self.said += given[1].decode().split()
            return True
        if name == "close":
            self.open.pop(number, None)
        at = self.open.get(number)
        if at is None or name == "close":
            return False
        if name == "lseek":
            at.place = result
            return False
        if at.file is None:
            assert name in ("fsync", "fdatasync"), f"{name} of a folder is not understood"
            self.disk.surely, self.disk.moves = dict(self.disk.names), []
        elif name == "write":
            at.file.waiting.append((at.place, given[1][:result]))
            at.place += result
        elif name == "pwrite64":
            at.file.waiting.append((int(given[3]), given[1][:result]))
        elif name == "ftruncate":
            at.file.waiting.append(int(given[1]))
        else:
            at.file.synced, at.file.waiting = at.file.content(random.Random(), 1), []
        return True


def _calls(trace: Path) -> Iterator[tuple[str, list[bytes], int]]:
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
            yield found[1], [_decoded(part) for part in found[2].split(", ")], int(found[3])


def _decoded(text: str) -> bytes:
    text = text.strip()
    if text.startswith('"'):
        return bytes.fromhex("".join(_BYTES.findall(text)))
    return text.encode()
