"""A dyno sheet that was named on the command line: what was said of it, and what is doubtful."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from typing import TYPE_CHECKING, Any, TypeVar

import click

from trackside.cli.command_context import CommandContext, number
from trackside.cli.output import millimetres, say
from trackside.units import read

if TYPE_CHECKING:
    from trackside.analysis.sheet_gas import GasSaid, GasUnknown
    from trackside.preferences import Preferences
    from trackside.records import Build, DynoSheet, SheetWarning

COUNTED = click.Choice(("hard", "soft"))
F = TypeVar("F", bound=Callable[..., Any])
_FREE, _EMPTY, _DAMPER = "out", "empty", "damper"

_OPTIONS = (
    click.option("--count-from", type=COUNTED, help="Positions count from full hard or soft."),
    click.option("--clicks", metavar="N", help="How many clicks the adjuster has."),
    click.option("--position", metavar="P", help="Of a table that has no column of it."),
    click.option(
        "--columns",
        multiple=True,
        metavar="NAME=OURS",
        help="What a column is, as in “Vel=speed_in_s”; remembered. May be repeated.",
    ),
    click.option(
        "--positive",
        type=click.Choice(("bump", "rebound")),
        help="What a positive speed or force is, where the sign decides. Default: bump.",
    ),
    click.option("--gas-free", is_flag=True, help="No gas force is in its forces."),
    click.option(
        "--gas-in", metavar="PRESSURE", help="Its forces hold the gas force of this charge (gauge)."
    ),
    click.option("--gas-force", metavar="N", help="Gas force that the sheet's forces still hold."),
    click.option("--rod", metavar="LENGTH", help="Rod diameter, for --gas-in without a build."),
    click.option(
        "--zeroed",
        type=click.Choice((_EMPTY, _DAMPER)),
        help="How the load cell was set to zero: empty, or with the damper in it.",
    ),
)


@dataclass(frozen=True)
class Given:
    """What the command line says of a dyno sheet's file."""

    count_from: str | None
    clicks: str | None
    position: str | None
    columns: Sequence[str]
    positive: str | None
    gas_free: bool
    gas_in: str | None
    gas_force: str | None
    rod: str | None
    zeroed: str | None

    def sheet(self, names: Sequence[str], build: Build | None = None) -> DynoSheet:
        """The sheet in those files; a build says how its adjusters count. What columns are is
        remembered once the files could be read."""
        from trackside.crew.sheet_file import read_sheet
        from trackside.records.headings import mapped

        return read_sheet(
            names,
            build,
            columns=mapped(self.columns),
            counted_from=self.count_from,
            clicks=None if self.clicks is None else number(self.clicks, "--clicks"),
            position=self.position or "",
            positive=self.positive or "",
        )

    def gas(self, context: CommandContext) -> GasSaid:
        """What was said of the gas force."""
        from trackside.analysis.sheet_gas import GasSaid

        bar, mm = (context.preferences.unit(quantity) for quantity in ("pressure", "length"))
        return GasSaid(
            free=self.gas_free or None,
            pressure=None if self.gas_in is None else read(self.gas_in, "pressure", bar).si,
            force=None if self.gas_force is None else read(self.gas_force, "force").si,
            zeroed=self.zeroed or "",
            rod=None if self.rod is None else read(self.rod, "length", mm).si,
        )


def about_sheet(command: F) -> F:
    """Give a command the options that say what a sheet's file does not, as `given`."""
    names = Given.__dataclass_fields__.keys()

    @wraps(command)
    def gathered(*arguments: Any, **options: Any) -> Any:
        given = Given(**{name: options.pop(name) for name in names})
        return command(*arguments, given=given, **options)

    for option in reversed(_OPTIONS):
        gathered = option(gathered)
    return gathered  # type: ignore[return-value]


def at_terminal(as_json: bool) -> bool:
    """Whether a person is there to be asked."""
    return not as_json and sys.stdin.isatty() and sys.stdout.isatty()


def asked_gas(reason: GasUnknown, said: GasSaid, context: CommandContext, as_json: bool) -> GasSaid:
    """Ask the person at the terminal what `reason` says is not known of the gas force; where nobody
    is there, GasUnknown with the options that say it."""
    if not at_terminal(as_json):
        options = "--gas-free, --gas-in PRESSURE, --gas-force N, --zeroed empty or --zeroed damper"
        raise type(reason)(reason.cause, f"{reason.remedy} ({options})") from None
    say(f"{reason}")
    if said.zeroed != _EMPTY:
        answer = click.prompt(
            "Was the gas force taken out, or the load cell set to zero empty, or with the damper "
            "in it at rest?",
            type=click.Choice((_FREE, _EMPTY, _DAMPER)),
        )
        return replace(said, free=True) if answer == _FREE else replace(said, zeroed=answer)
    unit = context.preferences.unit("force")
    told = click.prompt(f"Gas force in it ({unit})")
    return replace(said, force=read(told, "force", unit).si)


def warning_body(warning: SheetWarning, preferences: Preferences) -> dict[str, Any]:
    """One warning for scripts: its stable name, where it is, its figures, and the sentence."""
    from trackside.reports.sheet_warning_words import warning_words

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
