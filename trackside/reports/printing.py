"""A page on paper: one HTML file that a browser prints, under a name of its own."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from trackside.errors import LogbookError

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed
    from trackside.logbook import Logbook
    from trackside.preferences import Preferences

MOST = 9999
"""Files of one name; more are a mistake."""
_LONGEST = 60


def printed(
    logbook: Logbook,
    entity: str,
    shed: Shed,
    preferences: Preferences,
    page: str,
    folder: Path,
) -> Path:
    """Write the session's run sheet (`page` sheet), its mechanic's sheet (to-do) or its debrief,
    or the mechanic's sheet of the plan of that code, into `folder`, never over another file; gives
    its path. UnknownRecord for what is gone, or has nothing to be compared with; LogbookError when
    the file cannot be written."""
    from trackside.reports.html import html

    if page == "sheet":
        from trackside.reports.run_sheet import run_sheet as document_of
    elif page == "to-do":
        from trackside.reports.to_do import to_do_sheet as document_of
    elif page == "plan":
        from trackside.reports.to_do import plan_sheet as document_of
    else:
        from trackside.reports.debriefing import debrief_page as document_of
    document = document_of(logbook, entity, shed, preferences)
    of = (logbook.state(entity) or {}).get("session") if page == "plan" else entity
    line = logbook.session_line(str(of))
    now = datetime.now()
    footer = f"{Path(logbook.path).name} · printed {now:%Y-%m-%d %H:%M}"
    kind = "run-sheet" if page == "sheet" else page
    name = file_name(line.start[:10], line.venue, line.title, kind)
    return write_new(folder, name, html(document, preferences.paper, footer))


def file_name(*parts: str) -> str:
    """Words as a file's name, without its ending: letters, digits, `-`; nothing leads elsewhere."""
    kept = (re.sub(r"[^\w]+", "-", part).strip("-_")[:_LONGEST] for part in parts)
    return "-".join(part for part in kept if part)


def write_new(folder: Path, name: str, text: str) -> Path:
    """Write `text` to a file that was not there before: `name.html`, else `name-2.html` …"""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path in _names(folder, name):
            with suppress(FileExistsError):
                return _written(path, text)
    except OSError as error:
        why = error.strerror or error
        raise LogbookError(f"{folder} cannot be written to ({why})", "make room there") from error
    raise LogbookError(f"{folder} holds {MOST} files of that name", "clear it out")


def _names(folder: Path, name: str) -> Iterator[Path]:
    yield folder / f"{name}.html"
    yield from (folder / f"{name}-{number}.html" for number in range(2, MOST + 1))


def _written(path: Path, text: str) -> Path:
    with path.open("x", encoding="utf-8", newline="") as file:
        try:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        except OSError:
            path.unlink(missing_ok=True)
            raise
    return path
