"""A dyno sheet from a file, with what the person said of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from trackside.analysis.sheet_gas import GasSaid
from trackside.analysis.sheet_intake import ends_of
from trackside.crew.moments import read_day
from trackside.errors import BadInput
from trackside.logbook.column_names import keep_columns, known_columns
from trackside.records import Build, DynoSheet, Said, read_sheet_files
from trackside.units import one_line, read


def read_sheet(
    names: Sequence[str],
    build: Build | None = None,
    *,
    columns: Mapping[str, str] | None = None,
    counted_from: str | None = None,
    clicks: float | None = None,
    position: str = "",
    positive: str = "",
) -> DynoSheet:
    """The sheet in those files, with what a person says of it; a build says how its adjusters
    count. `columns` says what the files' are, and is remembered once they could be read. BadSheet
    says what is wrong with a file, BadColumns that a person must say what its columns are."""
    said = Said(
        columns=columns or {},
        known=known_columns(),
        ends=ends_of(build, counted_from, clicks),
        position=position,
        positive=positive,
    )
    sheet = read_sheet_files(names, said)
    keep_columns(said.columns)
    return sheet.model_copy(update={"counted_from": counted_from}) if counted_from else sheet


def of_build(sheet: DynoSheet, build: Build, day: str) -> DynoSheet:
    """The sheet as that build's, run on that day; today where nothing was said. BadInput for what
    is no date."""
    when = read_day(one_line(day) or date.today().isoformat())
    return sheet.model_copy(update={"damper": build.damper, "build": build.version, "date": when})


def sheet_of(
    build: Build, answers: dict[str, str], columns: Mapping[str, str] | None = None
) -> DynoSheet:
    """The sheet in the file that a form named, for that build; two files parted by a semicolon are
    one sheet. Errors as in `read_sheet`; BadInput says what is wrong with what was said of it."""
    counted = _one_of(answers["counted"], "hard", "soft") or None
    names = [name.strip().strip("'\"") for name in answers["path"].split(";")]
    files = [name for name in names if name] or [""]
    sheet = read_sheet(files, build, columns=columns, counted_from=counted)
    return of_build(sheet, build, answers["date"])


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
