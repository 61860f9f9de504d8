"""A dyno sheet from a file, with what the person said of it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from trackside.errors import BadInput, BadSheet
from trackside.records import Build, DynoSheet, read_sheet
from trackside.tui.forms import read_day
from trackside.units import one_line

LARGEST_FILE = 20_000_000
"""Bytes; a larger file is a raw recording, not a sheet of peak forces."""


def sheet_of(build: Build, answers: dict[str, str]) -> DynoSheet:
    """The sheet in the file that was named, for that build. BadSheet says what is wrong with the
    file, BadInput with what was said of it."""
    path = Path(answers["path"].strip().strip("'\""))
    try:
        path = path.expanduser()
        if path.stat().st_size > LARGEST_FILE:
            raise BadSheet(f"{path.name} is too large", "give peak speeds and forces")
        text = path.read_text("utf-8")
    except (OSError, ValueError, RuntimeError) as error:
        raise BadSheet(f"{path} cannot be read ({error})", "check the path") from error
    gas_in = _one_of(answers["gas"], "no", "yes") == "yes"
    about = {
        "damper": build.damper,
        "build": build.version,
        "date": read_day(one_line(answers["date"]) or date.today().isoformat()),
        "counted_from": _one_of(answers["counted"], "", "hard", "soft") or None,
        "gas_in": gas_in,
        "gas_pressure": build.gas_pressure if gas_in else None,
    }
    return DynoSheet.checked(read_sheet(text, path.name).body() | about)


def _one_of(typed: str, default: str, *others: str) -> str:
    """The word that was typed, `default` for none; BadInput for any other word."""
    word = typed.strip().casefold()
    known = [known for known in (default, *others) if known]
    if word and word not in known:
        raise BadInput(f"“{one_line(typed)}” is not known here", f"type {' or '.join(known)}")
    return word or default
