"""A small shed for the analysis tests: four dampers that are known in four ways.

HARD has 20 clicks from full hard and a dyno sheet, SOFT is the same unit on paper with 16 clicks
from full soft and a sheet of its own, RULE has the shop's figure alone, BARE nothing.
"""

from __future__ import annotations

from dataclasses import replace

from tests.bench.virtual_bench import VirtualDamper, virtual_damper
from trackside.analysis.shed import Shed
from trackside.preferences import Preferences
from trackside.records import (
    Adjuster,
    Build,
    Car,
    CarCorner,
    CornerSheet,
    Damper,
    DynoRow,
    DynoSheet,
    Reading,
    Session,
    ShopRule,
)

PREFERENCES = Preferences()
SPEEDS = PREFERENCES.reference_speeds
MOTION_RATIO = 0.7

UNIT: VirtualDamper = replace(virtual_damper(1007), clicks=20)
OTHER: VirtualDamper = replace(virtual_damper(1011), clicks=16)


def knobs(clicks: int, counted: str) -> tuple[Adjuster, ...]:
    """A bump and a rebound knob."""
    return tuple(
        Adjuster(acts_on=f"{d}_bleed", clicks=clicks, counted_from=counted)  # type: ignore[arg-type]
        for d in ("bump", "rebound")
    )


def sheet_of(serial: str, unit: VirtualDamper, clicks: int, counted: str) -> DynoSheet:
    """Five positions on the virtual bench, as that adjuster counts."""
    positions = [clicks * n / 4 for n in range(5)]
    rows = [
        DynoRow(clicks - p if counted == "soft" else p, d, v, f)  # type: ignore[arg-type]
        for p, d, v, f in unit.measure(positions, seed=3).rows
    ]
    return DynoSheet(
        damper=serial, build="A", date="2026-04-01", source=f"{serial}.csv", rows=tuple(rows)
    )


RULES = tuple(
    ShopRule(direction=d, full_hard_force=force, reference_speed=0.1, share_per_click=0.03)  # type: ignore[arg-type]
    for d, force in (("bump", 500.0), ("rebound", 900.0))
)

SHED = Shed(
    dampers=tuple(Damper(serial=s) for s in ("BARE", "HARD", "RULE", "SOFT", "TWIN")),
    builds=(
        Build(damper="HARD", version="A", adjusters=knobs(20, "hard")),
        Build(damper="TWIN", version="A", adjusters=knobs(20, "soft")),
        Build(damper="SOFT", version="A", adjusters=knobs(16, "soft")),
        Build(damper="RULE", version="A", adjusters=knobs(20, "hard"), shop_rules=RULES),
        Build(damper="BARE", version="A", adjusters=knobs(20, "hard")),
    ),
    sheets=(
        sheet_of("HARD", UNIT, 20, "hard"),
        sheet_of("TWIN", UNIT, 20, "soft"),
        sheet_of("SOFT", OTHER, 16, "soft"),
    ),
    cars={"car": Car(name="Car", FL=CarCorner(motion_ratio=MOTION_RATIO))},
)


RING = Adjuster(acts_on="bump_preload", clicks=6, counted_from="soft")

HARD, TWIN, SOFT, RULE, BARE = SHED.builds
SHEET = SHED.sheets[0]


def bar(value: float) -> Reading:
    """A pressure, typed in bar."""
    return Reading.of_si(value * 1e5, "pressure")


def degrees(value: float) -> Reading:
    """A temperature, typed in °C."""
    return Reading.of_si(value, "temperature")


def with_ring(serial: str, varied_at: tuple[float, ...] = ()) -> Shed:
    """The shed with a preload ring on that damper; its sheet varied the ring at those positions,
    each click worth 5 % of the bump force (made up)."""

    def ringed(sheet: DynoSheet) -> DynoSheet:
        bump = [
            DynoRow(r.position, r.direction, r.speed, r.force * (1 + 0.05 * at), None, at)
            for at in varied_at
            for r in sheet.of_direction("bump")
        ]
        rows = (*bump, *sheet.of_direction("rebound"))
        return sheet.model_copy(update={"rows": rows}) if bump else sheet

    return replace(
        SHED,
        builds=tuple(
            b.model_copy(update={"adjusters": (*b.adjusters, RING)}) if b.damper == serial else b
            for b in SHED.builds
        ),
        sheets=tuple(ringed(s) if s.damper == serial else s for s in SHED.sheets),
    )


def cut(serial: str, rows: tuple[DynoRow, ...]) -> Shed:
    """The shed with only those rows in that damper's sheet."""
    sheets = (s.model_copy(update={"rows": rows}) if s.damper == serial else s for s in SHED.sheets)
    return replace(SHED, sheets=tuple(sheets))


def at_one_position(serial: str, position: float) -> Shed:
    """The shed with that damper's sheet run at one position only."""
    sheet = next(s for s in SHED.sheets if s.damper == serial)
    return cut(serial, tuple(row for row in sheet.rows if row.position == position))


def corner(
    damper: str | None = "HARD", bump: float | None = 8, rebound: float | None = 8, **more: object
) -> CornerSheet:
    """A corner with its damper and both positions as counted."""

    def clicks(position: float | None) -> Reading | None:
        return None if position is None else Reading.of_si(position, "clicks")

    return CornerSheet(
        damper=damper,
        bump_bleed=clicks(bump),
        rebound_bleed=clicks(rebound),
        **more,  # type: ignore[arg-type]
    )


def session(all_four: CornerSheet | None = None, **more: object) -> Session:
    """A session of the car; every corner like `all_four` unless given by name."""
    corners = dict.fromkeys(("FL", "FR", "RL", "RR"), all_four or corner())
    return Session(car="car", **{**corners, **more})  # type: ignore[arg-type]
