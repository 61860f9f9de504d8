"""Several windows that write in one file at once: each waits its turn, and nothing is lost."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple, NoReturn

from trackside.errors import LogbookBusy
from trackside.logbook import Logbook, put


class Windows(NamedTuple):
    """Windows, saves in all, and how many were lost."""

    windows: int
    saves: int
    lost: int


def write_together(path: Path, windows: int, saves: int) -> Windows:
    """Have so many processes write `saves` each, at the same time."""
    Logbook.open(path).close()
    children = []
    for window in range(windows):
        child = os.fork()
        if child == 0:
            _write_and_leave(path, f"window-{window}", saves)
        children.append(child)
    failed = sum(os.waitpid(child, 0)[1] != 0 for child in children)
    with Logbook.open(path) as logbook:
        assert logbook.verify().problems == ()
        kept = len(logbook.names())
    return Windows(windows, windows * saves, windows * saves - kept + failed)


def _write_and_leave(path: Path, device: str, saves: int) -> NoReturn:
    """Save so many times; again where another window was in the way for too long, as its sentence
    says (on a machine that is busy with other things)."""
    left = 1
    try:
        with Logbook.open(path, device=device) as logbook:
            for number in range(saves):
                while True:
                    with suppress(LogbookBusy):
                        logbook.write(put("note", {"words": f"{device} {number}"}))
                        break
        left = 0
    finally:
        os._exit(left)
