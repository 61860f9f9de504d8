"""Bench recordings from the file to the dyno sheet, against a virtual damper and closed forms."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.bench.recordings import DAMPER, FORMATS, GAS, HERTZ, RATE, STROKE, motion, table, written
from trackside.analysis.rig import Rig, read_rig
from trackside.errors import BadSheet
from trackside.preferences import Preferences
from trackside.reports.sheet_warning_words import warning_words


def told(rig: Rig, name: str = "") -> list[str]:
    """The doubts of the runs, or those of that name, as sentences."""
    return [warning_words(d, Preferences()) for d in rig.doubts() if name in ("", d.name)]


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("bench")
    rates = [100, 500, 1000, 1000, 1000, 2000]
    return [
        written(folder / f"run{n}.csv", table(f, r))
        for n, (f, r) in enumerate(zip(HERTZ, rates, strict=True))
    ]


def test_the_table_is_the_dampers(session: list[Path]) -> None:
    rig = read_rig(session)
    assert told(rig) == []
    assert rig.slow is not None
    assert rig.slow.gas_force == pytest.approx(GAS, abs=6)
    assert [r.motion.frequency for r in rig.runs] == pytest.approx(list(HERTZ), rel=1e-4)
    assert [r.motion.stroke for r in rig.runs] == pytest.approx([STROKE] * 6, rel=1e-4)
    rows = rig.rows(6)
    assert len(rows) == 10  # the slow run stays out
    for row in rows:
        true = DAMPER.true_force(row.direction, 6, np.array([row.speed]))[0]
        assert row.position == 6
        assert row.force == pytest.approx(true, abs=6 + 0.01 * true)


def test_energy_is_the_integral_of_force_times_speed(session: list[Path]) -> None:
    # E = ∫ F·v dt over a cycle, summed over a fine table of the virtual damper: derived
    for run in read_rig(session).runs:
        _, _, v, force = motion(run.motion.frequency, 40_000 * run.motion.frequency, cycles=1).T
        expected = np.mean(force * v) / run.motion.frequency
        assert run.energy == pytest.approx(expected, rel=5e-3)
        assert 0.6 < run.fullness < 1.05


def test_one_file_of_all_runs_is_the_same(session: list[Path], tmp_path: Path) -> None:
    parts, start = [], 0.0
    for n, hertz in enumerate(HERTZ):
        part = table(hertz)
        number = np.full((len(part), 1), n)
        parts.append(np.hstack([part + np.array([start, 0, 0]), number]))
        start += part[-1, 0] + 0.001
    whole, formats = np.vstack(parts), [*FORMATS, "%d"]
    header = "time_s,displacement_mm,force_N,run"
    labelled = read_rig([written(tmp_path / "a.csv", whole, header, fmt=formats)])
    plain = read_rig([written(tmp_path / "b.csv", whole[:, :3])])
    apart = read_rig(session)
    for rig in (labelled, plain):
        assert [r.motion.frequency for r in rig.runs] == pytest.approx(list(HERTZ), rel=1e-3)
        forces = [f for run in rig.runs[1:] for f in rig.forces(run)]
        expected = [f for run in apart.runs[1:] for f in apart.forces(run)]
        assert forces == pytest.approx(expected, rel=0.01, abs=3)


def test_time_may_start_again_when_runs_are_numbered(tmp_path: Path) -> None:
    rows = np.vstack([np.hstack([table(f), np.full((len(table(f)), 1), f)]) for f in (1.0, 2.0)])
    header = "time_s,displacement_mm,force_N,run"
    path = written(tmp_path / "a.csv", rows, header, fmt=[*FORMATS, "%g"])
    assert len(read_rig([path]).runs) == 2


def test_without_a_slow_run_the_gas_stays_in_and_is_said(session: list[Path]) -> None:
    rig = read_rig(session[2:])
    assert rig.slow is None
    assert any("still in these forces" in warning for warning in told(rig))
    for run in rig.runs:
        true = DAMPER.true_force("bump", 6, np.array([run.peaks.speed]))[0]
        assert rig.forces(run)[0] == pytest.approx(true + GAS, rel=0.01)


@pytest.mark.parametrize(
    ("header", "factors", "offset"),
    [
        ("time_ms,displacement_mm,force_N,temperature_C", (1e3, 1, 1, 1), 0),
        # 25.4 mm an inch, 4.4482216152605 N a pound-force: by the definitions of inch, pound and
        # standard gravity
        (
            "time_s,displacement_in,force_lbf,temperature_F",
            (1, 1 / 25.4, 1 / 4.4482216152605, 1.8),
            32,
        ),
        ("time_s,displacement_m,force_kN,temperature_K", (1, 1e-3, 1e-3, 1), 273.15),
    ],
)
def test_units_go_by_the_header(
    header: str, factors: tuple[float, ...], offset: float, tmp_path: Path
) -> None:
    rows = table(1.0)
    warm = np.hstack([rows, np.linspace(30, 34, len(rows))[:, None]])
    scaled = warm * factors + [0, 0, 0, offset]
    plain = read_rig([written(tmp_path / "a.csv", rows)]).runs[0]
    other = read_rig([written(tmp_path / "b.csv", scaled, header, fmt="%.9g")]).runs[0]
    assert other.peaks.speed == pytest.approx(plain.peaks.speed, rel=1e-5)
    assert other.peaks.bump == pytest.approx(plain.peaks.bump, rel=1e-4)
    assert other.oil_C == pytest.approx(32, abs=0.2)


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_decimal_commas(delimiter: str, tmp_path: Path) -> None:
    path = written(tmp_path / "a.csv", table(1.0))
    other = tmp_path / "b.csv"
    other.write_text(path.read_text().replace(",", delimiter).replace(".", ","))
    assert read_rig([other]).runs[0].peaks == read_rig([path]).runs[0].peaks


def test_bump_and_rebound_swapped_show_in_the_gas(session: list[Path], tmp_path: Path) -> None:
    turned = [
        written(tmp_path / path.name, np.loadtxt(path, delimiter=",", skiprows=1) * [1, -1, -1])
        for path in session[:2]
    ]
    assert any("are bump and rebound swapped" in w for w in told(read_rig(turned)))


def test_what_the_gas_does_is_said_in_newtons(session: list[Path]) -> None:
    """The same runs with another slow one: closed forms of what its gas force takes off."""
    rig = read_rig(session)
    assert rig.slow is not None
    below = replace(rig, slow=replace(rig.slow, gas_force=-345.0))
    [words] = [
        warning_words(d, Preferences()) for d in below.doubts() if d.name == "gas_below_zero"
    ]
    assert "(-345 N)" in words.replace("−", "-")
    run = rig.runs[-1]
    over = replace(run.peaks, rebound=-rig.gas_at(run) - 100)
    outweighed = replace(rig, runs=(replace(run, peaks=over),))
    [words] = [
        warning_words(d, Preferences()) for d in outweighed.doubts() if d.name == "rebound_left_out"
    ]
    assert f"gas of {rig.gas_at(run):.0f} N" in words
    assert "by 100 N" in words


def test_a_late_force_and_a_warm_damper_are_said(tmp_path: Path) -> None:
    rows = table(2.5, 1000.0, cycles=20)
    late = rows.copy()
    late[:, 2] = np.roll(rows[:, 2], 75)
    found = told(read_rig([written(tmp_path / "a.csv", late)]))
    assert any("late against the displacement" in warning for warning in found)
    header = "time_s,displacement_mm,force_N,temperature_C"
    files = [
        written(
            tmp_path / f"{n}.csv",
            np.hstack([table(n), np.full((len(table(n)), 1), 30.0 * n)]),
            header,
            fmt="%.5f",
        )
        for n in (1, 2)
    ]
    assert any("warmed from 30 to 60" in w for w in told(read_rig(files)))


def triangle(hertz: float, rate: float, cycles: float = 6.3) -> np.ndarray:
    """Time s, displacement mm, force N of a triangle run of the virtual damper, gas in."""
    t = np.arange(0, cycles / hertz, 1 / rate)
    angle = 2 * np.pi * hertz * t + 0.4
    x = STROKE / np.pi * np.arcsin(np.sin(angle))
    v = 2 * STROKE * hertz * np.sign(np.cos(angle))
    bump = DAMPER.true_force("bump", 6, np.maximum(v, 0))
    rebound = DAMPER.true_force("rebound", 6, np.maximum(-v, 0))
    return np.column_stack([t, 1000 * x, bump - rebound + GAS + RATE * x])


@pytest.mark.parametrize(("make", "shape"), [(table, "sine"), (triangle, "triangle")])
def test_odd_sampling_rates_and_a_lying_header(make, shape: str, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Stroke 50 mm and speed π·S·f or 2·S·f (derived), whatever stands above the columns."""
    lie = "machine 3\nstroke 80 mm; speed 999 mm/s\ntime_s,displacement_mm,force_N"
    runs = zip((0.03, 0.16, 0.37, 0.71, 1.9), (37.3, 123.45, 987.6, 3333.3, 411.7), strict=True)
    paths = [
        written(tmp_path / f"{n}.csv", make(hertz, rate), lie)
        for n, (hertz, rate) in enumerate(runs)
    ]
    rig = read_rig(paths)
    assert told(rig) == []
    assert rig.slow is not None
    assert rig.slow.gas_force == pytest.approx(GAS, abs=2)
    assert rig.slow.gas_rate == pytest.approx(RATE, rel=0.05)
    per_cycle = np.pi if shape == "sine" else 2.0
    for run in rig.runs:
        assert run.motion.shape == shape
        assert run.motion.stroke == pytest.approx(STROKE, rel=1e-3)
        speed = per_cycle * STROKE * run.motion.frequency
        assert run.peaks.speed == pytest.approx(speed, rel=1e-3)
        for direction, force in zip(("bump", "rebound"), rig.forces(run), strict=True):
            true = DAMPER.true_force(direction, 6, np.array([run.peaks.speed]))[0]
            assert force == pytest.approx(true, rel=0.01, abs=3)


