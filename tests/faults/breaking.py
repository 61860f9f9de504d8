"""A disk that fails at the n-th call, and a memory that ends at the n-th request: for every n.

Played in a process of its own, with breaking.c in front of the C library: the work is begun, a call
fails, all is mended, and the same logbook goes on; then what is there is opened anew and proved. A
call fails once, or that one and every later one.
"""

from __future__ import annotations

import ctypes
import errno
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from tests.places import quick_place
from trackside.errors import TracksideError

if TYPE_CHECKING:
    from tests.faults.works import Work

SOURCE: Final = Path(__file__).with_suffix(".c")
MOST: Final = 100_000
"""No work takes so many calls; a counter that does not stop is a mistake."""

SENTENCE, PASSED_OVER, NOTHING = "a sentence", "passed over", "nothing failed"
LOST, SPEECHLESS = "lost", "speechless"
FORK: Final = 50
"""Faults that one process plays, one after the other."""


class Ended(NamedTuple):
    """How the fault at one call ended, and what was wrong."""

    at: int
    end: str
    why: str = ""


class Way(NamedTuple):
    """A way to fail: the disk with an error number, or the memory; once, or from then on; at every
    call, or at one in `every`."""

    name: str
    number: int
    for_good: bool
    every: int = 1


DISK: Final = (
    Way("EIO once", errno.EIO, False),
    Way("EIO from then on", errno.EIO, True),
    Way("ENOSPC once", errno.ENOSPC, False),
    Way("ENOSPC from then on", errno.ENOSPC, True),
)
WAYS: Final = {
    "disk": DISK,
    "memory": (Way("once", 0, False), Way("from then on", 0, True, every=7)),
}


class Broken(NamedTuple):
    """Faults played in all and for each work; how they ended; what was lost, how often no sentence
    was said."""

    faults: int
    sentences: int
    passed_over: int
    lost: int
    speechless: int
    works: dict[str, int]


def can_break() -> str:
    """Why no call can be made to fail here; "" when one can."""
    if not sys.platform.startswith("linux"):
        return "calls can be made to fail on Linux alone"
    return "" if _compiler() else "no C compiler (gcc or cc) is installed"


def _compiler() -> str | None:
    return shutil.which("gcc") or shutil.which("cc")


def break_disk(folder: Path, *, every: int = 1) -> Broken:
    """Fail every call in turn, or one in `every`, of each work on the disk."""
    return _played(folder, "disk", every)


def end_memory(folder: Path, *, every: int = 1) -> Broken:
    """Refuse every request of SQLite's in turn, or one in `every`, of each work."""
    return _played(folder, "memory", every)


def _played(folder: Path, what: str, every: int) -> Broken:
    folder.mkdir(parents=True, exist_ok=True)
    library = folder / "breaking.so"
    compiler = _compiler()
    assert compiler
    subprocess.run(
        [compiler, "-shared", "-fPIC", "-O1", "-o", str(library), str(SOURCE), "-ldl"], check=True
    )
    with tempfile.TemporaryDirectory(dir=quick_place()) as place:
        done = _run(library, what, every, place)
    return Broken(*json.loads(done))


def _run(library: Path, what: str, every: int, place: str) -> str:
    return subprocess.run(
        [sys.executable, "-m", "tests.faults.breaking", what, str(every), place],
        env=os.environ | {"LD_PRELOAD": str(library)},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    ).stdout


