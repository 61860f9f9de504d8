"""A dyno sheet from a file, with what the person said of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from trackside.analysis.sheet_gas import GasSaid
from trackside.analysis.sheet_intake import ends_of
from trackside.crew.cell_text import read_day
from trackside.errors import BadInput
from trackside.logbook.column_names import keep_columns, known_columns
from trackside.records import Build, DynoSheet, Said, read_sheet_files
from trackside.units import one_line, read


def sheet_of(
    build: Build, answers: dict[str, str], columns: Mapping[str, str] | None = None
) -> DynoSheet:
    """The sheet in the file that was named, for that build; two files parted by a semicolon are one
    sheet. `columns` says what the file's are, and is remembered. BadSheet says what is wrong with
    the file, BadColumns that a person must say what its columns are, BadInput what is wrong with
    what was said of it."""
    counted = _one_of(answers["counted"], "hard", "soft") or None
    names = [name.strip().strip("'\"") for name in answers["path"].split(";")]
    said = Said(columns or {}, known_columns(), ends_of(build, counted, None))
    sheet = read_sheet_files([name for name in names if name] or [""], said)
    keep_columns(said.columns)
    about = {
        "damper": build.damper,
        "build": build.version,
        "date": read_day(one_line(answers["date"]) or date.today().isoformat()),
    }
    return sheet.model_copy(update=about | ({"counted_from": counted} if counted else {}))


def gas_of(answers: dict[str, str], pressure_unit: str) -> GasSaid:
    """What was said of the gas force in its forces; BadInput for what is no answer."""
    held = _one_of(answers["gas"], "no", "yes")
    charge = one_line(answers["charge"])
    return GasSaid(
        free={"no": True, "yes": False}.get(held),
        pressure=read(charge, "pressure", pressure_unit).si if charge else None,
        zeroed=_one_of(answers["zeroed"], "empty", "damper"),
    )


def _one_of(typed: str, *known: str) -> str:
    """The word that was typed, empty for none; BadInput for any other word."""
    word = typed.strip().casefold()
    if word and word not in known:
        raise BadInput(f"“{one_line(typed)}” is not known here", f"type {' or '.join(known)}")
    return word
