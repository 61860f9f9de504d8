"""A dyno sheet from a file, with what the person said of it."""

from __future__ import annotations

from datetime import date

from trackside.errors import BadInput
from trackside.records import Build, DynoSheet, read_sheet_file
from trackside.tui.cell_text import read_day
from trackside.units import one_line


def sheet_of(build: Build, answers: dict[str, str]) -> DynoSheet:
    """The sheet in the file that was named, for that build. BadSheet says what is wrong with the
    file, BadInput with what was said of it."""
    sheet = read_sheet_file(answers["path"].strip().strip("'\""))
    gas_in = _one_of(answers["gas"], "no", "yes") == "yes"
    about = {
        "damper": build.damper,
        "build": build.version,
        "date": read_day(one_line(answers["date"]) or date.today().isoformat()),
        "counted_from": _one_of(answers["counted"], "", "hard", "soft") or None,
        "gas_in": gas_in,
        "gas_pressure": build.gas_pressure if gas_in else None,
    }
    return DynoSheet.checked(sheet.body() | about)


def _one_of(typed: str, default: str, *others: str) -> str:
    """The word that was typed, `default` for none; BadInput for any other word."""
    word = typed.strip().casefold()
    known = [known for known in (default, *others) if known]
    if word and word not in known:
        raise BadInput(f"“{one_line(typed)}” is not known here", f"type {' or '.join(known)}")
    return word or default
