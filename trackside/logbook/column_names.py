"""What the columns of a machine's tables are, as a person once said: in a small file beside the
preferences, so that the next table of that machine needs no question."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from trackside.errors import BadPreference
from trackside.logbook.atomic_file import whole
from trackside.preferences import config_folder

MOST = 100
"""Machines; the oldest is forgotten."""


OF_LAPS = "lap-columns"
"""Which file it is: that of timing sheets, beside that of dyno sheets."""


def columns_file(of: str = "columns") -> Path:
    """Where they are kept; it need not exist."""
    return config_folder() / f"{of}.json"


def known_columns(of: str = "columns") -> tuple[dict[str, str], ...]:
    """Every machine's names, casefolded, to the program's own headings; the last said first.
    Empty where the file may not be read; BadPreference when it is none of ours."""
    path = columns_file(of)
    try:
        found = json.loads(path.read_text("utf-8"))
        return tuple(
            {str(theirs): str(ours) for theirs, ours in machine.items()} for machine in found
        )
    except OSError:
        return ()
    except (ValueError, AttributeError, TypeError, RecursionError) as error:
        raise BadPreference(
            f"{path} cannot be read", "remove it, and say again what the columns are"
        ) from error


def keep_columns(columns: Mapping[str, str], of: str = "columns") -> None:
    """Remember them for every table that has all of these names."""
    known = known_columns(of)
    if not columns or dict(columns) in known:
        return
    others = [one for one in known if one.keys() != columns.keys()]
    with whole(columns_file(of)) as part:
        text = json.dumps([dict(columns), *others][:MOST], ensure_ascii=False, indent=1)
        part.write_text(text + "\n", "utf-8")
