"""A dyno sheet from a file, with what the person said of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from trackside.errors import BadInput
from trackside.logbook.column_names import keep_columns, known_columns
from trackside.records import Build, DynoSheet, Said, read_sheet_files
from trackside.records.headings import OTHERS, named, own_name
from trackside.review.sheet_gas import GasSaid
from trackside.review.sheet_intake import ends_of
from trackside.tui.cell_text import read_day
from trackside.tui.widgets.ask import Question
from trackside.units import one_line, read

CHOICES = (
    "position", "direction", "speed_mm_s", "speed_in_s", "speed_m_s", "force_N", "force_lbf",
    "force_kgf", "bump_force_N", "rebound_force_N", "oil_C", "oil_F", "preload_position", "ignore",
)  # fmt: skip
COLUMNS = (
    "Say for each: position, direction, speed_mm_s (in_s, m_s), force_N (lbf, kgf), bump_force_N@8 "
    "for a column of one position, oil_C, preload_position, ignore."
)
MOST_COLUMNS = 12
"""Lines of a form that fit on a small screen."""
_LABEL = 19
_COLUMN = Question("column", "", choices=CHOICES, hint="not known: what is it?")


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


def _asked(names: Sequence[str]) -> list[str]:
    """The columns to ask about: all; of very many, those that are not understood and the others
    together."""
    if len(names) <= MOST_COLUMNS:
        return list(names)
    return [*[name for name in names if not own_name(name)][: MOST_COLUMNS - 1], OTHERS]


def column_questions(names: Sequence[str]) -> list[Question]:
    """A line for each column of a file, with what it seems to be."""
    return [
        replace(
            _COLUMN,
            name=f"column{n}",
            label=name[:_LABEL] if name != OTHERS else "all others",
            text=own_name(name),
        )
        for n, name in enumerate(_asked(names))
    ]


def columns_of(names: Sequence[str], answers: dict[str, str]) -> dict[str, str]:
    """What was said of those columns; an empty line says nothing. BadInput for what is none."""
    said = ((name, answers[f"column{n}"]) for n, name in enumerate(_asked(names)))
    return named((name, answer) for name, answer in said if answer.strip())


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
