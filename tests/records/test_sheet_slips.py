"""Rows of a dyno sheet that cannot be: units, columns and runs mistaken for one another.

The limits are our own, no source; the factors are those of the units' definitions.
"""

from __future__ import annotations

import pytest

from tests.bench.virtual_bench import population, virtual_damper
from trackside.errors import BadSheet
from trackside.records import read_sheet

DAMPER = virtual_damper(1007)
ROWS = DAMPER.measure((0, 6, 11, 16, 22), seed=7).rows
HEADER = "position,direction,speed_mm_s,force_N"


def text(rows=ROWS, header: str = HEADER, speed: float = 1000.0, force: float = 1.0) -> str:
    """The sheet with its speeds (m/s) and forces (N) times these factors."""
    lines = [f"{p:g},{d},{v * speed:.9g},{f * force:.9g}" for p, d, v, f in rows]
    return "\n".join([header, *lines]) + "\n"


def refused(content: str) -> BadSheet:
    with pytest.raises(BadSheet) as raised:
        read_sheet(content, "odd.csv")
    assert "odd.csv line" in raised.value.cause
    return raised.value


@pytest.mark.parametrize(
    ("header", "speed", "force", "told", "remedy"),
    [
        (HEADER, 1.0, 1.0, "line 11: the largest speed is 0.5 mm/s", "header is speed_m_s"),
        (HEADER, 1 / 0.0254, 1.0, "speed is 19.685 mm/s, less", "or speed_in_s"),
        (HEADER.replace("mm_s", "in_s"), 1.0, 1.0, "speed is 0.5 in/s, less", "speed_m_s"),
        (HEADER.replace("mm_s", "in_s"), 1000.0, 1.0, "speed is 500 in/s, more", "speed_mm_s"),
        (HEADER.replace("mm_s", "m_s"), 1000.0, 1.0, "speed is 500 m/s, more", "speed_mm_s"),
        (HEADER, 1e6, 1.0, "speed is 500000 mm/s, more", "check the unit in the speed header"),
        (HEADER, 1000.0, 1e-3, "force is 1.69", "in kN perhaps? Then the header is force_kN"),
        (HEADER.replace("_N", "_kN"), 1000.0, 1.0, "kN, more than", "the header is force_N"),
        (HEADER.replace("_N", "_lbf"), 1000.0, 100.0, "lbf, more than", "unit in the force header"),
    ],
)
def test_a_unit_under_the_header_of_another(
    header: str, speed: float, force: float, told: str, remedy: str
) -> None:
    error = refused(text(header=header, speed=speed, force=force))
    assert told in error.cause
    assert remedy in error.remedy


def test_speed_and_force_swapped() -> None:
    for damper in population(20, first_seed=7000):
        rows = damper.measure((0, damper.clicks), seed=1).rows
        read_sheet(text(rows), "sound.csv")
        turned = [(p, d, f / 1000, v * 1000) for p, d, v, f in rows]
        assert "swapped" in refused(text(turned)).remedy


def test_a_bench_whose_speeds_are_never_twice_the_same_is_no_swap() -> None:
    rows = [(p, d, v * (1 + 0.004 * (n % 5)), f) for n, (p, d, v, f) in enumerate(ROWS)]
    assert len(read_sheet(text(rows)).rows) == len(ROWS)


def test_a_position_measured_twice_must_agree() -> None:
    again = [(p, d, 1.005 * v, 1.3 * f) for p, d, v, f in ROWS if (p, d) == (6, "bump")]
    error = refused(text([*ROWS, *again]))
    # 1.3 times the force is 23 % of the larger apart, and 0.5 % of speed is one point
    assert error.cause.startswith("odd.csv lines 31 and 111: position 6 in bump")
    assert "differ by 23%" in error.cause
    scattered = [(p, d, v, 1.04 * f) for p, d, v, f in ROWS]
    assert len(read_sheet(text([*ROWS, *scattered])).rows) == 2 * len(ROWS)


def test_positions_of_another_ring_are_no_repeats() -> None:
    lines = [
        f"{p:g},{d},{1000 * v:g},{f * (1 + 0.4 * n)},{n}" for n in (0, 1) for p, d, v, f in ROWS
    ]
    read_sheet("\n".join([HEADER + ",preload_position", *lines]))


def test_decimal_commas_between_commas_are_refused_not_cut_off() -> None:
    lines = text().replace(".", ",").splitlines()
    error = refused("\n".join(lines))
    assert "cells where the header has 4" in error.cause
    assert "decimal commas" in error.remedy
    blank = "\n".join(line + ",," for line in text().splitlines()[1:])
    assert len(read_sheet(f"{HEADER}\n{blank}").rows) == len(ROWS)


def test_a_file_that_ends_in_the_middle_of_a_line() -> None:
    error = refused(text()[: text().index(",", 900) + 1].rpartition(",")[0])
    assert "cut off" in error.remedy


@pytest.mark.parametrize(
    "end",
    ["5,rebound,400,12", "5,rebound,400,123.", "5,rebound,4", "5,rebound,400,1234.5,3"],
)
def test_a_file_that_ends_in_the_middle_of_its_last_number(end: str) -> None:
    header = f"{HEADER},oil_C,preload_position"
    lines = [header, *(f"{p:g},{d},{1000 * v:.1f},{f:.1f},30.5,3" for p, d, v, f in ROWS), end]
    if end.count(",") < 3:
        assert "cut off" in refused("\n".join(lines)).remedy
        return
    found = read_sheet("\n".join(lines))
    assert [(w.name, w.serious, w.words) for w in found.warnings] == [
        ("last_line_short", True, end)
    ]
    assert read_sheet("\n".join(lines[:-1])).warnings == ()  # whole, though no line end follows
    assert read_sheet("\n".join(lines) + "\n").warnings == ()


@pytest.mark.parametrize("word", ["nan", "inf", "-inf", "NaN", "1e999", ""])
def test_numbers_that_are_none(word: str) -> None:
    lines = text().splitlines()
    lines[6] = f"0,bump,150,{word}"
    assert "odd.csv line 7" in refused("\n".join(lines)).cause
