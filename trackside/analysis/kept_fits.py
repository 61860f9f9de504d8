"""Fits kept from one start to the next, so that opening a season need not search for them again.

They lie in a folder of this machine, not in the logbook: a fit is made from a sheet, its build and
the program alone, so nothing is lost with it, no backup or bundle carries it, a logbook from
somebody else brings none along, and every window and command shares it. The name of a file is a
hash of all three; a changed value, or a changed program, asks for another file.
"""

from __future__ import annotations

from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final

import numpy as np

from trackside.damper import stored
from trackside.damper.sheet_fit import SheetFit
from trackside.preferences import data_folder
from trackside.records import Build, DynoSheet

FOLDER: Final = "fits"
ENDING: Final = ".fit"
MOST: Final = 400
"""Files that are kept; the oldest go first. One takes 10 to 700 kB: our own, no source."""


def kept(sheet: DynoSheet, build: Build | None) -> SheetFit | None:
    """The fit that was kept of that sheet; None when there is none, or none that can be read."""
    try:
        return stored.from_bytes(_file(sheet, build).read_bytes())
    except (OSError, ValueError):
        return None


def keep(sheet: DynoSheet, build: Build | None, fit: SheetFit) -> None:
    """Keep the fit of that sheet. Where it cannot be written it is searched for again."""
    file = _file(sheet, build)
    with suppress(OSError):
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        file.write_bytes(stored.to_bytes(fit))
        every = sorted(file.parent.glob(f"*{ENDING}"), key=lambda one: one.stat().st_mtime)
        for old in every[:-MOST]:
            old.unlink()


def _file(sheet: DynoSheet, build: Build | None) -> Path:
    told = [_program(), sheet.model_dump_json(), build.model_dump_json() if build else ""]
    name = sha256("\0".join(told).encode()).hexdigest()
    return data_folder() / FOLDER / f"{name}{ENDING}"


@cache
def _program() -> str:
    """A hash of what makes a fit: the damper room and this one, and numpy's version."""
    here = Path(__file__).parent
    found = sha256(np.__version__.encode())
    for room in (here.with_name("damper"), here):
        for file in sorted(room.glob("*.py")):
            found.update(file.read_bytes())
    return found.hexdigest()
