"""A dyno sheet taken into the damper shed: written down with its warnings, signed for, let count.

The pages and the command line do it by these; `crew/sheet_file.py` reads the file before.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trackside.analysis.shed import NamedSheet, Shed
from trackside.analysis.sheet_change import SheetChange
from trackside.analysis.sheet_intake import Intake
from trackside.logbook import Logbook, Write, dampers, patch, put
from trackside.records import Build, DynoSheet

SEEN = "warnings of the dyno sheet seen"
"""The reason that signing for them goes into the history with."""


@dataclass(frozen=True)
class AddedSheet:
    """A sheet as it is written down, with its warnings in it. `other_counts`: the crew chose
    another sheet of the build, so this one does not count though it is the newest."""

    sheet: DynoSheet
    intake: Intake
    write: Write
    other_counts: bool

    @property
    def reason(self) -> str:
        """What it goes into the history with."""
        return f"dyno sheet {self.sheet.source}"

    @property
    def lost(self) -> list[SheetChange]:
        """The directions that lost force against the build's first sheet."""
        changes = self.intake.changes.values()
        return [change for change in changes if isinstance(change, SheetChange) and change.lost]


def add_sheet(intake: Intake, build: Build, seen_by: str = "") -> AddedSheet:
    """What is to be written down of a sheet that was judged; `seen_by` signs for its serious
    warnings, and without a name such a sheet waits."""
    sheet = intake.sheet
    if seen_by and sheet.waits:
        sheet = sheet.model_copy(update={"seen_by": seen_by})
    return AddedSheet(sheet, intake, put("sheet", sheet.body()), bool(build.sheet))


def waiting(shed: Shed, build: Build) -> list[NamedSheet]:
    """The build's sheets whose serious warnings nobody has seen, oldest first, with their names."""
    return [(name, sheet) for name, sheet in shed.named_sheets(build) if sheet.waits]


def sign_for(names: Iterable[str], who: str) -> list[Write]:
    """The writes by which `who` signs that the warnings of these sheets were seen."""
    return [patch("sheet", name, {"seen_by": who}) for name in names]


def choice(build: Build, shed: Shed, name: str) -> dict[str, str | None]:
    """The build's patch that lets that sheet count; the newest one counts without being chosen."""
    counting = [own for own, sheet in shed.named_sheets(build) if own == name or not sheet.waits]
    return {"sheet": None if counting[-1] == name else name}


def let_count(logbook: Logbook, build: Build, shed: Shed, name: str) -> list[Write]:
    """The writes by which that sheet of the build counts; none where it does by itself."""
    patched = choice(build, shed, name)
    if patched["sheet"] == build.sheet:
        return []
    return [patch("build", dampers.records_of(logbook, build.damper)["build"], patched)]
