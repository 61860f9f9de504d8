"""What is handed to the chart: which curve, in which unit, with which sign, name and letter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from trackside.analysis.axle import axles
from trackside.analysis.estimate import drawn_speeds
from trackside.analysis.shed import Shed, fit_of, gas_force
from trackside.charts import Series
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.records import DynoRow, DynoSheet
from trackside.records.dyno import Loop
from trackside.reports import axle_map, loops, sheet_picture

SI = Preferences()
INCHES = Preferences(units={"speed": "in/s", "force": "lbf", "length": "in", "energy": "ft·lbf"})
INCH, POUND = 0.0254, 4.4482216152605  # NIST SP 811, appendix B.8: exact


@dataclass(frozen=True)
class Drawn:
    """What a chart was asked for."""

    series: list[Series]
    width: int
    height: int
    more: dict[str, Any]


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Drawn]:
    """Calls a drawing, and gives what it wanted drawn."""

    def ask(module: Any, name: str, *arguments: Any) -> Drawn:
        monkeypatch.setattr(module, "plot", lambda *a, **more: Drawn(*a, more))
        found = getattr(module, name)(*arguments)
        assert isinstance(found, Drawn)
        return found

    return ask


def test_the_whole_car_is_drawn_over_wheel_speed_by_axle(
    drawn: Callable[..., Drawn], samples: Logbook
) -> None:
    shed = Shed.of(samples)
    lines = sorted(samples.each_session(), key=lambda line: line.start)
    now = samples.session_record(lines[-1].entity)
    found = axles(now, shed, drawn_speeds(SI.peak_speed))
    for preferences, unit in ((SI, 1e-3), (INCHES, INCH)):
        picture = drawn(axle_map, "axle_drawing", now, shed, 60, 16, preferences)
        assert [(one.label, one.role) for one in picture.series] == [
            ("front", "FL"), ("rear", "RL"), ("heave", "other")
        ]  # fmt: skip
        for one in picture.series:
            assert np.asarray(one.x) == pytest.approx(found.speed / unit)
            assert np.asarray(one.y) == pytest.approx(found.ratios[one.label])
        assert (picture.width, picture.height) == (60, 16)
        assert picture.more["x_label"] == preferences.unit("speed")
        assert picture.more["y_label"] == "ζ"


# ── a sheet ─────────────────────────────────────────────────────────────────────────────────────


def sheet(samples: Logbook) -> tuple[DynoSheet, Any, Any, float]:
    shed = Shed.of(samples)
    [one] = [sheet for sheet in shed.sheets if sheet.source == "FP-0611-A.csv"]
    build = shed.build(one.damper, one.build)
    assert build is not None
    return one, build, fit_of(one, build), gas_force(one, build) or 0.0


@pytest.mark.parametrize(
    ("preferences", "speed", "force"), [(SI, 1e-3, 1.0), (INCHES, INCH, POUND)]
)
def test_a_sheet_shows_each_point_less_gas_and_rebound_below_zero(
    preferences: Preferences, speed: float, force: float, samples: Logbook,
    drawn: Callable[..., Drawn],
) -> None:  # fmt: skip
    one, build, fit, gas = sheet(samples)
    picture = drawn(sheet_picture, "sheet_drawing", one, build, fit, 60, 30, preferences)
    assert picture.more["x_label"] == preferences.unit("speed")
    assert picture.more["y_label"] == preferences.unit("force")
    for direction, sign in (("bump", 1.0), ("rebound", -1.0)):
        points = {
            (round(float(x), 6), round(float(y), 6))
            for series in picture.series
            if series.role == direction and series.marked is None
            for x, y in zip(series.x, series.y, strict=True)  # type: ignore[arg-type]
            if x == x
        }
        measured = {
            (round(row.speed / speed, 6), round(sign * (row.force - sign * gas) / force, 6))
            for row in one.of_direction(direction)
        }
        assert points == measured


def test_a_curve_of_a_sheet_ends_at_the_fastest_row_with_its_letter_and_count(
    samples: Logbook, drawn: Callable[..., Drawn]
) -> None:
    one, build, fit, _ = sheet(samples)
    picture = drawn(sheet_picture, "sheet_drawing", one, build, fit, 60, 60, SI)
    curves = [series for series in picture.series if series.marked is not None]
    letters = [(series.role, series.marker, series.label) for series in curves]
    counts = ["0", "5", "10", "15", "20"]
    assert [letter for role, letter, _ in letters if role == "bump"] == list("abcde")
    assert [letter for role, letter, _ in letters if role == "rebound"] == list("abcde")
    assert [label for role, _, label in letters if role == "bump"] == counts
    for series in curves:
        assert series.x[-1] == pytest.approx(  # type: ignore[index]
            1e3 * max(row.speed for row in one.of_direction(series.role))
        )
        assert np.all(np.diff(series.x) > 0)
        assert len(series.x) >= 40  # smooth at a glance  # type: ignore[arg-type]
        assert (np.asarray(series.y) > 0).all() == (series.role == "bump")
    low = drawn(sheet_picture, "sheet_drawing", one, build, fit, 60, 8, SI)
    named = [series.label for series in low.series if series.label]
    assert sorted(named, key=int) == counts, "each count once where the chart is low"


def test_points_of_a_narrow_chart_show_a_letter_each(
    samples: Logbook, drawn: Callable[..., Drawn]
) -> None:
    one, build, fit, _ = sheet(samples)
    for width in (3, 60):
        picture = drawn(sheet_picture, "sheet_drawing", one, build, fit, width, 30, SI)
        for series in picture.series:
            if series.marked is None:
                xs = np.asarray(series.x)
                assert 1 <= np.isfinite(xs).sum() <= max(1, width // 5)
                assert np.isnan(xs[1::2]).all(), "a gap behind each: no line between points"


# ── loops ───────────────────────────────────────────────────────────────────────────────────────


def loop(speed: float, position: float = 8.0, half: float = 0.025, force: float = 300.0) -> Loop:
    """In at +force, out at −force."""
    return Loop(
        position=position,
        speed=speed,
        displacement=(-half, half, half, -half),
        force=(force, force, -force, -force),
    )


ROW = DynoRow(8.0, "bump", 0.1, 500.0)


def test_a_loop_is_drawn_in_two_halves_with_its_letter_and_its_speed(
    drawn: Callable[..., Drawn],
) -> None:
    two = [loop(0.05), loop(0.254)]
    for preferences, length, force in ((SI, 1e-3, 1.0), (INCHES, INCH, POUND)):
        picture = drawn(loops, "loop_drawing", two, 60, 20, preferences)
        assert [(s.role, s.marker) for s in picture.series] == [
            ("bump", "a"), ("rebound", "a"), ("bump", "b"), ("rebound", "b")
        ]  # fmt: skip
        bump, rebound = picture.series[2:]
        assert list(bump.x) == pytest.approx([-0.025 / length, 0.025 / length])
        assert list(bump.y) == pytest.approx([300 / force, 300 / force])
        assert rebound.x[0] == pytest.approx(0.025 / length)
        assert min(rebound.y) == pytest.approx(-300 / force)
        assert picture.more["x_label"] == preferences.unit("length")
        assert picture.more["y_label"] == preferences.unit("force")
        assert picture.more["title"] == "bump up, closing right"
    assert [s.label for s in drawn(loops, "loop_drawing", two, 60, 20, SI).series] == [
        "50 mm/s", "", "254 mm/s", ""
    ]  # fmt: skip
    inches = drawn(loops, "loop_drawing", two, 60, 20, INCHES)
    assert inches.series[2].label == "10.00 in/s"


def test_a_low_chart_shows_some_loops_the_fastest_among_them(drawn: Callable[..., Drawn]) -> None:
    five = [loop(0.05 * n) for n in range(1, 6)]
    picture = drawn(loops, "loop_drawing", five, 60, 9, SI)
    assert [s.label for s in picture.series if s.label] == ["50 mm/s", "150 mm/s", "250 mm/s"]
    assert picture.more["title"] == "3 of 5 loops, bump up, closing right"
    all_five = drawn(loops, "loop_drawing", five, 60, 15, SI)
    assert len(all_five.series) == 10
    assert [s.label for s in drawn(loops, "loop_drawing", five, 60, 1, SI).series] == [
        "250 mm/s", ""
    ]  # fmt: skip


def test_loops_are_told_slowest_first_and_by_their_position() -> None:
    kept = (loop(0.2), loop(0.1), loop(0.1, position=12.0))
    one = DynoSheet(rows=(ROW,), loops=kept, date="2026-05-09", source="A.csv")
    assert loops.loops_at(one, 0) == []
    assert [at.speed for at in loops.loops_at(one, 1)] == [0.1, 0.2]
    assert [at.position for at in loops.loops_at(one, 2)] == [12.0]
    assert loops.loops_at(one, 3) == []
    assert [at.speed for at in loops.loops_at(one, 4)] == [0.1, 0.2]
    # a rectangle of 50 mm by 600 N: 30 J
    assert loops.energy(loop(0.1)) == pytest.approx(30.0)
    assert loops.energy(Loop(position=8, speed=0.1, displacement=(), force=())) == 0
    assert list(loops.loop_lines(one, loops.loops_at(one, 1), SI)) == [
        ("bold", "Loops at position 8"),
        ("", "sheet of 2026-05-09 A.csv"),
        ("", "gas force still in them"),
        ("bold", "  peak mm/s  J a cycle"),
        ("", "        100       30.0"),
        ("", "        200       30.0"),
        ("dim", "The area of a loop is the energy that a cycle takes."),
    ]
    assert "A.csv" not in str(list(loops.loop_lines(DynoSheet(rows=(ROW,)), [loop(0.1)], SI)))
