"""A dyno sheet that was named on the command line, and what is doubtful about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trackside.cli.output import millimetres

if TYPE_CHECKING:
    from trackside.preferences import Preferences
    from trackside.records import DynoSheet, SheetWarning

COUNTED = click.Choice(("hard", "soft"))


def sheet_given(name: str, count_from: str | None) -> DynoSheet:
    """The sheet in that file, counted as the command line says."""
    from trackside.records import read_sheet_file

    sheet = read_sheet_file(name)
    return sheet.model_copy(update={"counted_from": count_from}) if count_from else sheet


def warning_body(warning: SheetWarning, preferences: Preferences) -> dict[str, Any]:
    """One warning for scripts: its stable name, where it is, its figures, and the sentence."""
    from trackside.telling.sheet_warning_words import warning_words

    place = {
        "direction": warning.direction or None,
        "position": warning.position,
        "preload_position": warning.preload_position,
        "speed_mm_s": None if warning.speed is None else millimetres([warning.speed])[0],
    }
    return {
        "name": warning.name,
        "serious": warning.serious,
        **{name: value for name, value in place.items() if value is not None},
        **warning.figures,
        "sentence": warning_words(warning, preferences),
    }
