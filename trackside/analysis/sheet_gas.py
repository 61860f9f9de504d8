"""The gas force in a dyno sheet: whether it is still there, how much it is, and on what that rests.

A load cell that was set to zero empty reads the gas force in every row: more in bump, less in
rebound. One set to zero with the damper in it at rest has taken most of it away. Rows at zero speed
or at a creep, where oil does not count, show what is left.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from trackside.analysis.rig import SLOW
from trackside.damper.gas import rod_force
from trackside.errors import BadInput, BadSheet
from trackside.records import Build, DynoRow, DynoSheet, SheetWarning

PUSHES = 8.0
"""N: so much a load cell's zero, or friction, may miss (our own, no source)."""
SHARE = 0.01
"""And so much of the sheet's largest force."""
LEFT = 18.0
"""Standard deviation (N) of what a cell that was set to zero with the damper in it may still read:
what friction held back and what stroke and warmth add (our own, no source)."""
UNLIKE = 0.25
"""Two figures of one gas force that differ by more, and by more than `PUSHES`, contradict."""


class GasUnknown(BadInput):
    """Nobody said whether the gas force is still in a sheet's forces, or how much it is."""


@dataclass(frozen=True)
class GasSaid:
    """What a person says of it: taken out (`free`) or not, None where nobody said; the charge
    (gauge Pa) or the force (N) that is still in; how the load cell was set to zero, "empty" or
    "damper"; the rod (m), where no build gives it."""

    free: bool | None = None
    pressure: float | None = None
    force: float | None = None
    zeroed: str = ""
    rod: float | None = None


@dataclass(frozen=True)
class SlowRows:
    """Gas force and, from a creep, friction (N) of the slowest rows, at a rod speed (m/s)."""

    gas: float
    friction: float | None
    speed: float


def slow_rows(sheet: DynoSheet) -> SlowRows | None:
    """What the rows at zero speed, or else at a creep in both directions, show; None without them,
    and where the sheet's rebound forces have no sign: a rod that pushes cannot be told there.

    At a creep bump reads gas + friction and rebound friction − gas. Where several positions creep,
    the one with the least force has least oil in it.
    """
    if sheet.rebound_sign > 0 and not any(row.force < 0.0 for row in sheet.rows):
        return None
    still = [_signed(row) for row in sheet.rows if row.speed == 0.0]
    if still:
        return SlowRows(sum(still) / len(still), None, 0.0)
    pairs = sorted(_creeping(sheet), key=lambda pair: pair[0].force + pair[1].force)
    if not pairs:
        return None
    bump, rebound = pairs[0]
    return SlowRows(
        0.5 * (bump.force - rebound.force),
        max(0.5 * (bump.force + rebound.force), 0.0),
        max(bump.speed, rebound.speed),
    )


def _signed(row: DynoRow) -> float:
    """The push on the rod: as it is in bump, turned round in rebound."""
    return row.force if row.direction == "bump" else -row.force


def _creeping(sheet: DynoSheet) -> Iterator[tuple[DynoRow, DynoRow]]:
    """The slowest bump and rebound row of each run that has both at a creep."""
    runs: dict[tuple[float, float | None], dict[str, DynoRow]] = {}
    for row in sorted(sheet.rows, key=lambda row: -row.speed):
        if 0.0 < row.speed <= SLOW:
            runs.setdefault((row.position, row.preload_position), {})[row.direction] = row
    for run in runs.values():
        if len(run) == 2:
            yield run["bump"], run["rebound"]


