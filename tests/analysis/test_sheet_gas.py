"""Gas force in a sheet: found where it is, never assumed, and taken out as it is."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.analysis.garage import UNIT
from tests.bench.recordings import DAMPER as RECORDED_FROM
from tests.bench.recordings import GAS as RECORDED
from tests.bench.recordings import HERTZ, table
from tests.bench.recordings import written as written_runs
from tests.running import Cli
from trackside.analysis.bench_fit import bench_fit
from trackside.analysis.shed import Shed, fit_of
from trackside.analysis.sheet_gas import GasSaid, GasUnknown, slow_rows, with_gas
from trackside.damper.gas import rod_force
from trackside.errors import BadInput
from trackside.logbook import Logbook
from trackside.records import Build, DynoSheet, read_sheet

GAS = 120.0
"""N: a 10 mm rod at 1.53 MPa gauge is 120 N (pressure × area, arithmetic)."""
SPEEDS = np.array([0.0, 2, 13, 25, 50, 75, 100, 150, 200, 250, 350, 500]) / 1000
POSITIONS = (0, 5, 10, 15, 20)
HEADER = "position,direction,speed_mm_s,force_N"


def raw(gas: float = GAS, slowest: float = 0.0, foreign: bool = False, remark: str = "") -> str:
    """What a load cell reads, positive as the rod is pushed in: gas always pushes. Friction is the
    virtual bench's own; at rest it holds nothing here."""
    lines = ["Clicks;Direction;Velocity [mm/s];Force [N]" if foreign else HEADER]
    if remark:
        lines.insert(1 - foreign, remark)
    for direction, sign in (("bump", 1.0), ("rebound", -1.0)):
        for position in POSITIONS:
            for speed in (speed for speed in SPEEDS if speed >= slowest):
                force = UNIT.true_force(direction, position, np.array([speed]))[0] if speed else 0.0
                cells = (f"{position}", direction, f"{1000 * speed:g}", f"{sign * force + gas:.2f}")
                lines.append((";" if foreign else ",").join(cells))
    return "\n".join(lines) + "\n"


def fitted(sheet: DynoSheet, direction: str) -> np.ndarray:
    """The fit's force free of gas at full soft, where the oil is least and the gas tells most."""
    fit = bench_fit(sheet, sheet.gas_force if sheet.gas_in else None).fits[direction]
    return fit.predict(20, [0.025, 0.1, 0.35]).force


TRUE = {d: UNIT.true_force(d, 20, np.array([0.025, 0.1, 0.35])) for d in ("bump", "rebound")}


def test_a_remark_is_honoured_and_the_right_force_comes_of_it() -> None:
    sheet = read_sheet(raw(slowest=0.01, remark="# gas force still in it"))
    assert sheet.gas_in is True
    held = with_gas(sheet, GasSaid(force=GAS))
    for direction, true in TRUE.items():
        assert fitted(held, direction) == pytest.approx(true, rel=0.06, abs=4)
    with pytest.raises(BadInput, match="still in it"):
        with_gas(sheet, GasSaid(free=True))
    with pytest.raises(GasUnknown, match="how much is not known"):
        with_gas(sheet, GasSaid())


def test_slow_rebound_rows_that_push_are_read_with_their_sign() -> None:
    sheet = read_sheet(raw(slowest=0.01))
    assert sheet.rebound_sign == -1
    pushed = [row for row in sheet.rows if row.force < 0]
    assert pushed
    assert {row.direction for row in pushed} == {"rebound"}
    assert max(row.speed for row in pushed) < 0.1
    with pytest.raises(GasUnknown, match="the rod pushes"):
        with_gas(sheet, GasSaid())


@pytest.mark.parametrize("slowest", [0.0, 0.001])
def test_rows_at_rest_or_at_a_creep_show_the_gas_force(slowest: float) -> None:
    """At a creep bump reads gas + friction and rebound friction − gas: half their difference is the
    gas (arithmetic); 8 N are left to the oil that flows even at 2 mm/s."""
    shown = slow_rows(read_sheet(raw(slowest=slowest)))
    assert shown is not None
    assert shown.gas == pytest.approx(GAS, abs=8)
    held = with_gas(read_sheet(raw(slowest=slowest)), GasSaid(zeroed="empty"))
    assert held.gas_in is True
    assert [w.name for w in held.warnings] == ["gas_from_rows"]
    free = read_sheet(raw(gas=0.0, slowest=slowest))
    for direction in TRUE:
        assert fitted(held, direction) == pytest.approx(fitted(free, direction), rel=0.02, abs=8)


