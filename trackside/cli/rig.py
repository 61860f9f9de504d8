"""Raw bench recordings: the table of their runs, and the dyno sheet that it makes."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import click

from trackside.cli.command_context import CommandContext, number, scripted
from trackside.cli.output import emit, millimetres, must_be_free, say, table, write_whole
from trackside.errors import BadInput, BadSheet, UnknownRecord
from trackside.units import show

if TYPE_CHECKING:
    from trackside.analysis.rig import Rig, Run
    from trackside.preferences import Preferences
    from trackside.records import DynoRow, DynoSheet

_GAS_IN = "still in it"


@click.command(short_help="Reduce raw recordings to a table.")
@click.argument("files", metavar="FILE.csv…", nargs=-1, required=True)
@click.option("--position", metavar="POSITION", help="Position of the adjuster, as counted.")
@click.option("--sheet", metavar="OUT.csv", help="Write the table as a dyno sheet.")
@click.option("--add", is_flag=True, help="Keep the other positions that OUT.csv has already.")
@click.option("--loops-of", "serial", metavar="SERIAL", help="Save the loops with its sheet.")
@scripted
@click.pass_obj
def runs(
    context: CommandContext,
    files: tuple[str, ...],
    position: str | None,
    sheet: str | None,
    add: bool,
    serial: str | None,
    as_json: bool,
) -> None:
    """Reduce raw bench recordings of one damper at one position to a table.

    A recording is a CSV with the header time_s,displacement_mm,force_N and optionally
    temperature_C and run. Displacement grows as the damper closes; force is positive in bump.
    Other units by suffix: time_ms, displacement_in, force_lbf, temperature_F. Sine or triangle,
    stroke, speed and where one run ends are found from the motion. A run of at most 5 mm/s tells
    gas force and seal friction; the gas is then taken out. One position after the other makes a
    whole sheet with --add. --loops-of keeps the mean loops with the dyno sheet that counts for a
    damper's present build, for the damper shed to draw.
    """
    if (sheet is not None or serial is not None) and position is None:
        raise click.UsageError("--sheet and --loops-of need --position")
    if add and sheet is None:
        raise click.UsageError("--add needs --sheet")
    where = None if position is None else _position(position)
    from trackside.analysis.rig import read_rig
    from trackside.reports.sheet_warning_words import warning_words

    rig = read_rig([Path(name) for name in files])
    preferences = context.tell_in(as_json)
    written: dict[str, Any] = {}
    warnings = [warning_words(doubt, preferences) for doubt in rig.doubts()]
    if sheet is not None and where is not None:
        target = _target(sheet, files, add)
        made = _made(rig, target, where, add)
        write_whole(target, lambda stream: _write(rig, made, stream))
        written = {"sheet": str(target), "rows": len(made.rows)}
        warnings += _doubts(made, warnings, preferences)
    if serial is not None and where is not None:
        kept = _keep(context, serial, where, rig)
        written |= {"damper": kept.damper, "build": kept.build, "loops": len(rig.runs)}
    if as_json:
        emit({
            "position": where,
            "runs": [_body(rig, run) for run in rig.runs],
            "gas_in": rig.slow is None,
            "gas_N": rig.slow.gas_force if rig.slow else None,
            "gas_N_per_mm": rig.slow.gas_rate / 1000 if rig.slow else None,
            "friction_N": rig.slow.friction if rig.slow else None,
            "warnings": warnings,
            **written,
        })  # fmt: skip
        return
    _say(rig, context.preferences)
    say(*(f"! {warning}" for warning in warnings))
    if "rows" in written:
        say(f"{written['rows']} rows written to {sheet}")
    if "loops" in written:
        say(f"{written['loops']} loops saved with the sheet of {written['damper']}")


def _position(text: str) -> float:
    from trackside.analysis.row_checks import MOST_CLICKS

    found = number(text, "--position")
    if not 0 <= found <= MOST_CLICKS:
        raise BadInput(
            f"--position {text} is no count of clicks", f"positions count from 0 to {MOST_CLICKS}"
        )
    return found


def _rows(rig: Rig, position: float) -> tuple[DynoRow, ...]:
    rows = rig.rows(position)
    if not rows:
        raise BadSheet("there are only slow runs", "a dyno sheet wants runs at working speeds")
    return rows


def _target(name: str, files: tuple[str, ...], add: bool) -> Path:
    target = Path(name)
    if target.exists() and any(target.samefile(given) for given in files):
        raise BadInput(f"{name} is a recording", "name another file for the sheet")
    must_be_free(target, add, "name another file, or keep its other positions with --add")
    return target


def _keep(context: CommandContext, serial: str, position: float, rig: Rig) -> DynoSheet:
    """Put the loops of that position to the sheet that counts for the damper's present build."""
    from trackside.analysis.shed import Shed
    from trackside.logbook import patch

    with context.writer() as logbook:
        shed = Shed.of(logbook)
        build = shed.build(serial)
        sheet = shed.sheet(build) if build else None
        if build is None or sheet is None:
            raise UnknownRecord(
                f"{serial} has no dyno sheet of its present build", "add one with dyno add"
            )
        known = {p for d in ("bump", "rebound") for p in sheet.positions(d)}
        if position not in known:
            told = ", ".join(f"{p:g}" for p in sorted(known))
            raise BadInput(f"its sheet has no position {position:g}", f"it has {told}")
        entity = next(name for name, one in shed.named_sheets(build) if one is sheet)
        others = [loop for loop in sheet.loops if loop.position != position]
        loops = [loop.body() for loop in (*others, *rig.loops(position))]
        logbook.write(patch("sheet", entity, {"loops": loops}), reason="loops of bench recordings")
    return sheet


