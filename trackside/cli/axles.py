"""The whole car in a session: damping of front against rear, heave, pitch and roll."""

from __future__ import annotations

import click

from trackside.cli.command_context import CommandContext, scripted, speeds_of
from trackside.cli.output import emit, heading, millimetres, say
from trackside.cli.sessions import record_of, session_body


@click.command(short_help="Front against rear, heave, pitch and roll.")
@click.argument("session")
@click.option("--speeds", metavar="MM/S,…", help="Wheel speeds in mm/s, as in 25,50,100.")
@scripted
@click.pass_obj
def axles(context: CommandContext, session: str, speeds: str | None, as_json: bool) -> None:
    """The whole car over wheel speed: damping ratio of front, rear and heave; damping of pitch
    and roll."""
    from trackside.analysis.axle import axles as whole_car
    from trackside.analysis.shed import Shed
    from trackside.reports.axle_words import ASSUMED, axle_lines

    asked = speeds_of(speeds)
    with context.reader() as logbook:
        line = logbook.session_line(logbook.session(session))
        record, shed = record_of(logbook, line.entity), Shed.of(logbook)
    found = whole_car(record, shed, asked or context.preferences.reference_speeds)
    if not as_json:
        say(heading(line), "", *axle_lines(found, context.preferences))
        return
    emit({
        "session": session_body(line),
        "wheel_speed_mm_s": millimetres(found.speed),
        "damping_ratio": found.ratios,
        "front_share_of_heave_damping": found.front_share,
        "frequency_Hz": {
            "front": found.front.frequency,
            "rear": found.rear.frequency,
            "heave": found.heave.frequency,
        },
        "pitch_damping_N_m_s_rad": found.pitch.damping,
        "roll_damping_N_m_s_rad": found.roll.damping,
        "heave_pitch_coupling": found.coupling,
        "assumed": ASSUMED,
    })  # fmt: skip
