"""The text of a table that a machine wrote, whatever its encoding, and its lines as cells."""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator, Sequence

from trackside.errors import BadSheet

DELIMITERS = (";", "\t", ",", "|")
_BLANKS = "  "
_BINARY = {
    b"PK\x03\x04": "a workbook or an archive",
    b"\xd0\xcf\x11\xe0": "a workbook",
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"\x1f\x8b": "a compressed file",
}
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def decoded(content: bytes, source: str) -> str:
    """The text: UTF-8, UTF-16 with or without its mark, else Windows' Latin-1. BadSheet for what
    is no text."""
    known = next((what for start, what in _BINARY.items() if content.startswith(start)), None)
    if known:
        raise BadSheet(f"{source} is {known}, not text", "export the table as a CSV or text file")
    encoding = next((name for mark, name in _BOMS if content.startswith(mark)), None)
    try:
        text = content.decode(encoding or _guessed(content))
    except UnicodeDecodeError:
        if encoding:
            name = encoding.removesuffix("-sig").upper()
            raise BadSheet(
                f"{source} is not whole: its {name} text breaks off",
                "export it again",
            ) from None
        text = content.decode("cp1252", errors="replace")
    if "\0" in text or sum(ord(letter) < 9 for letter in text[:4096]) > 2:
        raise BadSheet(f"{source} is not text", "export it as a text file")
    return text.removeprefix("\ufeff")


def _guessed(content: bytes) -> str:
    """UTF-16 without a mark has zeros at every second byte of plain letters."""
    head = content[:512]
    half = len(head) // 2
    for encoding, start in (("utf-16-le", 1), ("utf-16-be", 0)):
        if half >= 8 and head[start::2].count(0) > 0.8 * half and not head[1 - start :: 2].count(0):
            return encoding
    return "utf-8"


def cells(line: str, delimiter: str) -> list[str]:
    """The cells of one line; blanks part them where two or more stand together."""
    if delimiter == _BLANKS:
        return re.split(r" {2,}|\t+", line.strip())
    return next(csv.reader([line], delimiter=delimiter), [])


def every_cell(lines: Sequence[str], start: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """(line from 1, its cells) of every line from `start` (from 0) on."""
    if delimiter == _BLANKS:
        for n in range(start, len(lines)):
            yield n + 1, cells(lines[n], delimiter)
        return
    reader = csv.reader(lines[start:], delimiter=delimiter)
    for row in reader:
        yield start + reader.line_num, row


def delimiters(line: str) -> tuple[str, ...]:
    """The delimiters that part a line at all, the one that parts it most first."""
    found = [d for d in DELIMITERS if d in line]
    found.sort(key=lambda d: -line.count(d))
    return (*found, _BLANKS)
