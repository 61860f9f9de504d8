"""The log of what went wrong in the program itself: one file, kept small."""

from __future__ import annotations

import traceback
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from tempfile import gettempdir

from trackside.preferences import data_folder

NAME = "errors.log"
MOST = 1_000_000
"""Bytes after which the log is begun again; the one before stays beside it as `errors.log.1`."""


def note(error: BaseException) -> Path | None:
    """Write the error with its traceback, without the values in it, at the end of the log. The
    file: in the data folder, else in the system's folder for temporary files; None where neither
    can be written."""
    import platform
    from importlib import metadata  # for a fault alone: the first page need not wait for them

    text = (
        f"{datetime.now().isoformat(timespec='seconds')} trackside {metadata.version('trackside')} "
        f"textual {metadata.version('textual')} Python {platform.python_version()}\n"
        f"{''.join(traceback.format_exception(error))}\n"
    )
    for folder in (data_folder(), Path(gettempdir())):
        with suppress(OSError):
            folder.mkdir(parents=True, exist_ok=True)
            path = folder / NAME
            if path.exists() and path.stat().st_size > MOST:
                path.replace(folder / f"{NAME}.1")
            with path.open("a", encoding="utf-8", errors="backslashreplace") as log:
                log.write(text)
            return path
    return None


def place_of(error: BaseException) -> tuple[str, str, int]:
    """What kind of error it is, and the file and line where it was raised."""
    frames = traceback.extract_tb(error.__traceback__)
    last = frames[-1] if frames else None
    return type(error).__name__, last.filename if last else "", (last.lineno or 0) if last else 0
