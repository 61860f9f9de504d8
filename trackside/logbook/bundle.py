"""A bundle: every revision of a logbook in one file, to be carried to another laptop.

JSON lines, gzipped: a header, one line a revision, a footer. A revision's line holds the envelope
as it stands in the logbook, so its name, the hash, proves it by itself. The lines are packed in
pieces (members, RFC 1952 section 2.2): a damaged spot costs its piece, not the rest.
"""

from __future__ import annotations

import hashlib
import json
import os
import zlib
from collections.abc import Container, Generator, Iterable, Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple

from trackside.errors import BadImport
from trackside.logbook.atomic_file import whole
from trackside.logbook.merge import Line, problem_of

FORMAT: Final = "trackside-bundle"
VERSION: Final = 1

MOST_PACKED: Final = 256 << 20
MOST_TEXT: Final = 1 << 30
LONGEST_LINE: Final = 16 << 20
STEEPEST: Final = 200
MOST_WRONG: Final = 20_000
"""Limits in bytes; text to packed size (a bomb's is about 1000); damaged lines."""

_PIECE: Final = 128 << 10
_MEMBER: Final = b"\x1f\x8b\x08"
_BEFORE, _BETWEEN, _AFTER = b'{"rev":"', b'","envelope":', b"}"
_NAME: Final = slice(len(_BEFORE), len(_BEFORE) + 64)
_NAMED: Final = 20
"""How many damaged lines are named one by one."""


class Bundle(NamedTuple):
    """What a bundle holds: proved lines, and what is wrong with the rest, one sentence each."""

    lines: list[Line]
    problems: tuple[str, ...]


def write_bundle(target: Path, lines: Iterable[Line], **about: str) -> int:
    """Write a bundle, whole or not at all; how many revisions it holds.

    `about` goes into the header (who, when); nobody relies on it.
    """
    count, proof = 0, hashlib.sha256()
    with whole(target) as part, part.open("wb") as file:
        piece: list[bytes] = [_json({"format": FORMAT, "version": VERSION, **about})]
        size = 0
        for rev, envelope in lines:
            line = _BEFORE + rev.encode() + _BETWEEN + envelope.encode() + _AFTER + b"\n"
            proof.update(line)
            count += 1
            piece.append(line)
            size += len(line)
            if size > _PIECE:
                file.write(_packed(b"".join(piece)))
                piece, size = [], 0
        piece.append(_json({"revisions": count, "sha256": proof.hexdigest()}))
        file.write(_packed(b"".join(piece)))
        file.flush()
    return count


def read_bundle(file: Path, known: Container[str] = ()) -> Bundle:
    """Every intact revision of a bundle, damaged or not. Of those `known`, the hash is enough.

    BadImport when it is no bundle, or one that no logbook of ours could have written: too large,
    or packed so tight that it is meant to fill the memory.
    """
    reader = _Reader(file, known)
    for line in _lines_of(_content(file), file):
        reader.take(line)
    return reader.done()


