"""Taking every intact revision out of a damaged file, whatever is left of it.

SQLite's tables are trees; a torn page cuts off all that hangs below it. So the tree is not followed
at all: every page of the file is looked at, and what looks like a row of `revision` is proved by
its hash. Layout of pages, cells and records: "Database File Format" of the SQLite documentation,
sections 1.6 and 2.1, from memory; the tests prove it against files that SQLite wrote.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from trackside.errors import LogbookDamaged, LogbookFull
from trackside.logbook.merge import Line, MergeResult, problem_of
from trackside.logbook.store import Logbook

_TABLE_LEAF: Final = 13
_PAGE_SIZES: Final = (4096, 1024, 2048, 8192, 16384, 32768, 65536, 512)
"""All are tried: the header that states the size may be what is damaged."""

_LARGEST: Final = 64 << 20
_INTEGER_BYTES: Final = (0, 1, 2, 3, 4, 6, 8, 8, 0, 0)
"""Bytes of a record's value of type 0 to 9; from 12 on, (type - 12) // 2."""


def salvage(damaged: Path, target: Path) -> MergeResult:
    """A new logbook at `target` with every intact revision of `damaged`, which is only read.

    LogbookDamaged when there is not a single one.
    """
    try:
        content = damaged.read_bytes()
    except OSError as error:
        raise LogbookFull(
            f"{damaged} cannot be read ({error.strerror})", "check the disk and its permissions"
        ) from error
    found: dict[str, tuple[int, str]] = {}
    for number, rev, envelope in _rows_in(content):
        if rev not in found and not problem_of(rev, envelope):
            found[rev] = number, envelope
    if not found:
        raise LogbookDamaged(
            f"Nothing can be read from {damaged}", "go back to a backup with trackside restore"
        )
    in_order = sorted((number, rev, envelope) for rev, (number, envelope) in found.items())
    with Logbook.open(target) as logbook:
        taken = logbook.take([Line(rev, envelope) for _, rev, envelope in in_order], via="salvage")
        return taken._replace(problems=logbook.verify().problems)


def _rows_in(content: bytes) -> Iterator[tuple[int, str, str]]:
    """rowid, rev and envelope of all that could be a row of `revision`."""
    for size in _PAGE_SIZES:
        for start in range(0, len(content), size):
            yield from _rows_of(content, start, size)


def _rows_of(content: bytes, start: int, size: int) -> Iterator[tuple[int, str, str]]:
    page = content[start : start + size]
    if page[:1] != bytes([_TABLE_LEAF]):
        return
    cells = int.from_bytes(page[3:5])
    for place in range(8, min(8 + 2 * cells, len(page) - 1), 2):
        try:
            row = _row(content, page, int.from_bytes(page[place : place + 2]), size)
        except (IndexError, UnicodeDecodeError):
            continue
        if row:
            yield row


def _row(content: bytes, page: bytes, place: int, size: int) -> tuple[int, str, str] | None:
    length, place = _varint(page, place)
    number, place = _varint(page, place)
    if length > _LARGEST:
        return None
    payload = _payload(content, page, place, length, size)
    header, at = _varint(payload, 0)
    kinds: list[int] = []
    while at < header and len(kinds) < 3:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if len(kinds) < 3 or kinds[0] > 9 or kinds[1] != 13 + 2 * 64 or kinds[2] < 13:
        return None
    at = header + _INTEGER_BYTES[kinds[0]]
    rev = payload[at : at + 64].decode("ascii")
    envelope = payload[at + 64 : at + 64 + (kinds[2] - 13) // 2].decode()
    return number, rev, envelope


def _payload(content: bytes, page: bytes, place: int, length: int, size: int) -> bytes:
    """The bytes of a record: in its page, then along the chain of its overflow pages."""
    most, least = size - 35, (size - 12) * 32 // 255 - 23
    if length <= most:
        return page[place : place + length]
    local = least + (length - least) % (size - 4)
    local = local if local <= most else least
    parts = [page[place : place + local]]
    follow = int.from_bytes(page[place + local : place + local + 4])
    left = length - local
    while left > 0 and follow:
        start = (follow - 1) * size
        taken = content[start + 4 : start + 4 + min(left, size - 4)]
        if not taken:
            break
        parts.append(taken)
        left -= len(taken)
        follow = int.from_bytes(content[start : start + 4])
    return b"".join(parts)


def _varint(data: bytes, place: int) -> tuple[int, int]:
    """A number of 1 to 9 bytes, and the place behind it."""
    value = 0
    for count in range(9):
        byte = data[place + count]
        if count == 8:
            return value << 8 | byte, place + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, place + count + 1
    raise IndexError
