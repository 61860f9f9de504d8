"""Files: the sample weekends, taking in and giving out, and where everything is kept."""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import click

from trackside.cli.command_context import CommandContext, replacing, scripted
from trackside.cli.output import emit, must_be_free, say, write_whole
from trackside.errors import BadImport, BadInput

if TYPE_CHECKING:
    from trackside.logbook import Logbook


@click.command(short_help="Open the sample weekends.")
@click.option("--into", metavar="FILE", help="Only write the samples to this new logbook.")
@scripted
@click.pass_obj
def demo(context: CommandContext, into: str | None, as_json: bool) -> None:
    """Open the sample weekends, an invented team's, on a copy that is thrown away."""
    if into is not None:
        target, records = _demo_into(Path(into))
        if as_json:
            emit({"logbook": str(target), "records": records})
        else:
            from trackside.reports.cautions import INVENTED

            say(f"{records} records of the sample weekends are in {target}", INVENTED)
        return
    if as_json:
        raise click.UsageError("--json goes with --into FILE")
    with tempfile.TemporaryDirectory(prefix="trackside-demo-") as folder:
        path = Path(folder) / "samples.trackside"
        _fill(path)
        context.open_screens(path)


def _demo_into(target: Path) -> tuple[Path, int]:
    """The samples as a new logbook, whole or not at all; an existing file is left alone."""
    from trackside.logbook.atomic_file import to_disk

    target = target.absolute()
    must_be_free(target, remedy="name a new file, or remove it first")
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".trackside-") as folder:
            path = Path(folder) / "samples"
            records = _fill(path)
            path.replace(target)
            to_disk(target.parent)
    except OSError as error:
        why = error.strerror or error
        raise BadInput(f"{target} cannot be written ({why})", "choose another folder") from error
    return target, records


def _fill(path: Path) -> int:
    from trackside.logbook import Logbook
    from trackside.logbook.samples import load_samples

    with Logbook.open(path, author="samples") as logbook:
        return load_samples(logbook)


@click.command("import", short_help="Import a file that export wrote.")
@click.argument("file")
@scripted
@click.pass_obj
def import_(context: CommandContext, file: str, as_json: bool) -> None:
    """Take in what `export` wrote: all of it or nothing; what is here already stays as it is."""
    from trackside.logbook.exchange import MOST_BYTES, import_json
    from trackside.records import read_file

    text = read_file(file, BadImport, MOST_BYTES)
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        raise BadImport(
            f"{file} line {error.lineno} is not JSON ({error.msg})", "export it again"
        ) from None
    except ValueError as error:
        raise BadImport(f"{file} is not JSON ({error})", "export it again") from None
    except RecursionError:
        raise BadImport(f"{file} is nested too deep", "export it again") from None
    with context.writer() as logbook:
        try:
            taken = import_json(logbook, document, reason=f"import of {Path(file).name}")
        except BadImport as error:
            raise BadImport(f"{file}: {error.cause}", error.remedy) from error
    if as_json:
        emit({"logbook": str(context.log), **taken._asdict()})
        return
    say(f"{taken.added} records taken in, {taken.same} were here already")
    if taken.left:
        say(f"{len(taken.left)} differ from what is here, and were left as they are here:")
        say(*(f"  {entity}" for entity in taken.left))


@click.command(short_help="Export the logbook as JSON or CSV.")
@click.argument("file", required=False)
@click.option("--csv", "as_csv", is_flag=True, help="One row a reading, for a spreadsheet.")
@click.option("--wide", is_flag=True, help="As CSV with one row a session, in SI.")
@replacing
@scripted
@click.pass_obj
def export(
    context: CommandContext,
    file: str | None,
    as_csv: bool,
    wide: bool,
    replace: bool,
    as_json: bool,
) -> None:
    """Give the whole logbook out, to FILE or to the screen, as JSON that `import` takes in.

    With --csv each reading has a row: as typed, and in SI with its unit. With --wide each session
    has one, and each column names its SI unit.
    """
    as_csv = as_csv or wide
    if as_csv and as_json and file is None:
        raise click.UsageError("--csv and --json are two formats of one output")
    with context.reader() as logbook:
        if file is None:
            _give_out(logbook, as_csv, wide, sys.stdout)
            return
        target = Path(file)
        must_be_free(target, replace)
        count = write_whole(target, lambda stream: _give_out(logbook, as_csv, wide, stream))
    what = "rows" if as_csv else "records"
    if as_json:
        emit({"file": str(target), what: count})
    else:
        say(f"{count} {what} written to {file}")


def _give_out(logbook: Logbook, as_csv: bool, wide: bool, stream: TextIO) -> int:
    from trackside.logbook.exchange import export_json
    from trackside.logbook.spreadsheet import export_csv, export_wide_csv

    if as_csv:
        return (export_wide_csv if wide else export_csv)(logbook, stream)
    return export_json(logbook, stream)


@click.command()
@scripted
@click.pass_obj
def where(context: CommandContext, as_json: bool) -> None:
    """Which files are used."""
    from trackside.crew.error_log import NAME
    from trackside.logbook.rotation import backups_of
    from trackside.logbook.samples import samples_folder
    from trackside.preferences import data_folder, device_file, preferences_file

    places: dict[str, Any] = {
        "logbook": context.log,
        "backups": backups_of(context.log),
        "preferences": preferences_file(),
        "device": device_file(),
        "errors": data_folder() / NAME,
    }
    try:
        places["samples"] = samples_folder()
    except BadImport:
        places["samples"] = None
    if as_json:
        emit({name: None if path is None else path.absolute() for name, path in places.items()})
        return
    for name, path in places.items():
        state = "missing" if path is None else "" if path.exists() else "  (not made yet)"
        say(f"{name:<12} {path.absolute() if path else ''}{state}")