def test_a_blank_temperature_is_unknown_and_the_rest_is_read(tmp_path: Path) -> None:
    rows = table(1.0)
    lines = [
        f"{t:.5f},{x:.5f},{f:.3f},{40 if n % 10 == 0 else ''}" for n, (t, x, f) in enumerate(rows)
    ]
    path = tmp_path / "a.csv"
    path.write_text("\n".join(["time_s,displacement_mm,force_N,temperature_C", *lines]))
    run = read_rig([path]).runs[0]
    assert run.oil_C == pytest.approx(40)
    assert run.peaks.bump == read_rig([written(tmp_path / "b.csv", rows)]).runs[0].peaks.bump


def _text() -> bytes:
    rows = [f"{t:.4f},{x:.4f},{f:.2f}" for t, x, f in table(1.0)]
    return "\n".join(["time_s,displacement_mm,force_N", *rows]).encode() + b"\n"


def _line(number: int, line: str) -> bytes:
    lines = _text().decode().splitlines()
    lines[number - 1] = line
    return "\n".join(lines).encode()


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"\n \n", "is empty"),
        (b"time_s,displacement_mm,force_N\n", "no rows"),
        (b"time_s,displacement_mm\n1,2\n", "line 1 has no column force_N"),
        (b"time,displacement,force\n1,2,3\n", "no column time_s, displacement_mm, force_N"),
        (b"time_s,displacement_mm,displacement_in,force_N\n1,2,3,4\n", "names displacement twice"),
        (_text().decode().encode("utf-16"), "UTF-16"),
        (_text() + b"\0", "line 6302: time"),
        (_line(700, "0.698,\xff,3").replace("\xff".encode(), b"\xff"), "line 700 is not UTF-8"),
        (_line(2, "s,mm,N"), "line 2: time “s” is not a number: below the header come numbers"),
        (_line(40, "0.038,nan,12"), "line 40: displacement “nan” is not finite"),
        (_line(41, "0.039,1.0,inf"), "line 41: force “inf” is not finite"),
        (_line(42, "0.04,,3"), "line 42: displacement is missing"),
        (_line(43, "0.041,1.0"), "line 43 has 2 cells"),
        (_line(44, "0.042,1.0,1e4x"), "line 44: force “1e4x” is not a number"),
        (_line(45, "0.042,1.0,12"), "line 45 has the time of the line before"),
        (_line(46, "0.001,1.0,12"), "line 46: the time runs back"),
        (_text().replace(b"time_s", b"time_ms"), "travels|apart|runs at"),
        (_text().replace(b"_mm", b"_m"), "travels 5e\\+04 mm: check the unit"),
        (_text().replace(b".", b","), "line 2 has 6 cells where the header has 3: decimal commas"),
        (_text().replace(b"_mm", b"_cm"), "travels 500 mm: check the unit"),
        (_text().replace(b"_N", b"_kN"), "force at 157 mm/s is .* N: check the unit in the force"),
        (b"one\ntwo\n" + _text().replace(b"_N", b""), "line 1 has no column time_s"),
        (b"\xff\xd8\xff\xe0" * 99, "no column time_s"),
        (_text()[:9000], "line 404 has 2 cells where the header has more: .* cut off"),
        (_text()[: _text().index(b"1.4000,")], "no run of two steady cycles"),
    ],
)
def test_files_that_cannot_be_used(content: bytes, told: str, tmp_path: Path) -> None:
    path = tmp_path / "bench.csv"
    path.write_bytes(content)
    with pytest.raises(BadSheet, match=told) as raised:
        read_rig([path])
    assert "bench.csv" in raised.value.cause
    assert raised.value.remedy