def with_gas(sheet: DynoSheet, said: GasSaid, build: Build | None = None) -> DynoSheet:
    """The sheet with what is known of its gas force, from the file, the person, its slowest rows or
    the build's charge, in that order of trust for the amount: a force that was said, a charge that
    was said, the rows, the build.

    GasUnknown where a person must be asked; BadInput where they contradict the file.
    """
    stated = said.pressure is not None or said.force is not None
    if said.free and (stated or said.zeroed == "empty"):
        raise BadInput("gas force taken out, and still in", "say one of them")
    if said.free and sheet.gas_in:
        raise BadInput(
            f"{sheet.source} says that gas force is still in it",
            "give the charge or the force, or correct its remark",
        )
    holds = _holds(sheet, said, stated)
    shown = slow_rows(sheet)
    known = {"gas_in": holds, "zeroed": said.zeroed}
    if said.zeroed == "damper" and not stated:
        if shown is None or abs(shown.gas) <= _slack(sheet):
            _refuse_pushing(sheet, shown)
            return _noted(sheet, known | {"gas_in": False}, [_zeroed()])
        return _noted(sheet, known | {"gas_in": True, "gas_force": shown.gas}, [_from_rows(shown)])
    if not holds:
        _refuse_pushing(sheet, shown)
        return sheet.model_copy(update=known)
    if said.force is not None:
        return _noted(sheet, known | {"gas_force": said.force}, _unlike(shown, said.force))
    rod = said.rod or (build.rod_diameter if build else None)
    if said.pressure is not None:
        if rod is None:
            raise _no_rod(sheet, build)
        force = float(rod_force(said.pressure, rod))
        own = {} if build else {"gas_force": force}
        return _noted(sheet, known | {"gas_pressure": said.pressure, **own}, _unlike(shown, force))
    if shown is not None:
        return _noted(sheet, known | {"gas_force": shown.gas}, [_from_rows(shown)])
    if build is None or build.gas_pressure is None or rod is None:
        raise GasUnknown(
            f"gas force is still in {sheet.source}, and how much is not known",
            "give the force, or the charge on the bench",
        )
    doubt = SheetWarning(
        name="gas_by_build",
        figures={"gas_N": float(rod_force(build.gas_pressure, rod)), "gas_Pa": build.gas_pressure},
    )
    return _noted(sheet, known | {"gas_pressure": build.gas_pressure}, [doubt])


def _holds(sheet: DynoSheet, said: GasSaid, stated: bool) -> bool:
    if said.free:
        return False
    if stated or said.free is False or said.zeroed == "empty":
        return True
    if sheet.gas_in is None and not said.zeroed:
        raise GasUnknown(
            f"{sheet.source} does not say whether gas force is still in its forces",
            "say whether it was taken out, or how the load cell was set to zero: empty, or with "
            "the damper in it",
        )
    return bool(sheet.gas_in)


def _no_rod(sheet: DynoSheet, build: Build | None) -> BadSheet:
    if build is None:
        return BadSheet(
            f"{sheet.source}: the rod is not known", "give its diameter, or the gas force itself"
        )
    return BadSheet(
        f"{sheet.source}: the rod of {build.damper} build {build.version} is not on record",
        "enter its diameter in the damper shed, or give the gas force itself",
    )


def _noted(sheet: DynoSheet, known: dict[str, object], doubts: list[SheetWarning]) -> DynoSheet:
    return sheet.model_copy(update={**known, "warnings": (*sheet.warnings, *doubts)})


def _zeroed() -> SheetWarning:
    return SheetWarning(name="zeroed_with_damper")


def _from_rows(shown: SlowRows) -> SheetWarning:
    figures = {"gas_N": shown.gas}
    if shown.friction is not None:
        figures["friction_N"] = shown.friction
    return SheetWarning(name="gas_from_rows", speed=shown.speed, figures=figures)


def _unlike(shown: SlowRows | None, stated: float) -> list[SheetWarning]:
    """The slowest rows against what was said."""
    if shown is None or abs(shown.gas - stated) <= max(PUSHES, UNLIKE * abs(stated)):
        return []
    figures = {"stated_N": stated, "gas_N": shown.gas}
    return [SheetWarning(name="gas_unlike", serious=True, speed=shown.speed, figures=figures)]


def _slack(sheet: DynoSheet) -> float:
    return max(PUSHES, SHARE * max(row.force for row in sheet.rows))


def zero_doubt(sheet: DynoSheet) -> float:
    """Standard deviation (N) of what all forces of a direction may be off together."""
    return LEFT if sheet.zeroed == "damper" and not sheet.gas_in else 0.0


def gas_left(sheet: DynoSheet) -> SheetWarning | None:
    """The doubt about a sheet whose gas force is said to be out, and whose slowest rows show it."""
    shown = None if sheet.gas_in else slow_rows(sheet)
    if shown is None or abs(shown.gas) <= _slack(sheet):
        return None
    figures = {"gas_N": shown.gas}
    return SheetWarning(name="gas_left", serious=True, speed=shown.speed, figures=figures)


def _refuse_pushing(sheet: DynoSheet, shown: SlowRows | None) -> None:
    """GasUnknown where the rod pushes though the gas force is said to be out."""
    least = min(sheet.rows, key=lambda row: row.force)
    if least.force >= -_slack(sheet):
        return
    remedy = "give the force, or the charge on the bench"
    if shown is not None:
        at = f"the rows at {1000 * shown.speed:.0f} mm/s show {shown.gas:.0f} N"
        remedy += f"; or say that the load cell was set to zero empty: {at}"
    raise GasUnknown(
        f"{sheet.source}: at position {least.position:g} and {1000 * least.speed:.0f} mm/s the rod "
        f"pushes with {-least.force:.0f} N against {least.direction}: gas force is still in it",
        remedy,
    )