def test_without_a_creep_nothing_is_shown() -> None:
    assert slow_rows(read_sheet(raw(slowest=0.01))) is None


def test_unsigned_rebound_shows_nothing_since_a_push_cannot_be_told() -> None:
    text = raw(gas=0.0, slowest=0.001).replace(",-", ",")
    assert slow_rows(read_sheet(text)) is None


def test_the_charge_gives_the_same_as_the_force() -> None:
    sheet = read_sheet(raw(slowest=0.01))
    pressure = GAS / (np.pi / 4 * 0.010**2)
    by_rod = with_gas(sheet, GasSaid(pressure=pressure, rod=0.010))
    assert by_rod.gas_force == pytest.approx(GAS)
    build = Build(damper="D", version="A", rod_diameter=0.010, gas_pressure=pressure)
    by_build = with_gas(sheet, GasSaid(free=False), build)
    assert by_build.gas_pressure == pressure
    assert float(rod_force(by_build.gas_pressure, 0.010)) == pytest.approx(GAS)
    assert [w.name for w in by_build.warnings] == ["gas_by_build"]
    with pytest.raises(BadInput, match="rod"):
        with_gas(sheet, GasSaid(pressure=pressure))


def test_a_foreign_table_is_asked_about_and_never_assumed() -> None:
    sheet = read_sheet(raw(gas=0.0, slowest=0.01, foreign=True))
    assert sheet.gas_in is None
    with pytest.raises(GasUnknown, match="does not say"):
        with_gas(sheet, GasSaid())
    assert with_gas(sheet, GasSaid(free=True)).gas_in is False
    assert with_gas(sheet, GasSaid(force=50)).gas_in is True
    remarked = read_sheet(raw(slowest=0.01, foreign=True, remark="Gas force included"))
    assert remarked.gas_in is True


def test_a_cell_zeroed_with_the_damper_in_has_little_left() -> None:
    sheet = read_sheet(raw(gas=0.0, slowest=0.01, foreign=True))
    held = with_gas(sheet, GasSaid(zeroed="damper"))
    assert (held.gas_in, held.zeroed) == (False, "damper")
    assert [w.name for w in held.warnings] == ["zeroed_with_damper"]
    plain = bench_fit(sheet.model_copy(update={"gas_in": False})).fits["bump"]
    unsure = bench_fit(held).fits["bump"]
    assert (plain.zero, unsure.zero) == (0.0, 18.0)
    assert fit_of(held).direction("bump").zero == 18.0
    part = with_gas(read_sheet(raw(gas=30.0)), GasSaid(zeroed="damper"))
    assert part.gas_force == pytest.approx(30, abs=1)


def test_what_is_said_and_what_the_rows_show_may_contradict() -> None:
    held = with_gas(read_sheet(raw()), GasSaid(force=2 * GAS))
    [doubt] = held.warnings
    assert (doubt.name, doubt.serious) == ("gas_unlike", True)
    assert with_gas(read_sheet(raw()), GasSaid(force=1.1 * GAS)).warnings == ()


def test_half_a_newton_below_zero_refuses_nothing() -> None:
    """A load cell's own zero."""
    text = raw(gas=0.0, slowest=0.01)
    lines = text.splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("20,rebound,13,"))
    lines[at] = "20,rebound,13,0.5"
    sheet = with_gas(read_sheet("\n".join(lines)), GasSaid())
    assert sheet.gas_in is False
    bench_fit(sheet)


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "bench.csv"
    path.write_text(text)
    return path


def test_the_command_line_asks_a_script_with_a_remedy(cli: Cli, tmp_path: Path) -> None:
    path = written(tmp_path, raw(gas=0.0, slowest=0.01, foreign=True))
    ran = cli("dyno", "fit", path, "--json")
    assert (ran.status, ran.out) == (2, "")
    for remedy in ("--gas-free", "--gas-in", "--gas-force", "--zeroed"):
        assert remedy in ran.err
    assert cli("dyno", "fit", path, "--gas-free", "--json").json["gas_force_N"] is None