def _made(rig: Rig, target: Path, position: float, add: bool) -> DynoSheet:
    """The sheet of these runs, with the other positions that its file has already."""
    from trackside.analysis.rig import GAS_STILL_IN
    from trackside.records import DynoSheet

    rows = _rows(rig, position)
    doubts = [
        doubt.model_copy(update={"position": position})
        for doubt in rig.doubts()
        if doubt.name != GAS_STILL_IN
    ]
    if add and target.exists():
        kept = _kept(target, rig)
        rows = (*(row for row in kept.rows if row.position != position), *rows)
        doubts = [*(doubt for doubt in kept.warnings if doubt.position != position), *doubts]
    return DynoSheet(source=target.name, rows=rows, gas_in=rig.slow is None, warnings=tuple(doubts))


def _kept(target: Path, rig: Rig) -> DynoSheet:
    """The sheet in that file, which must hold the gas as these runs do."""
    from trackside.records import read_sheet_file

    kept = read_sheet_file(str(target))
    if any(row.preload_position is not None for row in kept.rows):
        raise BadSheet(
            f"{target.name} has preload positions, which this table does not",
            "write another sheet, and bring the two together by hand",
        )
    if kept.gas_in == (rig.slow is not None):
        raise BadSheet(
            f"{target.name} holds the gas force and this table does not"
            if kept.gas_in
            else f"this table holds the gas force and {target.name} does not",
            "give a run of at most 5 mm/s at every position, or at none",
        )
    return kept


def _doubts(made: DynoSheet, known: list[str], preferences: Preferences) -> list[str]:
    """What is doubtful about the whole sheet, beside what is `known` of the runs."""
    from trackside.analysis.sheet_intake import judged_alone
    from trackside.reports.sheet_warning_words import warning_words

    told = (warning_words(doubt, preferences) for doubt in judged_alone(made))
    return [words for words in told if words not in known]


def _write(rig: Rig, made: DynoSheet, stream: TextIO) -> None:
    """The sheet by position; below its header remarks on the gas and on what is doubtful, which go
    with the sheet wherever it is read."""
    from trackside.preferences import Preferences
    from trackside.records.sheet_reading import warning_remark
    from trackside.reports.sheet_warning_words import warning_words

    out = csv.writer(stream, lineterminator="\n")
    out.writerow(["position", "direction", "speed_mm_s", "force_N", "oil_C"])
    gas = f"taken out: {rig.slow.gas_force:.0f} N at mid stroke" if rig.slow else _GAS_IN
    stream.write(f"# gas force {gas}\n")
    for doubt in made.warnings:
        words = warning_words(doubt, Preferences())  # a table holds words, and no figures
        told = doubt.model_copy(update={"words": words, "figures": {}})
        stream.write(f"{warning_remark(told)}\n")
    for row in sorted(made.rows, key=lambda row: row.position):
        oil = "" if row.oil_C is None else f"{row.oil_C:.1f}"
        speed = f"{row.speed * 1000:.2f}"
        out.writerow([f"{row.position:g}", row.direction, speed, f"{row.force:.1f}", oil])


def _body(rig: Rig, run: Run) -> dict[str, Any]:
    bump, rebound = rig.forces(run)
    return {
        "source": run.source,
        "run": run.number,
        "shape": run.motion.shape,
        "speed_mm_s": millimetres([run.peaks.speed])[0],
        "bump_N": bump,
        "bump_scatter_N": run.peaks.bump_scatter,
        "rebound_N": rebound,
        "rebound_scatter_N": run.peaks.rebound_scatter,
        "strokes": run.peaks.strokes,
        "energy_J": run.energy,
        "fullness": run.fullness,
        "stroke_mm": millimetres([run.motion.stroke])[0],
        "frequency_Hz": run.motion.frequency,
        "oil_C": run.oil_C,
        "slow": run.slow is not None,
    }


def _say(rig: Rig, preferences: Preferences) -> None:
    force, speed = preferences.unit("force"), preferences.unit("speed")
    length, warmth = preferences.unit("length"), preferences.unit("temperature")
    work = preferences.unit("energy")

    def forces(run: Run) -> list[str]:
        scatter = (run.peaks.bump_scatter, run.peaks.rebound_scatter)
        return [
            f"{show(value, 'force', force)} ±{show(least, 'force', force)}"
            for value, least in zip(rig.forces(run), scatter, strict=True)
        ]

    heads = [
        ("speed", "bump", "rebound", "energy", "stroke", "rate", "oil", "run", ""),
        (speed, force, force, f"{work} a cycle", length, "Hz", warmth, "", ""),
    ]
    rows = [
        (
            show(run.peaks.speed, "speed", speed), *forces(run), show(run.energy, "energy", work),
            show(run.motion.stroke, "length", length), f"{run.motion.frequency:.4g}",
            show(run.oil_C, "temperature", warmth), str(run.number),
            f"{run.motion.shape}, {run.source}",
        )
        for run in rig.runs
    ]  # fmt: skip
    table([*heads, *rows], right=range(8))
    say("±: scatter from stroke to stroke, one standard deviation")
    if rig.slow:
        gas, rub = (
            show(value, "force", force, with_unit=True)
            for value in (rig.slow.gas_force, rig.slow.friction)
        )
        say(f"gas {gas} at mid stroke, friction {rub}, from the slowest run; gas taken out above")
