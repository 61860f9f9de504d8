"""Files that notes name, a set-up sheet's photo or a tyre's: kept beside the logbook, each under
the SHA-256 of what it holds.

The logbook has the name, the hash and the size, never the file: so a file that is missing or was
changed is known, and none is ever written over another.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal, NamedTuple, Protocol

from trackside.errors import BadInput, BadRecord, HubAway, HubError, HubFull, LogbookFull
from trackside.logbook.atomic_file import whole
from trackside.logbook.rows import text
from trackside.records.files import read_bytes
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook.store import Logbook
    from trackside.records.note import NamedFile

MOST_BYTES: Final = 20 * 1024 * 1024
"""Of one file: a photo, not a film. Our own choice."""
LONGEST_NAME: Final = 255
"""Bytes of a file's name that common file systems take (from memory)."""
State = Literal["there", "missing", "changed"]


class OfNote(NamedTuple):
    """A file that a note names, and where the note is: its entity and its session's."""

    note: str
    session: str
    file: NamedFile


class Carried(NamedTuple):
    """How many files were copied, how many were there already, and what could not be: a sentence
    each; `refused` says why the place takes no more, empty where it does."""

    copied: int
    same: int
    problems: tuple[str, ...]
    refused: str = ""


class Place(Protocol):
    """Where files are kept under their hashes; `str()` is what a sentence calls it."""

    def state(self, file: NamedFile) -> State:
        """Whether it is there as it was named."""

    def read(self, file: NamedFile) -> bytes:
        """What it holds; the reader proves it by the hash."""

    def write(self, file: NamedFile, content: bytes) -> None:
        """Keep it. LogbookFull or HubFull where the place takes no more, HubError where it does not
        take this one."""


class Folder(NamedTuple):
    """A folder as a place of files."""

    path: Path

    def __str__(self) -> str:
        return str(self.path)

    def state(self, file: NamedFile) -> State:
        """As `state` says."""
        return state(self.path, file)

    def read(self, file: NamedFile) -> bytes:
        """What it holds; nothing where it went meanwhile."""
        try:
            return (self.path / file.sha256).read_bytes()
        except OSError:
            return b""

    def write(self, file: NamedFile, content: bytes) -> None:
        """Keep it whole or not at all."""
        with whole(self.path / file.sha256) as part:
            part.write_bytes(content)


def folder_of(log: Path | str) -> Path:
    """The folder of that logbook's files: beside it, named after it."""
    path = Path(log)
    return path.with_name(f"{path.name}-files")


def keep(folder: Path, name: str) -> NamedFile:
    """Copy a file that a person named (~ is the home folder) into the folder. BadInput says why it
    cannot be: it is not there, empty, or larger than `MOST_BYTES`."""
    from trackside.records.note import NamedFile

    try:
        path = Path(name.strip()).expanduser()
    except RuntimeError as error:
        raise BadInput(f"{name} cannot be found ({error})", "check its name and folder") from None
    content = read_bytes(str(path), BadInput, MOST_BYTES)
    if not content:
        raise BadInput(f"{path.name} is empty", "name another file")
    found = NamedFile(
        name=one_line(path.name)[:200] or "file",
        sha256=hashlib.sha256(content).hexdigest(),
        size=len(content),
    )
    place = folder / found.sha256
    if state(folder, found) == "missing":
        with whole(place) as part:
            part.write_bytes(content)
    elif state(folder, found) == "changed":
        raise BadInput(
            f"{place} is there and was changed since it was kept", "move it away, then try again"
        )
    return found


def state(folder: Path, file: NamedFile) -> State:
    """Whether the file is in the folder as it was named."""
    place = folder / file.sha256
    try:
        if not place.is_file():
            return "missing"
        if place.stat().st_size != file.size:
            return "changed"
        with place.open("rb") as content:
            digest = hashlib.file_digest(content, "sha256").hexdigest()
    except OSError:
        return "missing"
    return "there" if digest == file.sha256 else "changed"


