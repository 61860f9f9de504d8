"""The long run: every fault, many times, with its figures.

python -m tests.faults          all of it
python -m tests.faults 0.1      a tenth
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.faults.breaking import break_disk, can_break, end_memory
from tests.faults.damage import damage_files
from tests.faults.disks import fill_disks
from tests.faults.kills import kill_writers
from tests.faults.merges import ThreeLaptops
from tests.faults.power import can_trace, lose_power
from tests.faults.restores import restore_all
from tests.faults.windows import write_together


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


def main(share: float) -> None:
    def many(count: int) -> int:
        return max(1, round(count * share))

    with tempfile.TemporaryDirectory(prefix="faults-") as name:
        folder = Path(name)
        runs: list[Callable[[], object]] = [
            lambda: kill_writers(folder / "kills.trackside", many(1000)),
            lambda: can_trace() or lose_power(folder / "power", 12, many(25)),
            lambda: damage_files(folder / "damage", many(1000)),
            lambda: merge(many(1000)),
            lambda: can_break() or break_disk(folder / "disk", every=round(1 / share)),
            lambda: can_break() or end_memory(folder / "memory", every=round(1 / share)),
            lambda: fill_disks(folder, many(100)),
            lambda: write_together(folder / "windows.trackside", 4, many(250)),
            lambda: restore_all(folder / "backups", many(400)),
        ]
        for run in runs:
            begun = time.monotonic()
            print(f"{run()}  {time.monotonic() - begun:.0f} s", flush=True)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 1.0)
