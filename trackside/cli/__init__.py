"""The only door in. Commands import what they need when they run, the screens last of all.

Exit status: 0; 1 when the logbook file or the output cannot be used; 2 for bad input, an unknown
name or no estimate; 3 when the team hub cannot be reached; 130 after ctrl+c; 141 when whoever read
the output closed it.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from contextlib import suppress
from importlib import import_module
from pathlib import Path

import click

from trackside import __version__
from trackside.cli.command_context import CommandContext
from trackside.errors import HubAway, LogbookError, TracksideError
from trackside.units import one_line

COMMANDS = {
    "curve": "forces",
    "clicks": "forces",
    "axles": "axles",
    "road": "road",
    "changes": "compare",
    "trend": "compare",
    "revalve": "revalve",
    "dyno": "dyno",
    "list": "sessions",
    "show": "sessions",
    "find": "finding",
    "laps": "lap_times",
    "copy": "copying",
    "file": "attached_files",
    "tyres": "garage_book",
    "weather": "garage_book",
    "hours": "garage_book",
    "weights": "garage_book",
    "timetable": "time_table",
    "jobs": "jobs",
    "job": "strip_down",
    "label": "label",
    "plan": "plan",
    "box": "disc_box",
    "target": "target",
    "look": "damper_look",
    "sheet": "paper",
    "debrief": "paper",
    "verdict": "verdicts",
    "history": "history",
    "conflicts": "conflicts",
    "settle": "conflicts",
    "import": "files",
    "export": "files",
    "demo": "files",
    "where": "files",
    "backup": "keeping",
    "restore": "keeping",
    "verify": "keeping",
    "new-name": "keeping",
    "bundle": "sharing",
    "share": "sharing",
    "hub": "hub",
    "serve": "serve",
}
"""Each command and the module that it is in, where a word of Python's own has a `_` behind it."""


class _Door(click.Group):
    """A group that imports a command when it is asked for: the screens start without any."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every name, in order."""
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"trackside.cli.{COMMANDS[cmd_name]}")
        own = cmd_name.replace("-", "_") + "_" * (cmd_name in ("list", "import"))
        command: click.Command = getattr(module, own)
        return command


@click.group(
    cls=_Door,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
)
@click.option("--log", metavar="FILE", help="The logbook; without it, the season's own.")
@click.option("--read-only", is_flag=True, help="Open the screens for reading only.")
@click.version_option(__version__, prog_name="trackside", message="%(prog)s %(version)s")
@click.pass_context
def door(click_context: click.Context, log: str | None, read_only: bool) -> None:
    """The pit-lane logbook that turns damper clicks into force.

    Without a command the logbook opens on screen. SESSION is an id as `list` shows it, or last,
    last-1 …; CORNER is FL, FR, RL or RR. Every command but serve takes --json.
    """
    click_context.obj = CommandContext(Path(log) if log else None, read_only)
    if click_context.invoked_subcommand is None:
        from trackside.cli.screens import open_screens

        open_screens(click_context.obj, click_context.obj.log)


def run(arguments: list[str] | None = None) -> int:
    """Run one command line; errors become one sentence on stderr. The exit status."""
    _forgiving(sys.stdout, sys.stderr)
    given = sys.argv[1:] if arguments is None else arguments
    try:
        status = _invoke(list(given))
        sys.stdout.flush()
        return status
    except BrokenPipeError:
        _close_quietly()
        return 141
    except OSError as error:
        _close_quietly()
        what = (
            f"{error.filename} cannot be used"
            if error.filename
            else "the output could not be written"
        )
        return _fail(f"{what} ({error.strerror or error}): make room, or choose another place.", 1)
    except click.UsageError as error:
        command = error.ctx.command_path if error.ctx else _command_in(given)
        return _fail(f"{error.format_message().rstrip('.')}: see {command} --help.", 2)
    except click.ClickException as error:
        return _fail(error.format_message(), 2)
    except LogbookError as error:
        return _fail(str(error), 1)
    except HubAway as error:
        return _fail(str(error), 3)
    except TracksideError as error:
        return _fail(str(error), 2)
    except MemoryError:
        return _fail("there is not enough memory: close other programs, then try again.", 1)
    except (click.Abort, KeyboardInterrupt):
        return 130


def _invoke(arguments: list[str]) -> int:
    try:
        with door.make_context("trackside", arguments) as click_context:
            try:
                door.invoke(click_context)
            finally:
                _name_problems(click_context.obj)
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    return 0


def _name_problems(context: CommandContext | None) -> None:
    """On stderr, what the command met in the logbook and could not read."""
    for problem in context.problems() if context and not context.problems_told else ():
        click.echo(f"trackside: {one_line(problem)}", err=True)


def _command_in(given: Iterable[str]) -> str:
    """`trackside dyno fit`: the command that a command line names, where click does not say."""
    found = click.Context(door, info_name="trackside")
    for name in given:
        group = found.command
        inner = group.get_command(found, name) if isinstance(group, click.Group) else None
        if inner is not None:
            found = click.Context(inner, parent=found, info_name=name)
    return found.command_path


def _fail(sentence: str, status: int) -> int:
    with suppress(OSError):  # nowhere to say it: the status does
        click.echo(f"trackside: {one_line(sentence)}", err=True)
    return status


def _forgiving(*streams: object) -> None:
    """What a terminal's encoding lacks becomes a question mark, not a crash."""
    for stream in streams:
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure:
            reconfigure(errors="replace")


def _close_quietly() -> None:
    """Nobody reads any more, or nothing more fits: what is still buffered has nowhere to go."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
