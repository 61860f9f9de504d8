"""A process with every library ready that runs pytest in forks of itself: a mutant waits for the
program and its tests alone.

    with Player(folder) as player:
        code, printed = player.run(["tests/corner"], {"NAME": "value"})
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from importlib import import_module
from pathlib import Path
from typing import Self

_READY = (
    "pytest, hypothesis, pytest_asyncio.plugin, xdist.plugin, numpy, scipy.optimize, scipy.stats, "
    "pydantic, sqlite_utils, plotext, rich.text, rich.table, CoolProp.CoolProp, fluids, statsmodels"
)
"""What the tests import that is not of the program; one that is not there is passed over."""


class Player:
    """Runs pytest in that folder, again and again, each time as if for the first time."""

    def __init__(self, folder: Path) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.mutants.player"],
            cwd=folder,
            env=surroundings(),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def run(self, arguments: list[str], environment: dict[str, str]) -> tuple[int, str]:
        """How it ended, and what it printed."""
        asking, answering = self._process.stdin, self._process.stdout
        assert asking is not None
        assert answering is not None
        asking.write(json.dumps([arguments, environment]) + "\n")
        asking.flush()
        code, printed = json.loads(answering.readline())
        return code, printed

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.communicate()


def surroundings() -> dict[str, str]:
    """The same random examples each time, one core, and compiled text kept from run to run."""
    said = {**os.environ, "CI": "1", "OPENBLAS_NUM_THREADS": "1"}
    said.pop("PYTHONDONTWRITEBYTECODE", None)
    return said


def main() -> None:
    for name in _READY.split(", "):
        try:
            import_module(name)
        except ImportError:
            continue
    for line in sys.stdin:
        print(json.dumps(_forked(*json.loads(line))), flush=True)


def _forked(arguments: list[str], environment: dict[str, str]) -> tuple[int, str]:
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as printed:
        child = os.fork()
        if not child:
            code = 1
            try:
                os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
                os.dup2(printed.fileno(), 1)
                os.dup2(printed.fileno(), 2)
                os.environ.update(environment)
                code = int(import_module("pytest").main(arguments))
                sys.stdout.flush()
            finally:
                os._exit(code)
        _, status = os.waitpid(child, 0)
        printed.seek(0)
        return os.waitstatus_to_exitcode(status), printed.read()


if __name__ == "__main__":
    main()
