"""Running a command line in this process, and what it gave."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from trackside.logbook.samples import samples_folder

SHEETS = samples_folder() / "dyno"


@dataclass(frozen=True)
class Ran:
    """What one command line gave."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Its output as JSON; the command must have succeeded."""
        assert (self.status, self.err) == (0, "")
        return json.loads(self.out, parse_constant=_refuse)


def _refuse(constant: str) -> float:
    raise AssertionError(f"{constant} is not JSON")


Cli = Callable[..., Ran]


def ran(*arguments: object) -> Ran:
    """Run a command line here."""
    from trackside.cli import run

    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run([str(argument) for argument in arguments])
    return Ran(status, out.getvalue(), err.getvalue())
