"""The whole history of a logbook as force: 2,000 sessions, eight curves each, five rod speeds.

The budget is one second for the curves (the fits of the sheets are made once and kept). The ratio
is to the naive way, each curve calculated by itself, on the first sessions of the same run.

python -m pytest tests/benchmarks/test_history_speed.py -s -m benchmark
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import pytest

from tests.analysis.garage import knobs, sheet_of
from tests.bench.virtual_bench import virtual_damper
from trackside.analysis.estimate import estimate
from trackside.analysis.shed import Shed, fit_of
from trackside.analysis.trend import trend
from trackside.logbook import Logbook, put
from trackside.records import Build, Reading, Session
from trackside.records.fields import CORNER_FIELDS, CORNERS

pytestmark = pytest.mark.benchmark

SESSIONS, SOME = 2_000, 50
SPEEDS = (0.025, 0.05, 0.1, 0.2, 0.3)
DIRECTIONS = ("bump", "rebound")
FILLED = [name for name, field in CORNER_FIELDS.items() if field.quantity == "temperature"][:4]


def _corner(number: int, place: int) -> dict:
    positions = {
        "bump_bleed": (3 * number + place) % 21,
        "rebound_bleed": (5 * number + place) % 21,
    }
    found = {n: Reading.of_si(float(p), "clicks").body() for n, p in positions.items()}
    found |= {n: Reading.of_si(20.0 + number % 60, "temperature").body() for n in FILLED}
    return {"damper": f"D{place}", "build": "A", **found}


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("history") / "team.trackside"
    shed = []
    for place in range(4):
        unit = replace(virtual_damper(1007 + place), clicks=20)
        shed.append(put("build", Build(damper=f"D{place}", version="A",
                                       adjusters=knobs(20, "hard")).body()))  # fmt: skip
        shed.append(put("sheet", sheet_of(f"D{place}", unit, 20, "hard").body()))
    sessions = [
        put("session", {"start": f"{2020 + n // 400}-{n // 40 % 10 + 1:02d}-{n % 28 + 1:02d} 10:00",
                        "car": "car", **{c: _corner(n, k) for k, c in enumerate(CORNERS)}})
        for n in range(SESSIONS)
    ]  # fmt: skip
    with Logbook.open(path, device="d") as logbook:
        logbook.write(*shed, *sessions)
    return path


def test_the_whole_history(history: Path) -> None:
    begun = time.process_time()
    with Logbook.open(history, read_only=True) as logbook:
        shed = Shed.of(logbook)
        sessions = [(e, Session.checked(body)) for e, body in logbook.all("session")]
    read = time.process_time() - begun
    for sheet in shed.sheets:
        fit_of(sheet, shed.build(sheet.damper))
    trend(sessions[:1], "FL", "bump", shed, SPEEDS)  # what is imported late is imported now
    ways = [(corner, direction) for corner in CORNERS for direction in DIRECTIONS]

    begun = time.process_time()
    found = [trend(sessions, *way, shed, SPEEDS) for way in ways]
    curves = time.process_time() - begun
    assert all(len(points) == SESSIONS for points in found)
    assert all(point.estimate is not None for points in found for point in points)

    begun = time.process_time()
    alone = [estimate(s, *way, shed, SPEEDS) for _, s in sessions[:SOME] for way in ways]
    naive = (time.process_time() - begun) * SESSIONS / SOME
    same = [found[n % 8][n // 8].estimate for n in range(len(alone))]
    for one, other in zip(alone, same, strict=True):
        assert list(one.force) == list(other.force)
    print(
        f"\n{SESSIONS} sessions x 8 curves x 5 speeds: {curves:.2f} s of curves, "
        f"{naive / curves:.0f} x faster than one by one; {read:.2f} s more to read the logbook"
    )
    assert curves < 1.0
    assert naive > 3 * curves


def test_a_season_of_eleven_dampers_is_fitted_once() -> None:
    """Each sheet of five positions; the second start reads what the first has kept, and then has
    a page's first estimate."""
    units = [replace(virtual_damper(1007 + place), clicks=20) for place in range(11)]
    sheets = [sheet_of(f"D{place}", unit, 20, "hard") for place, unit in enumerate(units)]
    builds = [Build(damper=f"D{n}", version="A", adjusters=knobs(20, "hard")) for n in range(11)]

    def opened() -> tuple[float, float]:
        fit_of.cache_clear()
        begun = time.perf_counter()
        fits = [fit_of(sheet, build) for sheet, build in zip(sheets, builds, strict=True)]
        read = time.perf_counter() - begun
        fits[0].direction("bump").predict(7, SPEEDS)
        return read, time.perf_counter() - begun - read

    (searched, _), (kept, first) = opened(), opened()
    print(
        f"\n11 sheets: searched {1e3 * searched:.0f} ms, kept {1e3 * kept:.0f} ms, the first "
        f"estimate {1e3 * first:.1f} ms more"
    )
    assert kept < searched / 8
    assert first < searched / 8
