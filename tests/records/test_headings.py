"""What a heading says: the unit in SI, the direction, the position."""

from __future__ import annotations

import pytest

from trackside.records.headings import factor, heading, own_name

# 1 in = 25.4 mm, 1 lbf = 4.4482216 N, 1 kgf = 9.80665 N: NIST SP 811, appendix B.8
UNITS = [
    ("Speed [mm/s]", 0.001), ("Velocity (mm/sec)", 0.001), ("Speed mms", 0.001),
    ("Speed [m/s]", 1.0), ("Speed m/sec", 1.0), ("Vel. [mps]", 1.0),
    ("Speed [in/s]", 0.0254), ("Speed (in/sec)", 0.0254), ("Velocity, ips", 0.0254),
    ("Speed [inch/s]", 0.0254), ("Speed [inches/s]", 0.0254), ("Speed_in/s", 0.0254),
    ("Force [N]", 1.0), ("Load newton", 1.0), ("Force (newtons)", 1.0), ("Force_N", 1.0),
    ("Force [lbf]", 4.4482216), ("Load (lbs)", 4.4482216), ("Force, lb", 4.4482216),
    ("Load [pounds]", 4.4482216), ("Force [kgf]", 9.80665), ("Force [kg]", 9.80665),
    ("Force [kp]", 9.80665), ("Force (kN)", 1000.0), ("Load daN", 10.0),
    ("Displacement [mm]", 0.001), ("Travel (in)", 0.0254), ("Stroke inch", 0.0254),
    ("Displacement [m]", 1.0), ("Displacement [cm]", 0.01), ("Time [s]", 1.0), ("Time, ms", 0.001),
    ("Position [mm]", 0.001),
]  # fmt: skip


@pytest.mark.parametrize(("name", "si"), UNITS)
def test_one_unit_of_a_column_in_si(name: str, si: float) -> None:
    found = heading(name)
    if found.kind == "time":
        assert found.unit == ("s" if si == 1.0 else "ms")
    else:
        assert factor(found.kind, found.unit) == (pytest.approx(si), 0.0)


@pytest.mark.parametrize(
    ("name", "celsius"),
    [
        ("Oil temp [°C]", 20.0), ("Temp (C)", 20.0), ("Oil, degC", 20.0), ("Oil [deg c]", 20.0),
        ("Temperature celsius", 20.0), ("Temp (°F)", -6.6667), ("Oil [degF]", -6.6667),
        ("Oil [deg f]", -6.6667), ("Oil fahrenheit", -6.6667), ("Temp (F)", -6.6667),
        ("Temperature [K]", -253.15), ("Oil kelvin", -253.15),
    ],
)  # fmt: skip
def test_twenty_of_its_degrees_in_celsius(name: str, celsius: float) -> None:
    """(20 − 32) · 5/9 = −6.667; 20 − 273.15: by definition."""
    found = heading(name)
    assert found.kind == "oil"
    times, offset = factor("oil", found.unit)
    assert 20.0 * times + offset == pytest.approx(celsius, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "direction"),
    [
        *((f"{word} force [N]", "bump") for word in ("Bump", "Compression", "Comp", "Cmp",
                                                     "Closing")),
        *((f"{word} force [N]", "rebound") for word in ("Rebound", "Reb", "Extension", "Ext",
                                                        "Opening")),
        ("Force [N]", ""), ("Bump and rebound force [N]", ""), ("b 8", "bump"), ("r@12", "rebound"),
        ("C 4,5", "bump"),
    ],
)  # fmt: skip
def test_the_direction_of_a_column_of_forces(name: str, direction: str) -> None:
    assert heading(name).direction == direction
    assert heading(name).kind == "force"


@pytest.mark.parametrize(
    ("name", "kind", "position"),
    [
        ("Bump 8 [N]", "force", "8"), ("Bump force 12,5 N", "force", "12,5"),
        ("Force 2 [N]", "force", ""),  # a second channel, not a position: no direction with it
        ("Rebound full hard (N)", "force", "full hard"), ("12 clicks [N]", "force", "12"),
        ("12", "force", "12"), ("Clicks", "position", ""), ("n", "force", ""), ("N", "force", ""),
        ("x", "", ""), ("", "", ""), ("m/s", "speed", ""), ("Direction", "direction", ""),
        ("Crank angle", "angle", ""), ("Preload", "preload", ""),
    ],
)  # fmt: skip
def test_the_kind_and_the_position_of_a_column(name: str, kind: str, position: str) -> None:
    assert heading(name)[::3] == (kind, position)


@pytest.mark.parametrize(
    ("theirs", "own"),
    [
        ("Speed [mm/s]", "speed_mm_s"), ("Bump 8 [N]", "bump_force_N@8"), ("Oil [°C]", "oil_C"),
        ("Load [lbf]", "force_lbf"), ("Clicks", "position"), ("Dir", "direction"),
        ("Preload clicks", "preload_position"), ("Speed", ""), ("Comment", ""),
    ],
)  # fmt: skip
def test_the_programs_own_heading_for_it(theirs: str, own: str) -> None:
    assert own_name(theirs) == own