class _Breaker:
    """The library in front of the C library, in this process."""

    def __init__(self, what: str) -> None:
        self.library = ctypes.CDLL(os.environ["LD_PRELOAD"])
        self.library.mended.restype = ctypes.c_long
        self.what = what
        if what == "memory":
            import _sqlite3

            sqlite = ctypes.CDLL(_sqlite3.__file__)
            names = ("sqlite3_config", "sqlite3_shutdown", "sqlite3_initialize")
            calls = [ctypes.cast(getattr(sqlite, name), ctypes.c_void_p) for name in names]
            assert self.library.memory_watch(*calls) == 0

    @contextmanager
    def broken(self, place: Path, at: int, way: Way, ends: list[str]) -> Iterator[list[str]]:
        """Within, the call `at` fails; a sentence that is said of it ends the block quietly, and
        is in the list then."""
        said: list[str] = []
        if self.what == "memory":
            self.library.memory_ends(ctypes.c_long(at), way.for_good)
        else:
            where = str(place).encode()
            self.library.disk_breaks(where, ctypes.c_long(at), way.number, way.for_good)
        end = PASSED_OVER
        try:
            yield said
        except TracksideError as error:
            said.append(str(error))
            end = SENTENCE if re.fullmatch(r".+: .+\.", str(error), re.DOTALL) else repr(error)
        finally:
            failed = self.library.mended()
        ends.append(end if failed else NOTHING)


def main(what: str, every: int, folder: Path) -> None:
    """Play it all; the figures go to stdout, what was wrong to stderr."""
    from tests.faults.works import WORKS

    breaker = _Breaker(what)
    count: Counter[str] = Counter()
    works: Counter[str] = Counter()
    for work in WORKS:
        before = folder / work.name / "before"
        before.mkdir(parents=True)
        work.prepare(before)
        for way in WAYS[what]:
            step = every * way.every * (work.every if what == "memory" else 1)
            for at, end, why in _each(breaker, work, folder / work.name, way, step):
                if why:
                    print(f"{work.name}, {what} {way.name}, call {at}: {why}", file=sys.stderr)
                count[end] += 1
                works[work.name] += 1
        print(f"  {what}, {work.name}: {works[work.name]} faults", file=sys.stderr)
    ends = (count[SENTENCE], count[PASSED_OVER], count[LOST], count[SPEECHLESS])
    print(json.dumps([sum(works.values()), *ends, works]))


def _each(breaker: _Breaker, work: Work, folder: Path, way: Way, step: int) -> Iterator[Ended]:
    """Fail one call after another, until there is none left to fail."""
    at = 1
    while at < MOST:
        died = True
        for ended in _in_a_fork(breaker, work, folder, way, range(at, at + FORK * step, step)):
            if ended.end == NOTHING:
                return
            yield ended
            died, at = False, ended.at + step
        if died:
            yield Ended(at, SPEECHLESS, "the program died")
            at += step
    raise AssertionError(f"{work.name} has no end")


def _in_a_fork(
    breaker: _Breaker, work: Work, folder: Path, way: Way, calls: range
) -> Iterator[Ended]:
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        for at in calls:
            ended = _one(breaker, work, folder, way, at)
            os.write(into, json.dumps(ended).encode() + b"\n")
            if ended.end == NOTHING:
                break
        os._exit(0)
    os.close(into)
    with open(out, "rb") as pipe:
        yield from (Ended(*json.loads(line)) for line in pipe)
    os.waitpid(child, 0)


def _one(breaker: _Breaker, work: Work, folder: Path, way: Way, at: int) -> Ended:
    """Do the work once, with that call failing, then look at what is there."""
    place = folder / "now"
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(folder / "before", place)
    ends: list[str] = []
    told: list[str] = []
    try:
        work.play(place, lambda: breaker.broken(place, at, way, ends), told)
    except BaseException:
        breaker.library.mended()
        return Ended(at, SPEECHLESS, _last_lines())
    if ends[-1] not in (SENTENCE, PASSED_OVER):
        return Ended(at, NOTHING if ends[-1] == NOTHING else SPEECHLESS, ends[-1])
    try:
        work.check(place, set(told))
    except (AssertionError, TracksideError):
        return Ended(at, LOST, _last_lines())
    return Ended(at, ends[-1])


def _last_lines() -> str:
    return "".join(traceback.format_exc().splitlines(keepends=True)[-6:])


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), Path(sys.argv[3]))