@pytest.mark.parametrize(
    "arguments",
    [("--gas-force", GAS), ("--gas-in", "15.279 bar", "--rod", "10 mm"), ("--zeroed", "empty")],
)
def test_signed_raw_rows_are_fitted_on_the_command_line(
    cli: Cli, tmp_path: Path, arguments: tuple[object, ...]
) -> None:
    path = written(tmp_path, raw(slowest=0.001))
    asked = ("--count-from", "hard", "--at", 20, "--speeds", "25,100,350", *arguments)
    found = cli("dyno", "fit", path, *asked, "--json").json
    assert found["gas_force_N"] == pytest.approx(GAS, abs=8)
    free = read_sheet(raw(gas=0.0, slowest=0.001))
    for estimate in found["estimates"]:
        sign = 1 if estimate["direction"] == "bump" else -1
        told = sign * fitted(free, estimate["direction"]) + GAS
        assert estimate["force_N"] == pytest.approx(told.tolist(), rel=0.02, abs=9)


def test_a_sheet_said_to_be_free_whose_creep_is_uneven_is_a_serious_doubt(
    cli: Cli, tmp_path: Path
) -> None:
    found = cli("dyno", "fit", written(tmp_path, raw(gas=25.0, slowest=0.001)), "--json")
    doubts = {w["name"]: w for w in found.json["sheet_warnings"]}
    assert doubts["gas_left"]["serious"] is True
    assert doubts["gas_left"]["gas_N"] == pytest.approx(25, abs=8)
    much = cli("dyno", "fit", written(tmp_path, raw(slowest=0.001)), "--json")
    assert much.status == 2
    assert "the rod pushes" in much.err
    assert "the rows at 2 mm/s show 12" in much.err


def test_the_same_unit_measured_with_and_without_gas_is_the_same_damper() -> None:
    """The bench's own gas, by its own code."""
    held = replace(UNIT, gas_force=90.0).measure(POSITIONS, seed=5, gas_in=True)
    free = UNIT.measure(POSITIONS, seed=5)
    sheets = [with_gas(read_sheet(held.as_csv()), GasSaid(force=90.0)), read_sheet(free.as_csv())]
    for direction in ("bump", "rebound"):
        a, b = (fitted(sheet, direction) for sheet in sheets)
        assert a == pytest.approx(b, rel=0.03, abs=4)


def test_a_machines_signed_table_with_gas_in_is_read() -> None:
    """The sign of the speed says the direction, and slow rebound rows push."""
    lines = ["Clicks\tVelocity (mm/s)\tLoad (N)"]
    for row in raw(slowest=0.001).splitlines()[1:]:
        position, direction, speed, force = row.split(",")
        sign = "-" if direction == "rebound" else ""
        lines.append("\t".join([position, sign + speed, force.replace(".", ",")]))
    plain = with_gas(read_sheet(raw(slowest=0.001)), GasSaid(zeroed="empty"))
    found = with_gas(read_sheet("\n".join(lines)), GasSaid(zeroed="empty"))
    assert found.rows == plain.rows
    assert found.rebound_sign == -1
    assert found.gas_force == pytest.approx(plain.gas_force)


def test_runs_that_hold_their_gas_are_added_with_it(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    """Without a slow run nobody knows the gas; the remark in the sheet goes with it, and the
    charge of the build gives how much it is."""
    log = Path(shutil.copy(samples_log, tmp_path / "copy.trackside"))
    out = tmp_path / "sheet.csv"
    runs = [written_runs(tmp_path / f"run{n}.csv", table(f, 500)) for n, f in enumerate(HERTZ[1:])]
    cli("dyno", "runs", *runs, "--position", 10, "--sheet", out)
    assert "# gas force still in it" in out.read_text()
    alone = cli("dyno", "fit", out, "--count-from", "hard")
    assert (alone.status, "how much is not known" in alone.err) == (2, True)
    add = ("--log", log, "dyno", "add", out, "--damper", "FP-0611", "--yes", "--json")
    refused = cli(*add, "--gas-free")
    assert (refused.status, "still in it" in refused.err) == (2, True)
    added = cli(*add, "--gas-force", RECORDED).json
    with Logbook.open(log, read_only=True) as logbook:
        shed = Shed.of(logbook)
    build = shed.build("FP-0611")
    sheet = shed.sheet(build)
    assert (sheet.gas_in, sheet.gas_force) == (True, RECORDED)
    assert added["waits"] is False
    fit = fit_of(sheet, build).bump
    true = RECORDED_FROM.true_force("bump", 6, np.array([0.05, 0.1, 0.2]))
    assert fit.predict(10, [0.05, 0.1, 0.2], 0.0).force == pytest.approx(true, rel=0.05, abs=8)
