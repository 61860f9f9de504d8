"""Every page of the sample season as it was told before: `tests/told.py` says how to renew it."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from tests.told import agrees
from trackside.analysis.axle import axles
from trackside.analysis.estimate import DIRECTIONS, curves
from trackside.analysis.shed import Shed, fit_of
from trackside.analysis.used import last_corners
from trackside.errors import TracksideError
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.records.fields import CORNERS
from trackside.reports.axle_words import axle_lines
from trackside.reports.bench_words import build_lines, sheet_lines
from trackside.reports.debriefing import debrief_page
from trackside.reports.limits import limit_lines
from trackside.reports.revalving import present_lines
from trackside.reports.run_sheet import run_sheet
from trackside.reports.text import text

SI = Preferences()
INCHES = Preferences(
    units={"pressure": "psi", "force": "lbf", "speed": "in/s", "temperature": "°F", "length": "in"}
)


@pytest.fixture(scope="module")
def shed(samples: Logbook) -> Shed:
    return Shed.of(samples)


@pytest.fixture(scope="module")
def sessions(samples: Logbook) -> list[tuple[str, Session]]:
    """In the order in which they ran, every third."""
    lines = sorted(samples.each_session(), key=lambda line: (line.start, line.entity))
    return [(line.entity, samples.session_record(line.entity)) for line in lines][::3]


@pytest.mark.parametrize("page", [debrief_page, run_sheet])
def test_pages_of_the_season(page, samples, shed, sessions) -> None:  # type: ignore[no-untyped-def]
    told: list[str] = []
    for n, (entity, _) in enumerate(sessions):
        document = page(samples, entity, shed, INCHES if n % 3 == 1 else SI)
        told += [line for line in text(document, 110, "ascii") if not re.search("[|+#]", line)]
    agrees(told, __file__, page.__name__)


def test_dampers_and_their_sheets(samples, shed, sessions) -> None:  # type: ignore[no-untyped-def]
    told: list[str] = []
    for n, damper in enumerate(shed.dampers):
        preferences = INCHES if n % 3 == 1 else SI
        used = last_corners(samples, damper.serial)
        present = present_lines(damper.serial, shed, used, preferences)
        ran = (sessions[-1][1], CORNERS[n % 4], "in the last") if n % 2 else None
        told.append(f"== {damper.serial}")
        told += [f"{s}|{line}" for s, line in build_lines(damper, shed, ran, preferences, present)]
        for build in shed.builds_of(damper.serial):
            for sheet in shed.sheets_of(build):
                lines = sheet_lines(sheet, build, fit_of(sheet, build), preferences)
                told += [f"{style}|{line}" for style, line in lines]
    agrees(told, __file__, "dampers")


def test_limits_and_axles(shed, sessions) -> None:  # type: ignore[no-untyped-def]
    def lines() -> Iterator[str]:
        for n, (_, session) in enumerate(sessions):
            preferences = INCHES if n % 3 == 1 else SI
            speeds = preferences.reference_speeds
            yield f"== {session.start}"
            for corner in CORNERS:
                for direction in DIRECTIONS:
                    found = curves(session, corner, shed, speeds)[direction]
                    if isinstance(found, TracksideError):
                        yield f"{corner} {direction}: {found}"
                        continue
                    for line in limit_lines(found, session, shed, preferences):
                        yield f"{corner} {direction}: {line}"
            try:
                yield from axle_lines(axles(session, shed, speeds), preferences)
            except TracksideError as why:
                yield str(why)

    agrees(lines(), __file__, "limits")