class _Reader:
    """Reads line after line, and remembers what is wrong."""

    def __init__(self, file: Path, known: Container[str]) -> None:
        self.file = file
        self.known = known
        self.number = 0
        self.headed = False
        self.footer: dict[str, Any] | None = None
        self.proof = hashlib.sha256()
        self.lines: list[Line] = []
        self.problems: list[str] = []
        self.unnamed = 0

    def take(self, raw: bytes | None) -> None:
        """One line; None for a piece that could not be unpacked."""
        self.number += 1
        if raw is None:
            self._wrong(f"A piece before line {self.number} cannot be unpacked")
            self.number -= 1
            return
        if not raw.startswith(_BEFORE):
            self._mark(raw)
            return
        self.proof.update(raw + b"\n")
        rev = raw[_NAME].decode("ascii", "replace")
        start = _NAME.stop + len(_BETWEEN)
        try:
            envelope = raw[start : -len(_AFTER)].decode()
        except UnicodeDecodeError:
            envelope = ""
        if raw[_NAME.stop : start] != _BETWEEN or not raw.endswith(_AFTER):
            why = "is not what was written down"
        else:
            why = problem_of(rev, envelope, rev in self.known)
        if why:
            self._wrong(f"Line {self.number} {why}")
        else:
            self.lines.append(Line(rev, envelope))

    def _mark(self, raw: bytes) -> None:
        """The header, the footer, or a line that is neither."""
        try:
            found = json.loads(raw)
        except (ValueError, RecursionError):
            found = None
        if isinstance(found, dict) and found.get("format") == FORMAT:
            if found.get("version") != VERSION:
                raise BadImport(
                    f"{self.file} has version {found.get('version')}, this program reads {VERSION}",
                    "update trackside, or write the bundle again with this version",
                )
            if self.headed and self.footer is None:
                self._wrong(f"Line {self.number} begins a bundle within a bundle")
            self.headed = True
        elif isinstance(found, dict) and "sha256" in found:
            if self.footer is not None:
                self._wrong(f"Line {self.number} ends it once more")
            self.footer = found
        else:
            self._wrong(f"Line {self.number} is not what was written down")

    def _wrong(self, sentence: str) -> None:
        if len(self.problems) < _NAMED:
            self.problems.append(f"{sentence}.")
        else:
            self.unnamed += 1
            if self.unnamed > MOST_WRONG:
                raise BadImport(
                    f"{self.file} unpacks to far more than a logbook holds", "do not use this file"
                )

    def done(self) -> Bundle:
        """All of it; BadImport when nothing in it was a bundle's."""
        if not self.headed and not self.lines:
            raise BadImport(f"{self.file} is not a bundle", "choose a file of bundle write")
        if self.footer is None:
            self._wrong("It is cut short: the last line is not there")
        elif not self.problems and (
            self.footer.get("revisions") != len(self.lines)
            or self.footer.get("sha256") != self.proof.hexdigest()
        ):
            self._wrong(f"It should hold {self.footer.get('revisions')} revisions")
        if self.unnamed:
            self.problems.append(f"And {self.unnamed} more like these.")
        return Bundle(self.lines, tuple(self.problems))


def _json(value: dict[str, Any]) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _packed(content: bytes) -> bytes:
    packer = zlib.compressobj(6, zlib.DEFLATED, 31)
    return packer.compress(content) + packer.flush()


def _content(file: Path) -> bytes:
    try:
        with file.open("rb") as opened:
            size = os.fstat(opened.fileno()).st_size
            content = b"" if size > MOST_PACKED else opened.read(MOST_PACKED + 1)
    except OSError as error:
        raise BadImport(
            f"{file} cannot be read ({error.strerror})", "check its name and permissions"
        ) from error
    if size > MOST_PACKED or len(content) > MOST_PACKED:
        raise BadImport(f"{file} is larger than any bundle", "check its name")
    return content


def _texts_of(packed: bytes) -> Iterator[bytes | None]:
    """The text of piece after piece, in steps; None where something else stands, or a damaged one.

    After damage it goes on at whatever begins like a piece; lines that are none fail their hash.
    """
    place = 0
    while place < len(packed):
        start = packed.find(_MEMBER, place)
        if start != place:
            yield None
        if start < 0:
            return
        try:
            place = yield from _unpacked(packed, start)
        except zlib.error:
            place = start + 1


def _unpacked(packed: bytes, place: int) -> Generator[bytes, None, int]:
    """The text of the piece at `place`, in steps; returns where the next one begins."""
    unpacker = zlib.decompressobj(31)
    given = b""
    while not unpacker.eof:
        if not given:
            given = packed[place : place + _PIECE]
            place += len(given)
            if not given:
                raise zlib.error("cut short")
        yield unpacker.decompress(given, _PIECE)
        given = unpacker.unconsumed_tail
    return place - len(unpacker.unused_data)


def _lines_of(packed: bytes, file: Path) -> Iterator[bytes | None]:
    """Line after line; None where a piece could not be unpacked."""
    total, rest = 0, b""
    for text in _texts_of(packed):
        if text is None:
            if rest:
                yield rest
            rest = b""
            yield None
            continue
        total += len(text)
        if total > min(MOST_TEXT, LONGEST_LINE + STEEPEST * len(packed)):
            raise BadImport(
                f"{file} unpacks to far more than a logbook holds", "do not use this file"
            )
        *lines, rest = (rest + text).split(b"\n")
        yield from lines
        if len(rest) > LONGEST_LINE:
            raise BadImport(f"{file} has a line without end", "do not use this file")
    if rest:
        yield rest
