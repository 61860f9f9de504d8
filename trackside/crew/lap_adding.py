"""Lap times of a timing sheet, put into a session."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Final

from trackside.crew.corrections import Corrections
from trackside.errors import BadInput
from trackside.logbook import Logbook, patch
from trackside.logbook.column_names import OF_LAPS, keep_columns, known_columns
from trackside.records.files import read_bytes
from trackside.records.lap_columns import LapsSaid
from trackside.records.lap_table import LapTable, read_lap_table
from trackside.records.laps import Kept
from trackside.records.sheet_text import decoded
from trackside.units import one_line

MOST_BYTES: Final = 8 * 1024 * 1024
"""A larger file is no timing sheet."""


def laps_in_file(
    name: str, columns: Mapping[str, str] | None = None, only: tuple[str, str] = ("", "")
) -> LapTable:
    """The laps in that file. `columns` says what its columns are, and is remembered once they could
    be read; `only` which rows to take. BadInput says what is wrong with it."""
    said = LapsSaid(columns or {}, known_columns(OF_LAPS), only)
    text = decoded(read_bytes(name, BadInput, MOST_BYTES), Path(name).name)
    table = read_lap_table(text, Path(name).name, said)
    keep_columns(said.columns, OF_LAPS)
    return table


def put_laps(
    logbook: Logbook,
    entity: str,
    laps: Sequence[Kept],
    source: str,
    *,
    instead: bool = False,
    why: str = "",
) -> bool:
    """Write the laps of that file into the session, in one step of undo; False where it has just
    these. BadInput where it has others and these are not to replace them, or where they would be
    replaced after the event without a reason."""
    session = logbook.session_record(entity)
    if session.lap_times == tuple(laps):
        return False
    if session.lap_times and not instead:
        raise BadInput(
            f"this session has {len(session.lap_times)} lap times already",
            "--instead puts these in their place",
        )
    corrections = Corrections(logbook, date.today)
    if session.lap_times and not why.strip() and corrections.is_over(session.event):
        raise BadInput("a correction after the event needs its reason", "give it with --reason")
    ran = {} if session.ran else {"status": "done"}
    body = {"lap_times": list(laps), **ran}
    reason = ": ".join(part for part in (f"lap times from {source}", one_line(why)) if part)
    logbook.write(patch("session", entity, body), reason=reason)
    return True
