"""A file that is there whole or not at all, whenever the power goes or the stick is pulled."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from trackside.errors import LogbookFull

PART = ".part"
"""The ending of a file that is still being written."""


_HEAD: Final = b"SQLite format 3\0"
"""How every logbook begins (SQLite's "Database File Format", section 1.3, from memory; a test
looks at one)."""


def is_logbook(path: Path) -> bool:
    """Whether that file is a logbook, a backup of one, or another file of SQLite's."""
    try:
        with path.open("rb") as file:
            return file.read(len(_HEAD)) == _HEAD
    except OSError:
        return False


_BESIDE: Final = ("-journal", "-wal", "-shm")
"""What SQLite puts behind a file's name for files of its own (its "Temporary Files", from
memory)."""


def beside_a_logbook(path: Path) -> bool:
    """Whether SQLite uses that name for a file of its own beside a logbook: it plays what it finds
    there into the logbook, or removes it."""
    return any(
        path.name.endswith(ending) and path.with_name(path.name.removesuffix(ending)).is_file()
        for ending in _BESIDE
    )


@contextmanager
def whole(target: Path) -> Iterator[Path]:
    """A file beside `target` to be written; at the end it goes to the disk, then gets the name.

    Whatever goes wrong, an older file at `target` stays as it was. LogbookFull says what did.
    """
    part: Path | None = None
    try:
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(PART, f".{target.name[:80]}.", target.parent)
        os.close(handle)
        part = Path(name)
        yield part
        to_disk(part)
        part.replace(target)
        to_disk(target.parent)
    except OSError as error:
        raise LogbookFull(
            f"{target} cannot be written ({error.strerror or error})",
            "choose another folder or disk",
        ) from error
    finally:
        if part is not None:
            with suppress(OSError):
                part.unlink(missing_ok=True)


def to_disk(path: Path) -> None:
    """Wait until the disk has it. A folder remembers its names only then (not on Windows)."""
    is_folder = path.is_dir()
    if is_folder and os.name != "posix":
        return
    handle = os.open(path, os.O_RDONLY if is_folder else os.O_RDWR)
    try:
        os.fsync(handle)
    except OSError as error:
        if not is_folder or error.errno != errno.EINVAL:
            raise  # some network disks cannot be asked this for a folder
    finally:
        os.close(handle)
