"""A file that takes nothing: a full disk, and a folder that may not be written, under an open form.

Both are the system's own refusals, in this process and its threads: nothing of the program is
replaced. All files are refused alike, the small one beside the preferences too.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Final, NamedTuple

NOBODY: Final = 65534


@contextmanager
def full_disk(_: Path) -> Iterator[None]:
    """No file of this process can grow, or be written at all."""
    import resource

    was = resource.getrlimit(resource.RLIMIT_FSIZE)
    before = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, was[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, was)
        signal.signal(signal.SIGXFSZ, before)


@contextmanager
def unwritable_folder(folder: Path) -> Iterator[None]:
    """Nothing can be made in that folder: no journal, so no save. The superuser, whom nothing
    holds back, is nobody meanwhile."""
    mode, superuser = folder.stat().st_mode, os.geteuid() == 0
    folder.chmod(0o555)
    if superuser:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if superuser:
            os.seteuid(0)
        folder.chmod(mode)


FAULTS: Final[dict[str, Callable[[Path], AbstractContextManager[None]]]] = {
    "full disk": full_disk,
    "unwritable folder": unwritable_folder,
}


class Form(NamedTuple):
    """A form: the `page` it is opened on (a cell's path on the run sheet, a record's, or the keys
    of the page), the `keys` that open it there, what is typed (`words`), and the key that saves.
    `kept` are kind and field where the words then are; `box` is where they stand until then, None
    where that is a cell."""

    page: str
    keys: tuple[str, ...]
    words: str
    save: str
    kept: tuple[str, ...]
    box: str | None = None


FORMS: Final = {
    "note": Form("FL.camber", ("a",), "pushes", "ctrl+s", ("note", "words"), "words"),
    "reason": Form("FL.camber", ("y",), "softer", "ctrl+s", ("change", "reason"), "reason"),
    "job": Form("FL.camber", ("o", "a"), "pads", "ctrl+s", ("job", "words"), "words"),
    "shelf": Form("FL.camber", ("K",), "in the wet", "ctrl+s", ("kept", "why"), "why"),
    "item": Form(
        "FL.camber", ("i", *"Wing", "enter"), "hole 9", "enter", ("session", "items", "Wing")
    ),
    "damper": Form("b", ("n",), "ZZ-901", "enter", ("damper", "serial"), "serial"),
    "damper's copy": Form(
        "b", ("equals_sign", "ctrl+u"), "ZZ-902", "enter", ("damper", "serial"), "serials"
    ),
    "strip-down": Form("b", ("B",), "new seals", "ctrl+s", ("build", "work"), "work"),
    "run-sheet cell": Form("FL.camber", (), "-1.11", "enter", ("session", "FL", "camber")),
    "emptied cell": Form("FL.camber", ("delete",), "", "", ("session", "FL", "camber")),
    "session tab": Form("result", (), "P5", "enter", ("session", "result")),
    "weather tab": Form("air_temperature", (), "21", "enter", ("session", "air_temperature")),
    "event": Form("event.title", (), "Second round", "enter", ("event", "title")),
    "car": Form("car.words", (), "new floor", "enter", ("car", "words")),
    "damper's record": Form("damper.words", (), "leaks", "enter", ("damper", "words")),
    "damper's name": Form("damper.serial", (), "sa-3108", "enter", ("damper", "serial")),
    "corner weights": Form("weighing.words", (), "ballast", "enter", ("weighing", "words")),
    "weather": Form("weather.wind", (), "NW 15", "enter", ("weather", "wind")),
    "hours": Form("counter.serial", (), "E13", "enter", ("counter", "serial")),
    "tyre set": Form("tyre_set.compound", (), "hard", "enter", ("tyre_set", "compound")),
    "strip-down figures": Form("strip_down.found", (), "bent", "enter", ("strip_down", "found")),
    "part in the box": Form("box_part.place", (), "A3", "enter", ("box_part", "place")),
    "build": Form("build.work", (), "new oil", "enter", ("build", "work")),
}
"""Every form that is saved by a hand."""
