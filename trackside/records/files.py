"""Text files that a person names: dyno sheets and exchange files, read whole."""

from __future__ import annotations

import math
import os
import stat
from pathlib import Path

from trackside.errors import BadInput, BadSheet
from trackside.records.dyno import DynoSheet, read_sheet

MOST_BYTES = 64 * 1024 * 1024
"""A larger file is not a dyno sheet or an exchange file of this program."""


def read_sheet_file(name: str) -> DynoSheet:
    """The dyno sheet in that file (~ is the home folder). BadSheet says what is wrong with it."""
    try:
        path = Path(name).expanduser()
    except RuntimeError as error:
        raise BadSheet(f"{name} cannot be read ({error})", "check its name and folder") from None
    return read_sheet(read_file(str(path), BadSheet), path.name)


def read_file(name: str, error: type[BadInput], most: int = MOST_BYTES) -> str:
    """The text of a file that a person named, of at most so many bytes; `error` says why it cannot
    be used."""
    try:
        with open(name, "rb") as file:
            size = _size(file.fileno())
            if size > most:
                raise error(
                    f"{name} has {math.ceil(size / 1e6)} MB, which is no file of this kind",
                    "check its name",
                )
            content = file.read(most + 1)
    except FileNotFoundError:
        raise error(f"there is no file {name}", "check its name and folder") from None
    except IsADirectoryError:
        raise error(f"{name} is a folder", "name a file in it") from None
    except (OSError, ValueError) as reason:
        why = getattr(reason, "strerror", None) or reason
        raise error(f"{name} cannot be read ({why})", "check its name and permissions") from None
    if len(content) > most:
        raise error(f"{name} does not end", "name a file")
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise error(f"{name} is UTF-16 text", "save it again as UTF-8")
    if b"\0" in content:
        raise error(f"{name} is not text", "export it as a text file")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        line = content.count(b"\n", 0, reason.start) + 1
        raise error(f"{name} line {line} is not UTF-8 text", "save it again as UTF-8") from None


def _size(descriptor: int) -> int:
    """The size of a regular file; 0 for a pipe, which is read up to the limit."""
    found = os.fstat(descriptor)
    return found.st_size if stat.S_ISREG(found.st_mode) else 0
