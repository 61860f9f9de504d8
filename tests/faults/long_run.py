"""The long run: every fault, many times, with its figures.

python -m tests.faults              all of it, as many at a time as there are cores
python -m tests.faults 0.1          a tenth
python -m tests.faults 1 power disk only what begins so
"""

from __future__ import annotations

import io
import multiprocessing
import os
import re
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Final, NamedTuple

from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.faults.breaking import break_disk, can_break, end_memory
from tests.faults.damage import damage_files, flip_bits
from tests.faults.disks import fill_disks, fill_with_backups
from tests.faults.forms import kill_forms
from tests.faults.kills import kill_writers
from tests.faults.merges import ThreeLaptops
from tests.faults.mutants import mutate
from tests.faults.power import (
    lose_power,
    lose_power_on_backup,
    lose_power_on_opening,
    lose_power_on_restore,
    pull_the_stick,
)
from tests.faults.quits import quit_writers
from tests.faults.replay import can_trace
from tests.faults.restores import restore_all
from tests.faults.windows import write_together
from tests.places import quick_place
from tests.terminal.fuzz import press_keys
from trackside.cli import run
from trackside.logbook.schema import VERSION

LONGEST: Final = ("keys", "memory", "merges", "disk", "screens", "forms", "flips")
"""These begin first, so that no core waits for the last of them."""


def merge(count: int) -> str:
    run_state_machine_as_test(
        ThreeLaptops,
        settings=settings(
            max_examples=count,
            stateful_step_count=30,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
    return f"Merges(laptops=3, met={ThreeLaptops.merged}, lost=0)"


def quietly(words: list[str]) -> int:
    """Run a command line without its output; 99 when it ends in an error of the program."""
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        try:
            return run(words)
        except Exception as error:
            print(f"{words}: {error!r}", file=sys.__stdout__)
            return 99


def runs(share: float, folder: Path, quick: Path) -> dict[str, Callable[[], object]]:
    """Every fault by its name; `quick` is a folder that may be in memory."""

    def many(count: int) -> int:
        return max(1, round(count * share))

    every = round(1 / share)
    power: dict[str, Callable[[], object]] = {
        "power": lambda: lose_power(quick / "power", 12, many(25)),
        "power on restore": lambda: lose_power_on_restore(quick / "restore", many(100)),
        "power on backup": lambda: lose_power_on_backup(quick / "backup", many(100)),
        "stick": lambda: pull_the_stick(quick / "stick", many(400)),
    } | {
        f"power on version {version}": lambda version=version: lose_power_on_opening(
            quick / f"version {version}", version, many(50)
        )
        for version in range(1, VERSION)
    }
    calls: dict[str, Callable[[], object]] = {
        "disk": lambda: break_disk(quick / "disk", every=every),
        "memory": lambda: end_memory(quick / "memory", every=every),
    }
    return {
        "kills": lambda: kill_writers(folder / "kills.trackside", many(1000)),
        **{name: lambda run=run: can_trace() or run() for name, run in power.items()},
        "damage": lambda: damage_files(quick / "damage", many(1000)),
        "flips": lambda: flip_bits(quick / "flips", many(1000)),
        "mutants": lambda: mutate(quick / "mutants", many(1000), quietly),
        "merges": lambda: merge(many(1000)),
        "full disks": lambda: fill_disks(quick, many(100)),
        "backups on a small disk": lambda: fill_with_backups(quick / "small disk", many(400)),
        "windows": lambda: write_together(folder / "windows.trackside", 4, many(250)),
        "restores": lambda: restore_all(quick / "backups", many(400)),
        "keys": lambda: press_keys(folder / "keys", many(100_000)),
        "forms": lambda: kill_forms(folder / "forms", many(90)),
        "screens": lambda: screens(share),
        "quits": lambda: quit_writers(folder / "quits.trackside", many(40)),
        **{name: lambda run=run: can_break() or run() for name, run in calls.items()},
    }


def screens(share: float) -> Screens:
    """The tests of the screens that are too long for each run: false records on every page, and
    kills while another program holds the file."""
    played = ["tests/tui/test_mutants.py", "tests/terminal/test_held_file.py"]
    command = [sys.executable, "-m", "pytest", "-m", "long", "-p", "no:cacheprovider"]
    few = ["-k", "0 or ry"] if share < 1 else []
    done = subprocess.run([*command, *few, *played], capture_output=True, text=True)
    counts = {word: int(n) for n, word in re.findall(r"(\d+) (passed|failed|error)", done.stdout)}
    failed = counts.get("failed", 0) + counts.get("error", 0)
    if failed or done.returncode:
        print(done.stdout, done.stderr, flush=True)
    return Screens(counts.get("passed", 0), max(failed, int(done.returncode != 0)))


class Screens(NamedTuple):
    """Long tests of the screens, each of a hundred false records or of a kill."""

    passed: int
    failed: int


COUNTED: Final = {
    "lost": ("lost", "wrong", "failed"),
    "false shown": ("false", "believed", "bad_backups", "too_much"),
    "tracebacks": ("speechless", "survived"),
    "freezes": ("frozen",),
}
"""What the last line sums up, and the fields of the figures that say it."""


BROKEN_OFF: Final = "broken off"
"""What it says of runs that ended in an error of their own."""


def play(name: str, share: float) -> tuple[str, dict[str, int]]:
    """One fault by its name: its line, and what it adds to the last one."""
    with (
        tempfile.TemporaryDirectory(prefix="faults-") as folder,
        tempfile.TemporaryDirectory(prefix="faults-", dir=quick_place()) as quick,
    ):
        begun = time.monotonic()
        try:
            found = runs(share, Path(folder), Path(quick))[name]()
        except BaseException:  # a run that breaks off says why; the others go on
            return f"{name}: broken off\n{traceback.format_exc()}", {BROKEN_OFF: 1}
        line = f"{name}: {found}  {time.monotonic() - begun:.0f} s"
    sums = {
        what: sum(int(getattr(found, field, 0)) for field in fields)
        for what, fields in COUNTED.items()
    }
    return line, sums


def main(share: float, *names: str) -> int:
    """Play them, longest first; the number of what must not be."""
    every = [name for name in runs(share, Path(), Path()) if not names or name.startswith(names)]
    every.sort(key=lambda name: LONGEST.index(name) if name in LONGEST else len(LONGEST))
    total = dict.fromkeys((*COUNTED, BROKEN_OFF), 0)
    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(os.cpu_count(), spawned, max_tasks_per_child=1) as pool:
        for done in as_completed([pool.submit(play, name, share) for name in every]):
            line, sums = done.result()
            print(line, flush=True)
            for what, count in sums.items():
                total[what] += count
    print(", ".join(f"{count} {what}" for what, count in total.items()), flush=True)
    return sum(total.values())
