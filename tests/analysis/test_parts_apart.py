"""Parts on record that cannot have made the sheet beside them: said where they are other discs
beyond a wide band, and not where they are those that ran. The force is that of the parts bench,
which shares no code with the package; the limit is our own, no source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.bench.parts_bench import SPEEDS, MadeDamper, rebuilt_dampers
from trackside.analysis.parts_beside import PartsApart, parts_apart
from trackside.analysis.revalve import set_at
from trackside.analysis.shed import Shed
from trackside.preferences import Preferences
from trackside.records import Adjuster, Build, DynoRow, DynoSheet, Parts
from trackside.reports.formatting import parts_apart_words

REFERENCE = (0.025, 0.05, 0.1, 0.2, 0.3)


def _build(made: MadeDamper) -> Build:
    told = made.told
    clamp, seat = told.clamp, told.seat
    piston = (told.piston_area * 4 / np.pi + 0.012**2) ** 0.5
    parts = Parts(
        clamp=clamp, seat=seat, hub_to_seat=max(told.preload, 0.0),
        spacer=max(-told.preload, 0.0), port_count=1,
        port_diameter=(told.port_area * 4 / np.pi) ** 0.5, slot_count=0,
        bleed_hole=(told.bleed_area * 4 / np.pi) ** 0.5, needle_seat=told.needle[0],
        needle_angle=told.needle[1], needle_lift=told.needle[2], recess=told.ring[0],
    )  # fmt: skip
    stack = ", ".join(f"{1e3 * d:.6g}×{1e3 * t:.6g}" for d, t in told.discs)
    knob = Adjuster(acts_on="bump_bleed", clicks=told.clicks, counted_from="hard")
    return Build(
        damper="W", version="A", date="2026-04-01", adjusters=(knob,), piston_diameter=piston,
        rod_diameter=0.012, bump_stack=stack, bump_parts=parts,
    )  # fmt: skip


def _sheet(made: MadeDamper, seed: int) -> DynoSheet:
    rows = [
        DynoRow(float(at), "bump", float(v), float(force))
        for at in np.round(np.linspace(0, made.told.clicks, 5))
        for v, force in zip(SPEEDS, made.measure(at, seed + int(at)), strict=True)
    ]
    return DynoSheet(damper="W", build="A", date="2026-04-01", source="W.csv", rows=tuple(rows))


def _found(build: Build, sheet: DynoSheet, at: float = 3.0) -> PartsApart | None:
    shed = Shed(builds=(build,), sheets=(sheet,))
    return parts_apart(set_at(build, "bump", at, None), shed, REFERENCE)


def test_own_parts_are_seldom_called_others_and_other_discs_often() -> None:
    own = other = 0
    for n, (made, then) in enumerate(rebuilt_dampers(24, 410_000)):
        build, sheet = _build(made), _sheet(made, 1000 * n)
        own += _found(build, sheet) is not None
        other += _found(_build(then), sheet) is not None
    assert own <= 1
    assert other >= 6, "of 24: the band of parts alone is wide"


def test_what_is_said_is_of_the_build_and_not_of_a_click() -> None:
    made, _ = next(rebuilt_dampers(1, 410_000))
    build, sheet = _build(made), _sheet(made, 1)
    stronger = sheet.model_copy(
        update={"rows": tuple(row._replace(force=2.5 * row.force) for row in sheet.rows)}
    )
    found = _found(build, stronger)
    assert found is not None
    assert found.more > 1.0
    assert found == _found(build, stronger, at=6.0)
    weaker = replace(found, more=-0.2, times=1.52, speed=0.2)
    assert parts_apart_words(weaker, Preferences()) == (
        "these bump parts are not what was on the bench: at 200 mm/s its sheet makes 20 % less "
        "than they do, 1.5 times what both bands explain"
    )
    assert _found(build.model_copy(update={"bump_parts": None}), stronger) is None