def test_times_in_milliseconds_under_a_header_of_seconds(tmp_path: Path) -> None:
    rows = table(1.0) * [1000, 1, 1]
    with pytest.raises(BadSheet, match="is the time in milliseconds"):
        read_rig([written(tmp_path / "a.csv", rows)])


@pytest.mark.parametrize(("factor", "offset"), [(0.0, 200.0), (0.001, 0.0)])
def test_a_force_that_is_none(factor: float, offset: float, tmp_path: Path) -> None:
    rows = table(1.0) * [1, 1, factor] + [0, 0, offset]
    with pytest.raises(BadSheet, match=r"never changes|check the unit in the force header"):
        read_rig([written(tmp_path / "a.csv", rows)])


def test_displacement_and_force_swapped(tmp_path: Path) -> None:
    rows = table(1.0)
    big = written(tmp_path / "a.csv", rows[:, [0, 2, 1]])
    small = written(tmp_path / "b.csv", rows[:, [0, 2, 1]] * [1, 0.05, 20])
    for path in (big, small):
        with pytest.raises(BadSheet, match=r"swapped|swap the two columns"):
            read_rig([path])


def test_a_file_too_large_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with open(path, "wb") as file:
        file.truncate(2_000_000_000)
    with pytest.raises(BadSheet, match="2000 MB, too much"):
        read_rig([path])


def test_what_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(BadSheet, match="folder"):
        read_rig([tmp_path])
    with pytest.raises(BadSheet, match="there is no file"):
        read_rig([tmp_path / "none.csv"])
    with pytest.raises(BadSheet, match="is no file"):
        read_rig([Path("/dev/null")])
