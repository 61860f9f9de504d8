"""Taking a logbook along in open formats: a JSON document, and CSV for a spreadsheet.

The document has the keys `format` ("trackside-logbook"), `version` (1) and `entities`, a list of
objects with the keys `entity` (a UUID), `kind`, `body`, `author`, `recorded_at` (ISO 8601) and
`reason`; the last three may be missing. It holds what stands now, without the history.
"""

from __future__ import annotations

import csv
import re
from typing import Any, Final, TextIO

from trackside.errors import BadImport, BadInput
from trackside.logbook.canonical import canonical
from trackside.logbook.clock import stamp_of
from trackside.logbook.revisions import Write, cleaned
from trackside.logbook.store import Imported, Logbook

FORMAT: Final = "trackside-logbook"
VERSION: Final = 1

_UUID: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_SIGNS: Final = tuple("=+-@\t\r\n'")
_NUMBER: Final = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_COLUMNS: Final = (
    *("date", "venue", "car", "kind", "number", "start", "driver", "session"),
    *("corner", "field", "typed", "unit", "si"),
)


def export_json(logbook: Logbook) -> dict[str, Any]:
    """Everything that stands in the logbook, as the document that `import_json` takes."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "entities": [standing._asdict() for standing in logbook.standing()],
    }


def import_json(logbook: Logbook, document: Any, *, reason: str = "") -> Imported:
    """Take in a document: all of it or, with BadImport, nothing.

    What is already here is never overwritten: the same again is passed over, and what differs is
    left as it is here and named in the answer. A kind that this version does not know is kept.
    """
    return logbook.adopt(*_writes(document), reason=reason)


def _writes(document: Any) -> list[Write]:
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise BadImport("This is not a trackside logbook", "choose a file that trackside exported")
    if document.get("version") != VERSION:
        raise BadImport(
            f"This file has version {document.get('version')}, this program reads {VERSION}",
            "update trackside, or export the file again with this version",
        )
    items = document.get("entities")
    if not isinstance(items, list):
        raise BadImport("The file has no list of entities", "export it again")
    writes = [_write(item, place) for place, item in enumerate(items, 1)]
    seen: set[str] = set()
    for place, write in enumerate(writes, 1):
        if write.entity in seen:
            raise BadImport(f"Entry {place} stands twice in the file", "export it again")
        seen.add(write.entity)
    return writes


def _write(item: Any, place: int) -> Write:
    if not isinstance(item, dict):
        raise BadImport(f"Entry {place} is not an object", "export the file again")
    entity, kind, body = item.get("entity"), item.get("kind"), item.get("body")
    author, reason = item.get("author", ""), item.get("reason", "")
    if not isinstance(entity, str) or not _UUID.fullmatch(entity):
        raise BadImport(f"Entry {place} has no identifier", "export the file again")
    if not isinstance(kind, str) or not kind or not isinstance(body, dict):
        raise BadImport(f"Entry {place} has no kind or no body", "export the file again")
    if not isinstance(author, str) or not isinstance(reason, str):
        raise BadImport(f"Entry {place} has an author or reason that is no text", "correct it")
    kind, body = cleaned(kind), cleaned(body)
    try:
        canonical(body)
        _check(kind, body)
        recorded_at = stamp_of(item["recorded_at"]) if item.get("recorded_at") else None
    except (BadInput, TypeError) as error:
        raise BadImport(f"Entry {place} cannot be taken in ({error})", "correct it") from error
    return Write(
        kind,
        "put",
        entity,
        body,
        cleaned(reason),
        author=cleaned(author) or None,
        recorded_at=recorded_at,
    )


def _check(kind: str, body: dict[str, Any]) -> None:
    from trackside.records import KINDS

    if kind in KINDS:
        KINDS[kind].checked(body)


def export_csv(logbook: Logbook, stream: TextIO) -> int:
    """Every reading of every session, one a row, newest session first; returns how many rows.

    `typed` is what was written down, `unit` what it was read in, `si` its value in the base unit.
    Open `stream` with newline="". No cell can start a formula in a spreadsheet: an apostrophe is
    put before what would, and before an apostrophe.
    """
    writer = csv.writer(stream)
    writer.writerow(_COLUMNS)
    count = 0
    for run, readings in logbook.session_readings():
        start = [_safe(cell) for cell in run]
        count += len(readings)
        writer.writerows(
            [*start, corner, _safe(field), _safe(typed), _safe(unit), si]
            for corner, field, typed, unit, si in readings
        )
    return count


def _safe(cell: Any) -> Any:
    """A cell that a spreadsheet takes for text: an apostrophe before what would be a formula.

    One goes before an apostrophe too, so that taking the first one off is always right.
    """
    if isinstance(cell, str) and cell[:1] in _SIGNS and not _NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell
