"""Between laptops: a bundle given and taken, and a folder that several laptops share.

In a shared folder each file is a bundle that is never changed: its name ends in the hash of what
it holds, and a laptop only ever adds files. Whatever copies the folder about, a stick or a synced
disk, has nothing to overwrite.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Final, NamedTuple

from trackside.errors import BadImport, BadInput
from trackside.logbook.bundle import read_bundle, write_bundle
from trackside.logbook.clock import now, stamp
from trackside.logbook.merge import Line, MergeResult
from trackside.logbook.store import Logbook
from trackside.units import one_line

ENDING: Final = ".bundle"
_UNSAFE: Final = re.compile(r"[^0-9A-Za-z-]")


def give(logbook: Logbook, target: Path) -> int:
    """Write the whole logbook as a bundle; how many revisions it holds."""
    return _write(logbook, target, logbook.lines())


def receive(logbook: Logbook, file: Path) -> MergeResult:
    """Take in what is new in a bundle: every intact line, also of a damaged one."""
    bundle = read_bundle(file, logbook.names())
    taken = logbook.take(bundle.lines, via="bundle")
    return taken._replace(problems=(*bundle.problems, *taken.problems))


class Shared(NamedTuple):
    """What became of a shared folder: files read, revisions taken and given, what is damaged."""

    files: int
    taken: int
    given: int
    problems: tuple[str, ...]


def share(logbook: Logbook, folder: Path) -> Shared:
    """Take what others put into the folder, then put in what nobody's intact file holds yet."""
    if not folder.is_dir():
        raise BadInput(f"there is no folder {folder}", "make it, or plug the disk in")
    there: set[str] = set()
    problems: list[str] = []
    lines: list[Line] = []
    files = sorted(path for path in folder.glob(f"*{ENDING}") if _is_plain(path))
    known = logbook.names()
    for file in files:
        name = one_line(file.name)
        try:
            bundle = read_bundle(file, known)
        except BadImport as error:
            problems.append(f"{name}: {one_line(str(error))}")
            continue
        there.update(line.rev for line in bundle.lines)
        lines += [line for line in bundle.lines if line.rev not in known]
        problems += [f"{name}: {problem}" for problem in bundle.problems]
    taken = logbook.take(lines, via="share")
    mine = [line for line in logbook.lines() if line.rev not in there]
    if mine:
        _write(logbook, folder / _name_for(logbook.device, mine), mine)
    return Shared(len(files), taken.added, len(mine), (*problems, *taken.problems))


def _is_plain(path: Path) -> bool:
    return path.is_file() and not path.is_symlink() and not path.name.startswith(".")


def _name_for(device: str, lines: Iterable[Line]) -> str:
    proof = hashlib.sha256("".join(line.rev for line in lines).encode()).hexdigest()
    return f"{_UNSAFE.sub('', device)[:40]}-{proof[:16]}{ENDING}"


def _write(logbook: Logbook, target: Path, lines: list[Line]) -> int:
    about = {"author": logbook.author, "device": logbook.device, "written_at": stamp(now())}
    return write_bundle(target, lines, **about)