def is_there(folder: Path, file: NamedFile) -> bool:
    """Whether a file of that name and size is there: a quick look."""
    try:
        return (folder / file.sha256).stat().st_size == file.size
    except OSError:
        return False


def named_in(logbook: Logbook, session: str = "") -> list[OfNote]:
    """Every file that a note names, of that session or of all. What of another laptop's cannot be
    read as a file is none."""
    from trackside.records.note import NamedFile

    found = []
    for entity, body in logbook.notes(session) if session else logbook.all("note"):
        named = body.get("files")
        for one in named if isinstance(named, list) else ():
            with suppress(BadRecord):
                found.append(OfNote(entity, text(body.get("session")), NamedFile.checked(one)))
    return found


def each_once(named: Iterable[OfNote]) -> list[NamedFile]:
    """The files, each hash once."""
    return list({one.file.sha256: one.file for one in named}.values())


def not_there(logbook: Logbook) -> Iterator[tuple[NamedFile, State]]:
    """Every file that is missing or was changed."""
    folder = folder_of(logbook.path)
    for file in each_once(named_in(logbook)):
        if (found := state(folder, file)) != "there":
            yield file, found


def carry(logbook: Logbook, source: Path, target: Path) -> Carried:
    """Copy what notes name from one folder into another: what is whole there and not here yet.
    Nothing is written over."""
    return carried(each_once(named_in(logbook)), Folder(source), Folder(target))


def carried(files: Iterable[NamedFile], source: Place, target: Place) -> Carried:
    """Copy those files from one place into another, as `carry` does; each is proved by its hash
    before it is kept. HubAway where the line to a hub goes."""
    copied = same = 0
    problems = []
    for file in files:
        here = target.state(file)
        if here == "there":
            same += 1
        elif here == "changed":
            problems.append(f"{file.name} was changed in {target}: move {file.sha256} away")
        elif file.size > MOST_BYTES:
            problems.append(f"{file.name} is larger than {MOST_BYTES // 1_000_000} MB")
        elif source.state(file) == "missing":
            problems.append(f"{file.name} is not in {source}")
        else:
            try:
                if _is_as_named(content := source.read(file), file):
                    target.write(file, content)
                    copied += 1
                else:
                    problems.append(f"{file.name} was changed in {source}")
            except (LogbookFull, HubFull) as error:  # so it is for the others
                return Carried(copied, same, tuple(problems), str(error))
            except HubAway:
                raise
            except HubError as error:
                problems.append(f"{file.name}: {error}")
    return Carried(copied, same, tuple(problems))


def _is_as_named(content: bytes, file: NamedFile) -> bool:
    return len(content) == file.size and hashlib.sha256(content).hexdigest() == file.sha256


def save_as(logbook: Logbook, file: NamedFile, folder: Path) -> Path:
    """Copy a file out of the logbook's folder into that one, under its own name. BadInput where it
    is missing or was changed, or where a file of that name is there."""
    found = state(folder_of(logbook.path), file)
    if found != "there":
        raise BadInput(
            f"{file.name} {'is missing' if found == 'missing' else 'was changed'}",
            "take it from the laptop that has it: trackside bundle write --files",
        )
    target = folder / _safe(file.name)
    if not folder.is_dir():
        raise BadInput(f"there is no folder {folder}", "make it first")
    if os.path.lexists(target):  # a link that leads nowhere, too
        raise BadInput(f"{target} already exists", "choose another folder, or delete it")
    with whole(target) as part:
        part.write_bytes((folder_of(logbook.path) / file.sha256).read_bytes())
    return target


def _safe(name: str) -> str:
    """A name from another laptop as one in a folder of this one: without folders, without signs
    that some system keeps for itself, and no longer than a file system takes."""
    bare = Path(name.replace("\\", "/")).name.lstrip(".") or "file"
    bare = re.sub(r'[<>:"|?*\x00-\x1f]', "_", bare)
    suffix = Path(bare).suffix[:20]
    stem = bare.removesuffix(suffix).encode("utf-8", "replace")
    return stem[: LONGEST_NAME - len(suffix.encode())].decode("utf-8", "ignore") + suffix
