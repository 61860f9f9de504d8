"""Taking a logbook along as a JSON document (RFC 8259), there and back without loss.

The document has the keys `format` ("trackside-logbook"), `version` (1) and `entities`, a list of
objects with the keys `entity` (a UUID), `kind`, `body`, `author`, `recorded_at` (ISO 8601) and
`reason`; the last three may be missing. It holds what stands now, without the history.
"""

from __future__ import annotations

import json
import re
from typing import Any, Final, TextIO

from trackside.errors import BadImport, BadInput
from trackside.logbook.canonical import canonical
from trackside.logbook.clock import stamp_of
from trackside.logbook.revisions import DEEPEST, Write, cleaned, is_deeper, is_name
from trackside.logbook.store import Imported, Logbook

FORMAT: Final = "trackside-logbook"
VERSION: Final = 1
MOST_BYTES: Final = 512 << 20
"""A larger file is no document of ours: ten seasons take 80 MB."""

_UUID: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def export_json(logbook: Logbook, stream: TextIO) -> int:
    """Write everything that stands as the document that `import_json` takes, one record a line;
    returns how many. A body is written as the logbook keeps it."""
    stream.write(f'{{"format": {json.dumps(FORMAT)}, "version": {VERSION}, "entities": [')
    count = 0
    for entity, kind, body, author, recorded_at, reason in logbook.current_rows():
        head = _text({"entity": entity, "kind": kind})
        tail = _text({"author": author, "recorded_at": recorded_at, "reason": reason})
        stream.write(f'{"," if count else ""}\n{head[:-1]}, "body": {body}, {tail[1:]}')
        count += 1
    stream.write("\n]}\n")
    return count


def _text(value: dict[str, str]) -> str:
    return json.dumps(value, ensure_ascii=False)


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
            raise BadImport(f"Entry {place} is in the file twice", "export it again")
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
    if is_deeper(body, DEEPEST):
        raise BadImport(f"Entry {place} is nested deeper than {DEEPEST} levels", "write it again")
    kind, body = cleaned(kind), cleaned(body)
    if not is_name(kind):
        raise BadImport(f"Entry {place} has a kind that is no name", "correct it")
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
