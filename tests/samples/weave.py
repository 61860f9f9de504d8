"""Writes sample_sessions/ anew: `python -m tests.samples.weave`. The same bytes every time."""

from __future__ import annotations

import json
from pathlib import Path

from tests.samples import may, october
from tests.samples.bench import SHEETS
from tests.samples.book import book_entries
from tests.samples.drawings import FILES
from tests.samples.pages import Entry, entries_of, identity, opened_at
from tests.samples.team import SHEET_NOTES, shed_entries

FOLDER = Path(__file__).parents[2] / "sample_sessions"
OUTINGS = (*may.OUTINGS, *october.OUTINGS)


def entries() -> list[Entry]:
    """Every entity, in the order in which it was written down."""
    shed = shed_entries()
    entities = {e.key: e.entity for e in shed if e.kind in ("car", "event")}
    entities |= {o.key: identity("session", o.key, opened_at(o)) for o in OUTINGS}
    sessions = [entry for outing in OUTINGS for entry in entries_of(outing, entities)]
    book = book_entries(entities)
    return sorted([*shed, *sessions, *book], key=lambda entry: (entry.recorded_at, entry.entity))


def weekends() -> str:
    """The exchange document, one entity a line so that a difference is easy to read."""
    lines = [
        json.dumps(entry.document(), ensure_ascii=False, separators=(", ", ": "))
        for entry in entries()
    ]
    head = '{"format": "trackside-logbook", "version": 1, "entities": [\n'
    return head + ",\n".join(lines) + "\n]}\n"


def files() -> dict[str, str]:
    """Every generated file: path under sample_sessions/ → text."""
    sheets = {f"dyno/{name}.csv": bench.csv(name) for name, bench in SHEETS.items()}
    drawn = {f"files/{name}": text for name, text in FILES.items()}
    tables = "\n".join(note.table for note in SHEET_NOTES)
    return {"weekends.json": weekends(), "dyno/sheets.toml": tables, **sheets, **drawn}


def main() -> None:
    """Write them."""
    for name, text in files().items():
        path = FOLDER / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
