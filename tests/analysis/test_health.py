"""What is put in is found: a slope within its band, a step within three sheets, few false alarms.

The charts are played on invented scatter (numpy, seeded); nothing outside checks their limits.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.analysis.garage import UNIT, knobs, sheet_of
from trackside.analysis.drift import chart, line_through
from trackside.analysis.health import Health, healths
from trackside.analysis.shed import Shed
from trackside.damper.gas import pressure_at
from trackside.logbook import Logbook, patch, put
from trackside.preferences import Preferences
from trackside.records import Build, DynoSheet, Reading
from trackside.reports.health_story import story_lines
from trackside.reports.health_words import health_cautions, health_row, health_words

SCATTER = 0.004
"""Of one sheet, as ln of its force: what `damper.wear` makes of five positions, nearly."""


def test_a_slope_that_is_put_in_is_found_within_its_band() -> None:
    chance = np.random.default_rng(15)
    days = np.array([0.0, 3.0, 20.0, 21.0, 48.0, 70.0])
    inside = 0
    for _ in range(1000):
        slope = chance.uniform(-3e3, 1e3)
        read = 1.5e6 + slope * days + chance.normal(0.0, 7e3, days.size)
        line = line_through(days, read, 7e3)
        assert line is not None
        inside += abs(line.slope - slope) <= line.band
    assert inside >= 950


def test_a_charge_that_holds_is_seldom_said_to_fall() -> None:
    """Fewer than one in a hundred."""
    chance = np.random.default_rng(16)
    days = np.arange(6) * 9.0
    fell = 0
    for _ in range(2000):
        line = line_through(days, 1.5e6 + chance.normal(0.0, 7e3, days.size), 7e3)
        fell += line is not None and line.falls
    assert fell < 20


def test_the_day_of_the_least_is_where_the_line_comes_to_it() -> None:
    """By hand: 1.50 MPa less 2 kPa a day is 1.40 MPa on day 50."""
    line = line_through([0, 10, 20], [1.50e6, 1.48e6, 1.46e6], 100.0)
    assert line is not None
    days = line.reaches(1.40e6)
    assert days is not None
    assert days[0] == pytest.approx(50.0)
    assert 49.0 < days[1] < 50.0
    assert line_through([5.0, 5.0], [1.5e6, 1.4e6], 100.0) is None
    rising = line_through([0, 10, 20], [1.46e6, 1.48e6, 1.50e6], 100.0)
    assert rising is not None
    assert rising.reaches(1.40e6) is None


def _sheets(chance: np.random.Generator, count: int, step_at: int, step: float) -> list[float]:
    first = chance.normal(0.0, SCATTER)
    read = chance.normal(0.0, SCATTER, count)
    read[step_at:] += step
    return list(read - first)


def test_fewer_than_one_in_a_hundred_sheets_is_a_false_alarm() -> None:
    chance = np.random.default_rng(17)
    out = sheets = 0
    for _ in range(1000):
        points = chart(_sheets(chance, 10, 10, 0.0), [SCATTER] * 10)
        out += sum(point.is_out for point in points)
        sheets += len(points)
    assert out < sheets / 100


@pytest.mark.parametrize("before", [0, 2, 5])
@pytest.mark.parametrize("step", [-0.03, 0.03])
def test_a_step_of_three_percent_is_found_within_three_sheets(before: int, step: float) -> None:
    """In 95 of 100 cases, after however many good sheets."""
    chance = np.random.default_rng(18)
    seen = 0
    for _ in range(500):
        points = chart(_sheets(chance, before + 3, before, step), [SCATTER] * (before + 3))
        seen += any(point.is_out for point in points[before:])
    assert seen >= 475


def test_the_average_is_that_of_its_formula() -> None:
    """By hand: 0.3 of the sheet and 0.7 of what was before."""
    points = chart([0.01, 0.02], [SCATTER, SCATTER])
    assert [point.average for point in points] == pytest.approx([0.003, 0.0081])
    assert points[0].limit == pytest.approx(3 * SCATTER * (0.09 + 0.09) ** 0.5)
    assert chart([], []) == ()


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        car = put("car", {"name": "Coupé"})
        logbook.write(
            car, *(put("damper", {"serial": serial}) for serial in ("L", "R")),
            *(put("build", {"damper": serial, "version": "A", "date": "2026-04-01"})
              for serial in ("L", "R")),
        )  # fmt: skip
        yield logbook


def _si(value: float, quantity: str) -> dict[str, Any]:
    return Reading.of_si(value, quantity).body()


def _run(logbook: Logbook, day: date, left: dict[str, Any], right: dict[str, Any]) -> None:
    [car] = [entity for entity, _ in logbook.all("car")]
    body = {"car": car, "event": "e", "kind": "practice", "start": f"{day} 10:00", "status": "done",
            "laps": _si(10.0, "plain"), "run_time": _si(1200.0, "run time"),
            "FL": {"damper": "L", **left}, "FR": {"damper": "R", **right}}  # fmt: skip
    logbook.write(put("session", body))


def _charge(at_20: float, warm: float) -> dict[str, Any]:
    read = float(pressure_at(at_20, 20.0, warm))
    return {
        "gas_pressure": _si(read, "pressure"),
        "gas_temperature": _si(warm, "temperature"),
    }


def _leaking(logbook: Logbook) -> None:
    """One loses 2 kPa a day from 1.5 MPa, read at another warmth each time; the other holds."""
    for n, warm in enumerate((12.0, 31.0, 22.0, 8.0)):
        _run(
            logbook, date(2026, 5, 1) + timedelta(days=20 * n),
            _charge(1.5e6 - 40e3 * n, warm), _charge(1.5e6, warm),
        )  # fmt: skip


def _of(logbook: Logbook, serial: str, **shop: float) -> Health:
    found = {one.serial: one for one in healths(logbook, Shed.of(logbook), **shop)}
    return found[serial]


def test_a_leak_is_found_with_its_day_and_its_twin_is_left_alone(log: Logbook) -> None:
    _leaking(log)
    first, second = healths(log, Shed.of(log), least=1.3e6)
    assert (first.serial, first.needs) == ("L", ("charge falling",))
    assert (second.serial, second.needs) == ("R", ())
    line = first.charge.line
    assert line is not None
    assert abs(line.slope + 2e3) <= line.band
    assert line.slope == pytest.approx(-2e3, rel=1e-3)
    assert first.charge.below_on is not None
    assert first.charge.below_on[0] == date(2026, 8, 9)  # 1 May and 100 days
    assert first.charge.below_on[1] < date(2026, 8, 9)
    [said] = health_words(first, Preferences())
    assert said.startswith("charge: falls by 0.60 bar in 30 days (±")
    assert "13.80 bar at 20 °C on 2026-06-30; below 13.00 bar on 2026-08-09" in said
    assert any("nitrogen" in one for one in health_cautions([first]))
    assert health_cautions([second]) == []


def test_below_the_least_comes_before_all_else(log: Logbook) -> None:
    _leaking(log)
    one = _of(log, "L", least=1.4e6, limit=3600.0)
    assert one.needs == ("charge below", "hours over", "charge falling")
    assert one.charge.below_on is None
    said = list(health_words(one, Preferences()))
    assert said[0] == "charge: 13.80 bar at 20 °C on 2026-06-30, below the least of 14.00 bar"
    assert said[1] == "hours: 1.3 h since it was opened on 2026-04-01; the shop's limit is 1.0 h"
    assert _of(log, "L").needs == ("charge falling",)
    assert _of(log, "L").charge.below_on is None


def test_a_charge_that_rose_was_filled_and_the_line_begins_there(log: Logbook) -> None:
    _leaking(log)
    _run(log, date(2026, 7, 10), _charge(1.5e6, 20.0), {})
    charge = _of(log, "L").charge
    assert (len(charge.readings), charge.total, charge.line) == (1, 5, None)


def test_a_reading_without_its_temperature_or_beyond_what_can_be_is_counted(log: Logbook) -> None:
    _run(log, date(2026, 5, 1), {"gas_pressure": _si(1.5e6, "pressure")}, {})
    _run(log, date(2026, 5, 2), _charge(15e6, 20.0), {})
    charge = _of(log, "L").charge
    assert (charge.readings, charge.unread) == ((), 2)


def test_runs_count_from_a_reseal_and_the_charge_of_the_bench_with_them(log: Logbook) -> None:
    _leaking(log)
    job = {"damper": "l", "date": "2026-06-01", "reseal": "yes", "steps": {"charged": "Gas"},
           "done": {"charged": "yes"}, "gas_found": 1.44e6, "gas_found_at": 20.0,
           "charge": 1.5e6, "charge_at": 20.0}  # fmt: skip
    log.write(put("strip_down", job))
    one = _of(log, "L")
    assert (one.driving.since, one.driving.reseal) == ("2026-06-01", True)
    assert (one.driving.runs, one.driving.laps, one.driving.seconds) == (2, 20.0, 2400.0)
    assert [round(read.at_20) for read in one.charge.readings] == [1_500_000, 1_420_000, 1_380_000]
    assert one.charge.total == 6
    assert health_row(one, Preferences())[2] == "2026-06-01 resealed"
    log.write(put("strip_down", {**job, "damper": "R", "done": {}}))
    assert _of(log, "R").driving.runs == 4, "a plan is no reseal"


def test_a_dampers_own_limits_are_in_its_record_and_typed_ones_come_before_them(
    log: Logbook,
) -> None:
    _leaking(log)
    [own] = [entity for entity, body in log.all("damper") if body["serial"] == "L"]
    limits = {"least_charge": _si(1.4e6, "pressure"), "service_time": _si(3600.0, "hours"),
              "service_laps": _si(40.0, "count"), "service_runs": 5.0}  # fmt: skip
    log.write(patch("damper", own, limits))
    one = _of(log, "L")
    assert one.needs == ("charge below", "hours over", "charge falling")
    assert (one.driving.runs, one.driving.over) == (4, ("hours", "laps"))
    assert list(health_words(one, Preferences()))[:3] == [
        "charge: 13.80 bar at 20 °C on 2026-06-30, below the least of 14.00 bar",
        "hours: 1.3 h since it was opened on 2026-04-01; the shop's limit is 1.0 h",
        "laps: 40 since it was opened on 2026-04-01; the shop's limit is 40",
    ]
    assert _of(log, "R").needs == (), "the limits of one are not those of the other"
    log.write(put("counter", {"part": "damper", "serial": "L", "limit": 100.0}))
    assert _of(log, "L").driving.limit == 3600.0, "its own comes before the hours book"
    typed = _of(log, "L", least=1.3e6, limit=9e5)
    assert (typed.charge.least, typed.driving.limit) == (1.3e6, 9e5)
    log.write(patch("damper", own, {"service_time": None, "service_laps": None,
                                    "service_runs": _si(4.0, "count")}))  # fmt: skip
    assert _of(log, "L").driving.over == ("hours", "runs")
    assert "runs: 4 since" in list(health_words(_of(log, "L"), Preferences()))[2]


def test_the_limit_of_the_hours_book_is_that_of_its_serial(log: Logbook) -> None:
    _leaking(log)
    unit = {"part": "damper", "serial": "r", "since": "2026-04-01", "limit": 4000.0}
    log.write(put("counter", unit))
    assert _of(log, "R").needs == ("hours over",)
    assert _of(log, "R", limit=9e9).driving.limit == 9e9, "a typed one is for all"
    assert _of(log, "L").driving.limit is None


def test_a_body_that_stays_warmer_than_its_twin_is_named(log: Logbook) -> None:
    for n, (left, right) in enumerate([(71, 64), (66, 60), (80, 70), (75, 68), (69, 62)]):
        _run(
            log, date(2026, 5, 1) + timedelta(days=n),
            {"body_temperature": _si(float(left), "temperature")},
            {"body_temperature": _si(float(right), "temperature")},
        )  # fmt: skip
    one = _of(log, "L")
    assert one.needs == ("warmer than twin",)
    assert one.twin is not None
    assert (one.twin.twin, one.twin.runs) == ("R", 5)
    assert one.twin.warmer == pytest.approx(7.4)
    assert _of(log, "R").twin is None
    [said] = health_words(one, Preferences())
    assert said.startswith("body: 7 °C warmer than R on the other side, mean of 5 runs")


def test_a_twin_that_is_warmer_now_and_then_is_not(log: Logbook) -> None:
    for n, apart in enumerate([9.0, -8.0, 7.0, -6.0, 14.0, 2.0]):
        _run(
            log, date(2026, 5, 1) + timedelta(days=n),
            {"body_temperature": _si(70.0 + apart, "temperature")},
            {"body_temperature": _si(70.0, "temperature")},
        )  # fmt: skip
    assert _of(log, "L").needs == ()


def _weaker(sheet: DynoSheet, share: float, day: str) -> DynoSheet:
    rows = tuple(row._replace(force=row.force * share) for row in sheet.rows)
    return sheet.model_copy(update={"rows": rows, "date": day, "source": f"{day}.csv"})


def test_real_sheets_that_lost_a_part_of_their_force_are_off(log: Logbook) -> None:
    """On the virtual bench: two sheets 6 % weaker than the first."""
    first = sheet_of("W", UNIT, 20, "hard")
    build = Build(damper="W", version="A", adjusters=knobs(20, "hard"), date="2026-04-01")
    log.write(put("damper", {"serial": "W"}), put("build", build.body()),
              put("sheet", first.body()))  # fmt: skip
    assert _of(log, "W").force == ()
    log.write(put("sheet", _weaker(first, 1.0, "2026-05-01").body()))
    assert _of(log, "W").needs == ()
    for day in ("2026-06-01", "2026-07-01"):
        log.write(put("sheet", _weaker(first, 0.94, day).body()))
    one = _of(log, "W")
    assert one.needs == ("force off",)
    assert [chart.dates[-1] for chart in one.force] == ["2026-07-01"] * 2
    said = list(health_words(one, Preferences()))
    by_hand = (0.3 + 0.7 * 0.3) * np.log(0.94)  # the running average of 0, then twice 6 % less
    assert [chart.points[-1].average for chart in one.force] == pytest.approx(
        [by_hand, by_hand], rel=0.1
    )
    assert said[0].startswith("bump force: 3.")
    assert " % less than on the first sheet of the build" in said[0]
    assert any("Release all gas first" in text for text in health_cautions([one]))


def _rubbing(sheet: DynoSheet, newton: float, day: str) -> DynoSheet:
    rows = tuple(row._replace(force=abs(row.force) + newton) for row in sheet.rows)
    return sheet.model_copy(update={"rows": rows, "date": day, "source": f"{day}.csv"})


def test_seals_that_rub_more_leave_the_chart_of_friction(log: Logbook) -> None:
    """On the virtual bench: two sheets with 25 N more at every speed than the first."""
    first = sheet_of("W", UNIT, 20, "hard")
    build = Build(damper="W", version="A", adjusters=knobs(20, "hard"), date="2026-04-01")
    log.write(
        put("damper", {"serial": "W"}),
        put("build", build.body()),
        put("sheet", first.body()),
        put("sheet", _rubbing(first, 0.0, "2026-05-01").body()),
    )
    [bump, rebound] = _of(log, "W").friction
    assert (bump.is_off, rebound.is_off) == (False, False)
    assert [abs(point.value) < 1.0 for point in (*bump.points, *rebound.points)] == [True, True]
    for day in ("2026-06-01", "2026-07-01"):
        log.write(put("sheet", _rubbing(first, 25.0, day).body()))
    one = _of(log, "W")
    assert "friction off" in one.needs
    [bump, rebound] = one.friction
    assert bump.dates == ("2026-05-01", "2026-06-01", "2026-07-01")
    assert bump.points[-1].value == pytest.approx(25.0, abs=3.0)
    by_hand = (0.3 + 0.7 * 0.3) * 25.0  # the running average of 0, then twice 25 N more
    assert bump.points[-1].average == pytest.approx(by_hand, abs=2.0)
    [said] = [line for line in health_words(one, Preferences()) if line.startswith("bump friction")]
    assert " N more than the " in said
    assert any(line.endswith("OUT") for _, line in story_lines(one, Preferences()))


def test_a_sheet_that_was_run_without_friction_says_nothing_of_it(log: Logbook) -> None:
    build = Build(damper="W", version="A", adjusters=knobs(20, "hard"), date="2026-04-01")
    first = sheet_of("W", UNIT, 20, "hard").model_copy(update={"friction_in": False})
    log.write(
        put("damper", {"serial": "W"}),
        put("build", build.body()),
        put("sheet", first.body()),
        put("sheet", _rubbing(first, 25.0, "2026-05-01").body()),
    )
    assert _of(log, "W").friction == ()


def test_the_story_has_every_reading_and_the_slope(log: Logbook) -> None:
    _leaking(log)
    _run(log, date(2026, 7, 10), _charge(1.5e6, 20.0), {})
    _run(log, date(2026, 7, 30), _charge(1.46e6, 20.0), {})
    told = [line for _, line in story_lines(_of(log, "L", least=1.3e6), Preferences())]
    assert any(line.startswith("  -0.60 bar in 30 days (±") for line in told)
    assert [line.split()[0] for line in told if line.startswith("  2026")] == [
        "2026-07-30",
        "2026-07-10",
        "2026-06-30",
        "2026-06-10",
        "2026-05-21",
        "2026-05-01",
    ]
    assert told.index("  before it was filled:") == told.index("  2026-07-10   15.00 bar") + 1
    assert "  runs          6  no limit" in told


def test_of_very_many_readings_the_newest_are_looked_at(
    log: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trackside.analysis.health_runs.LATEST", 3)
    _leaking(log)
    _run(log, date(2026, 1, 2), _charge(1.2e6, 20.0), {})
    charge = _of(log, "L").charge
    assert [round(one.at_20) for one in charge.readings] == [1_460_000, 1_420_000, 1_380_000]
    assert charge.total == 3
