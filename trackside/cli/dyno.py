"""Dyno sheets: fit one by itself, add it to a damper of the logbook, make one of recordings."""

from __future__ import annotations

import click

from trackside.cli.dyno_add import add
from trackside.cli.dyno_compare import compare
from trackside.cli.dyno_fit import fit
from trackside.cli.dyno_seen import seen
from trackside.cli.rig import runs


@click.group(short_help="Dyno sheets: fit, add to a damper, or make from recordings.")
def dyno() -> None:
    """Dyno sheets: fit one, add it to a damper, or make one from raw recordings.

    A sheet is a CSV with the header position,direction,speed_mm_s,force_N and optionally oil_C.
    Other units by suffix: speed_in_s, force_lbf, oil_F. Rebound forces may be negative. Tables that
    a machine exports are read too; --columns says what columns with names of their own are.
    """


for command in (fit, add, seen, compare, runs):
    dyno.add_command(command)
