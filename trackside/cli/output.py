"""What the commands print: aligned text for people, JSON for scripts, files whole or not at all."""

from __future__ import annotations

import json
import math
import os
import shutil
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import click

from trackside.cli.command_context import CommandContext
from trackside.errors import BadInput, LogbookFull, TracksideError
from trackside.reports.when_words import when_words
from trackside.units import clean

if TYPE_CHECKING:
    from trackside.analysis.estimate import Estimate
    from trackside.analysis.worth import ForceStep
    from trackside.charts import Drawing, Series
    from trackside.logbook import SessionLine


def say(*lines: str) -> None:
    """Print lines; a person's words never carry control codes to the terminal."""
    for line in lines:
        click.echo(clean(line))


def emit(value: Any) -> None:
    """Print JSON. What is not a number (no percentage of zero) is null. Where a record of the
    logbook could not be read, `problems` names it."""
    click_context = click.get_current_context(silent=True)
    context = click_context.find_object(CommandContext) if click_context else None
    if context is not None and isinstance(value, dict) and (problems := context.problems()):
        value, context.problems_told = {**value, "problems": problems}, True
    click.echo(json.dumps(_plain(value), ensure_ascii=False, indent=2, allow_nan=False))


def _plain(value: Any) -> Any:
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, (bool, int)):
        return value
    return str(value)


def table(rows: Iterable[Sequence[str]], *, right: Iterable[int] = (), indent: int = 0) -> None:
    """Print rows in columns as wide as their widest cell; columns `right` set to the right."""
    grid = [[clean(cell).replace("\n", " ") for cell in row] for row in rows]
    if not grid:
        return
    to_right = set(right)
    widths = [max(map(len, column)) for column in zip(*grid, strict=True)]
    for row in grid:
        cells = [
            cell.rjust(width) if n in to_right else cell.ljust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        click.echo((" " * indent + "  ".join(cells)).rstrip())


def signed(force: float, unit: str) -> str:
    """A force change with its sign."""
    from trackside.reports.formatting import signed_in

    return signed_in(force, unit)


def draw(
    series: Sequence[Series], ink: str, *, x_label: str, y_label: str, title: str = "", **more: Any
) -> None:
    """Print a chart as wide as the terminal, at most 100 columns."""
    from trackside.charts import plot

    columns, lines = shutil.get_terminal_size((80, 24))
    drawing: Drawing = plot(
        series,
        min(max(columns, 40), 100),
        min(max(lines - 6, 12), 20),
        x_label=x_label,
        y_label=y_label,
        title=title,
        ink=ink,
        **more,
    )
    click.echo(drawing.plain())


def estimate_body(estimate: Estimate) -> dict[str, Any]:
    """An estimated force as JSON speaks of it: where the knob stood, force, band and basis."""
    from trackside.reports.origin_words import origin_words

    at = estimate.setting
    body = {
        "corner": at.corner,
        "damper": at.damper,
        "build": at.build.version,
        "position": at.position,
        "counted_from": at.adjuster.counted_from if at.adjuster else None,
        "clicks_from_hard": at.from_hard if at.adjuster else None,
        "direction": at.direction,
        "speed_mm_s": millimetres(estimate.speed),
        "force_N": estimate.force,
        "low_N": estimate.low,
        "high_N": estimate.high,
        "basis": estimate.basis,
        "ground": origin_words(estimate.origin),
    }
    if at.preload_adjuster:
        body["preload_position"] = at.preload
        body["preload_clicks_from_hard"] = at.preload_from_hard
    return body


def step_body(step: ForceStep) -> dict[str, Any]:
    """A force change as JSON speaks of it, at the rod speeds of its two curves."""
    return {
        "speed_mm_s": millimetres(step.speed),
        "change_N": step.change,
        "change_low_N": step.low,
        "change_high_N": step.high,
        "change_percent": step.percent,
        "in_noise": step.in_noise,
        "change_basis": step.basis,
    }


def no_estimate(why: TracksideError, **place: Any) -> dict[str, Any]:
    """What stands where no force can be estimated."""
    return {**place, "basis": "no estimate", "why": str(why)}


def millimetres(speeds: Iterable[float]) -> list[float]:
    """m/s as mm/s, without the digits that only the conversion made."""
    return [round(float(speed) * 1000, 9) for speed in speeds]


def must_be_free(
    target: Path, replace: bool = False, remedy: str = "name another file, or add --replace"
) -> None:
    """BadInput where something is there already, unless it may be replaced; a logbook, a backup of
    one, or what SQLite keeps beside it, never is."""
    from trackside.logbook.atomic_file import beside_a_logbook, is_logbook

    if beside_a_logbook(target):
        raise BadInput(
            f"{target} is a name that SQLite uses for the logbook beside it", "name another file"
        )
    if not os.path.lexists(target):
        return
    if target.is_dir():
        raise BadInput(f"{target} is a folder", "name a file in it")
    if is_logbook(target):
        raise BadInput(
            f"{target} is a logbook, or a backup of one, and is never replaced", "name another file"
        )
    if not replace:
        raise BadInput(f"{target} is there already", remedy)


def write_whole(target: Path, fill: Callable[[TextIO], Any]) -> Any:
    """Write a text file whole or not at all: beside it, onto the disk, then into its place."""
    from trackside.logbook.atomic_file import whole

    target = target.resolve()
    if not target.parent.is_dir():
        why = "its folder is not there"
        raise BadInput(f"{target} cannot be written ({why})", "choose another folder")
    try:
        with whole(target) as part:
            with open(part, "w", encoding="utf-8", newline="") as file:
                result = fill(file)
            os.chmod(part, 0o666 & ~_umask())
    except LogbookFull as error:
        raise BadInput(error.cause, "choose another folder") from error
    return result


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def heading(line: SessionLine) -> str:
    """One line that says which session this is."""
    parts = (
        line.venue,
        when_words(line) or line.event_date,
        line.car_name,
        line.title,
        line.driver,
    )
    return " · ".join(part for part in parts if part) + f"  [{line.short}]"
