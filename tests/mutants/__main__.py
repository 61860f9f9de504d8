"""Plays mutants of the rooms against the tests of their own room, and prints the score.

    python -m tests.mutants                      all rooms, 160 mutants, seed 1
    python -m tests.mutants --room reports --count 40 --seed 2

Prints a line for each mutant that lives, then the score of each room and of all. Ends with 1 below
90 %. The list depends on the seed and the program's text alone: each file of a room gives one
mutant before any gives two, of a kind of fault drawn first, so that common kinds do not crowd out
the rest. A mutant is played in a copy, by those tests of tests/<room> that enter the function it is
in (or, where it runs on import, a function that uses its name), the file's own tests first, then
the fastest. Which tests enter what is measured once for a state of the files, and kept in the
system's temporary folder.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from functools import cache
from itertools import islice
from pathlib import Path
from queue import Queue
from time import perf_counter

from tests.mutants.breeding import Mutant, breed, is_another
from tests.mutants.player import Player, surroundings
from tests.mutants.tracing import TOO_LONG

HERE = Path(__file__).parents[2]
ROOMS = ("analysis", "reports", "records", "damper", "corner", "crew")
ENOUGH = 0.9
BUDGET = 40.0
"""Seconds of tests that a mutant meets at most; what would come later counts as not found."""
PLUGINS = ("-p", "tests.mutants.tracing", "-p", "no:cacheprovider", "-p", "no:logging")
COPIED = ("trackside", "tests", "sample_sessions", "pyproject.toml", "README.md", "DEVELOPERS.md")

Trace = dict[str, dict]


@dataclass(frozen=True)
class Played:
    """A mutant in its file, and what found it: a test, "time", or nothing."""

    room: str
    path: str
    mutant: Mutant
    found_by: str


def main() -> int:
    asked = _asked()
    begun = perf_counter()
    chosen = choose(asked.room or ROOMS, asked.count, asked.seed)
    if asked.list:
        for _, path, mutant in chosen:
            print(f"{path}:{mutant.line}: {mutant.kind}: {mutant.before} -> {mutant.after}")
        return 0
    with tempfile.TemporaryDirectory(prefix="trackside-mutants-") as folder:
        copies = [_copy(Path(folder) / str(n)) for n in range(os.cpu_count() or 1)]
        traces = {room: _trace(room, copies[0]) for room in asked.room or ROOMS}
        users = _users()
        free: Queue[tuple[Path, Player]] = Queue()

        def play(one: tuple[str, str, Mutant]) -> Played:
            room, path, mutant = one
            tests = _tests(path, mutant, traces[room], users)
            copy, player = free.get()
            try:
                return Played(room, path, mutant, _found_by(copy, player, path, mutant, tests))
            finally:
                free.put((copy, player))

        with ExitStack() as open_until_the_end, ThreadPoolExecutor(len(copies)) as pool:
            for copy in copies:
                free.put((copy, open_until_the_end.enter_context(Player(copy))))
            played = []
            for done in pool.map(play, chosen):
                played.append(done)
                if not done.found_by:
                    print(_told(done), flush=True)
                elif asked.verbose:
                    print(f"  ({_told(done)}: {done.found_by})", flush=True)
    for room in (*(asked.room or ROOMS), ""):
        here = [one for one in played if room in ("", one.room)]
        found = sum(bool(one.found_by) for one in here)
        share = 100 * found / max(len(here), 1)
        print(f"{room or 'in all':9} {found:4} of {len(here):4} found, {share:.0f} %")
    print(f"seed {asked.seed}, {perf_counter() - begun:.0f} s")
    return int(found < ENOUGH * len(played))


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser("tests.mutants")
    parser.add_argument("--room", action="append", choices=ROOMS, help="only this; may be repeated")
    parser.add_argument("--count", type=int, default=160, help="so many mutants in all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--list", action="store_true", help="show the mutants, play none")
    parser.add_argument("--verbose", action="store_true", help="show which test found each")
    return parser.parse_args()


def choose(rooms: tuple[str, ...], count: int, seed: int) -> list[tuple[str, str, Mutant]]:
    """Room, path below the tree, and mutant. A room has its share by the root of its mutants: a
    large one more than a small one, and none too few."""
    bred = {room: _bred(room) for room in rooms}
    weights = {room: sum(map(len, files.values())) ** 0.5 for room, files in bred.items()}
    chosen = []
    for room, files in bred.items():
        share = round(count * weights[room] / sum(weights.values()))
        drawn = islice(_drawn(files, random.Random(f"{seed} {room}")), share)
        chosen += [(room, path, mutant) for path, mutant in drawn]
    return chosen


def _bred(room: str) -> dict[str, list[Mutant]]:
    paths = sorted((HERE / "trackside" / room).rglob("*.py"))
    bred = {str(p.relative_to(HERE)): breed(p.read_text("utf-8")) for p in paths}
    return {path: mutants for path, mutants in bred.items() if mutants}


def _drawn(files: dict[str, list[Mutant]], chance: random.Random) -> Iterator[tuple[str, Mutant]]:
    left = {path: list(mutants) for path, mutants in files.items()}
    while left:
        for path in chance.sample(sorted(left), len(left)):
            kind = chance.choice(sorted({mutant.kind for mutant in left[path]}))
            mutant = chance.choice([m for m in left[path] if m.kind == kind])
            left[path] = [m for m in left[path] if (m.line, m.kind) != (mutant.line, kind)]
            if is_another(mutant, (HERE / path).read_text("utf-8")):
                yield path, mutant
        left = {path: mutants for path, mutants in left.items() if mutants}


def _copy(folder: Path) -> Path:
    for name in COPIED:
        source = HERE / name
        if source.is_dir():
            ignored = shutil.ignore_patterns("__pycache__", "pictures")
            shutil.copytree(source, folder / name, ignore=ignored)
        else:
            shutil.copy(source, folder / name)
    return folder


def _trace(room: str, copy: Path) -> Trace:
    """What each test of the room enters, and its seconds; once for a state of the files."""
    state = hashlib.sha256()
    inside = (HERE / "trackside", HERE / "tests" / room, HERE / "tests" / "mutants")
    for path in sorted([*(p for d in inside for p in d.rglob("*.py")), *HERE.glob("tests/*.py")]):
        state.update(path.read_bytes())
    kept = Path(tempfile.gettempdir()) / f"trackside-traces-{os.getuid()}"
    kept.mkdir(exist_ok=True)
    file = kept / f"{room}-{state.hexdigest()[:20]}.json"
    if not file.exists():
        with tempfile.TemporaryDirectory() as folder:
            cores = str(os.cpu_count() or 1)
            ran = subprocess.run(
                [sys.executable, "-m", "pytest", *PLUGINS, "-n", cores, f"tests/{room}"],
                cwd=copy,
                env={**surroundings(), "TRACKSIDE_TRACE": folder},
                capture_output=True,
                text=True,
            )
            if ran.returncode:
                raise SystemExit(f"tests/{room} fail without any mutant:\n{ran.stdout[-3000:]}")
            told: Trace = {}
            for part in Path(folder).glob("*.json"):
                told |= json.loads(part.read_text("utf-8"))
        file.write_text(json.dumps(told), "utf-8")
    return json.loads(file.read_text("utf-8"))


@dataclass(frozen=True)
class Uses:
    """The functions that use a name, by the name; and the names that are made of it on import."""

    functions: dict[str, set[tuple[str, int]]]
    handed: dict[str, set[str]]

    def of(self, names: tuple[str, ...]) -> frozenset[str]:
        """Those names, and what is made of them, over three steps."""
        found = set(names)
        for _ in range(3):
            found |= set().union(*(self.handed.get(name, set()) for name in found))
        return frozenset(found)


def _users() -> Uses:
    functions: dict[str, set[tuple[str, int]]] = {}
    handed: dict[str, set[str]] = {}
    for path in (HERE / "trackside").rglob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        where = str(path.relative_to(HERE / "trackside"))
        for node in ast.walk(tree):
            made: set[str] = set()
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                line = min([node.lineno, *(d.lineno for d in node.decorator_list)])
                for name in _names(node):
                    functions.setdefault(name, set()).add((where, line))
            elif isinstance(node, ast.Assign | ast.AnnAssign) and node in tree.body:
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                made = set().union(*map(_names, targets))
            elif isinstance(node, ast.ClassDef):
                made = {node.name}
            for name in _names(node) - made if made else ():
                handed.setdefault(name, set()).update(made)
    return Uses(functions, handed)


def _names(node: ast.AST) -> set[str]:
    names = {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
    return names | {n.attr for n in ast.walk(node) if isinstance(n, ast.Attribute)}


def _tests(path: str, mutant: Mutant, trace: Trace, users: Uses) -> dict[str, float]:
    """The tests that meet the mutant with their seconds, in the order in which it meets them."""
    below = path.removeprefix("trackside/")
    names = users.of(mutant.names)
    named = set().union(*(users.functions.get(name, set()) for name in names))
    met = _met({(below, mutant.within[-1])} if mutant.within else named, path, trace)
    if not met or not mutant.within:  # runs on import: also what asks for the name itself
        files = {test.partition("::")[0] for test in trace}
        asking = {file for file in files if _mentions(HERE / file, names)}
        met = [
            *_met(named, path, trace),
            *((True, told["seconds"], test) for test, told in trace.items()
              if test.partition("::")[0] in asking),
        ]  # fmt: skip
    total = 0.0
    tests: dict[str, float] = {}
    for _, seconds, test in sorted(set(met)):
        total += seconds
        if tests and total > BUDGET:
            break
        tests[test] = seconds
    return tests


@cache
def _mentions(file: Path, names: frozenset[str]) -> bool:
    words = set(re.findall(r"\w+", file.read_text("utf-8")))
    return any(name in words for name in names)


def _met(places: set[tuple[str, int]], path: str, trace: Trace) -> list[tuple[bool, float, str]]:
    """The tests that enter one of these functions: not of the file's own, seconds, name."""
    return [
        (Path(test.partition("::")[0]).stem != f"test_{Path(path).stem}", told["seconds"], test)
        for test, told in trace.items()
        if not places.isdisjoint((file, line) for file, line in told["entered"])
    ]


def _found_by(
    copy: Path, player: Player, path: str, mutant: Mutant, tests: dict[str, float]
) -> str:
    if not tests:
        return ""
    file = copy / path
    original = file.read_text("utf-8")
    limits = json.dumps({test: 10 + 8 * seconds for test, seconds in tests.items()})
    try:
        _write(file, mutant.source(original))
        arguments = [*PLUGINS, "-x", "--tb=line", *tests]
        code, printed = player.run(arguments, {"TRACKSIDE_LIMITS": limits})
    finally:
        _write(file, original)
    if code == TOO_LONG:
        return "time"
    if code == 0:
        return ""
    failed = [line for line in printed.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return failed[0] if failed else f"exit {code}"


def _write(file: Path, text: str) -> None:
    """Compiled text of an older state is never taken for this one: the cache goes by the time."""
    file.write_text(text, "utf-8")
    for cached in file.parent.glob(f"__pycache__/{file.stem}.*"):
        cached.unlink()


def _told(one: Played) -> str:
    mutant = one.mutant
    return f"{one.path}:{mutant.line}: {mutant.kind}: {mutant.before} -> {mutant.after}"


if __name__ == "__main__":
    sys.exit(main())
