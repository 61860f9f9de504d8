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
from trackside.cli.screens import open_screens
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
    from trackside.logbook.samples import keep_files

    with tempfile.TemporaryDirectory(prefix="trackside-demo-") as folder:
        path = Path(folder) / "samples.trackside"
        _fill(path)
        keep_files(path)
        open_screens(context, path)


def _demo_into(target: Path) -> tuple[Path, int]:
    """The samples as a new logbook, whole or not at all; an existing file is left alone."""
    from trackside.logbook.atomic_file import to_disk
    from trackside.logbook.samples import keep_files

    target = target.absolute()
    must_be_free(target, remedy="name a new file, or remove it first")
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".trackside-") as folder:
            path = Path(folder) / "samples"
            records = _fill(path)
            keep_files(target)
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


@click.command("import", short_help="Import what export wrote, or a table of dampers or cars.")
@click.argument("file")
@click.option("--dampers", "form", flag_value="damper", help="A spreadsheet: a row a damper.")
@click.option("--cars", "form", flag_value="car", help="A spreadsheet: a row a car.")
@click.option(
    "--columns",
    multiple=True,
    metavar="NAME=OURS",
    help="What a column is, as in “Nr=serial”; remembered. May be repeated.",
)
@click.option("--instead", is_flag=True, help="In place of other values that are here.")
@scripted
@click.pass_obj
def import_(
    context: CommandContext,
    file: str,
    form: str | None,
    columns: tuple[str, ...],
    instead: bool,
    as_json: bool,
) -> None:
    """Take in what `export` wrote: all of it or nothing; what is here already stays as it is.

    With --dampers or --cars a spreadsheet, as CSV or text, goes by its headings: serial, model,
    rod diameter (mm), rebound clicks, rebound counted from …; name, number, FL scales, front spring
    (N/mm) … as the forms on screen call them. Where a row cannot be used nothing is written.
    """
    if form is not None:
        _import_rows(context, file, form, columns, instead, as_json)
        return
    if columns or instead:
        raise click.UsageError("--columns and --instead go with --dampers or --cars")
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


def _import_rows(
    context: CommandContext,
    file: str,
    form: str,
    columns: tuple[str, ...],
    instead: bool,
    as_json: bool,
) -> None:
    """Dampers or cars from a spreadsheet."""
    from trackside.crew.record_columns import named_columns
    from trackside.crew.record_table import table_in_file, take_rows
    from trackside.reports.table_words import (
        count_words,
        differs_words,
        measured_words,
        refused_words,
        unknown_words,
    )

    said = named_columns(columns, form)
    text, source = table_in_file(file)
    with context.writer() as logbook:
        taken = take_rows(
            logbook, form, text, source, context.preferences, columns=said, instead=instead
        )
        if taken.writes:
            logbook.write(*taken.writes)
    if taken.refused:
        for row in taken.refused:
            click.echo(f"trackside: {source} {refused_words(row)}", err=True)
        rows = "1 row" if len(taken.refused) == 1 else f"{len(taken.refused)} rows"
        raise BadInput(f"{rows} of {source} cannot be used: nothing is written", "put them right")
    if as_json:
        differs = {name: [vars(one) for one in found] for name, found in taken.differs.items()}
        emit({"logbook": str(context.log), "added": taken.added, "same": taken.same,
              "differs": differs, "put_right": sorted(taken.put_right),
              "columns_left_out": list(taken.unknown)})  # fmt: skip
        return
    say(count_words(taken), *(f"  {line}" for line in differs_words(taken)))
    for told in filter(None, (measured_words(taken), unknown_words(taken))):
        say(told)


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
    from trackside.logbook.backups_beside import backups_of
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
