"""Text files that a person names: dyno sheets and exchange files, read whole."""

from __future__ import annotations

import math
import os
import select
import stat
from collections.abc import Sequence
from pathlib import Path

from trackside.errors import BadInput, BadSheet
from trackside.records.dyno import DynoSheet
from trackside.records.sheet_lines import Said
from trackside.records.sheet_reading import together
from trackside.records.sheet_text import decoded

MOST_BYTES = 64 * 1024 * 1024
"""A larger file is not a dyno sheet or an exchange file of this program."""
PATIENCE = 10.0
"""s: a pipe that gives nothing for so long is given up."""


def read_sheet_file(name: str, said: Said | None = None) -> DynoSheet:
    """The dyno sheet in that file (~ is the home folder). BadSheet says what is wrong with it."""
    return read_sheet_files([name], said)


def read_sheet_files(names: Sequence[str], said: Said | None = None) -> DynoSheet:
    """The dyno sheet in those files together, in whatever text a machine wrote them."""
    texts = []
    for name in names:
        try:
            path = Path(name).expanduser()
        except RuntimeError as error:
            raise BadSheet(
                f"{name} cannot be read ({error})", "check its name and folder"
            ) from None
        texts.append((decoded(read_bytes(str(path), BadSheet), path.name), path.name))
    return together(texts, said or Said())


def read_file(name: str, error: type[BadInput], most: int = MOST_BYTES) -> str:
    """The UTF-8 text of a file that a person named, of at most so many bytes; `error` says why it
    cannot be used."""
    content = read_bytes(name, error, most)
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise error(f"{name} is UTF-16 text", "save it again as UTF-8")
    if b"\0" in content:
        raise error(f"{name} is not text", "export it as a text file")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        line = content.count(b"\n", 0, reason.start) + 1
        raise error(f"{name} line {line} is not UTF-8 text", "save it again as UTF-8") from None


def read_bytes(name: str, error: type[BadInput], most: int = MOST_BYTES) -> bytes:
    """What is in a file that a person named, of at most so many bytes; `error` says why it cannot
    be used. A pipe is read to its end, while it goes on giving something."""
    try:
        _refuse_device(name, error)
        descriptor = os.open(name, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
        with open(descriptor, "rb", buffering=0) as file:
            found = os.fstat(descriptor)
            if not stat.S_ISREG(found.st_mode):
                return _piped(descriptor, name, error, most)
            if found.st_size > most:
                raise error(
                    f"{name} has {math.ceil(found.st_size / 1e6)} MB, which is no file of this "
                    "kind",
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
    return content


def _refuse_device(name: str, error: type[BadInput]) -> None:
    """A folder or device is not opened: a terminal would wait for a person, others never end."""
    kind = os.stat(name).st_mode
    if stat.S_ISDIR(kind):
        raise IsADirectoryError
    if not (stat.S_ISREG(kind) or stat.S_ISFIFO(kind)):
        raise error(f"{name} is a device, not a file", "name a file")


def _piped(descriptor: int, name: str, error: type[BadInput], most: int) -> bytes:
    """What comes through a pipe until it is closed."""
    content = b""
    while True:
        ready, _, _ = select.select([descriptor], [], [], PATIENCE)
        if not ready:
            raise error(f"{name} is a pipe that gives nothing", "name a file")
        part = os.read(descriptor, 65_536)
        if not part:
            return content
        content += part
        if len(content) > most:
            raise error(f"{name} does not end", "name a file")
