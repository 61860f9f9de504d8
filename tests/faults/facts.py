"""What the pages of a logbook say, as plain values: board, run sheet, shed, forces, debrief."""

from __future__ import annotations

from typing import Any

import numpy as np

from trackside.analysis.estimate import DIRECTIONS, estimate
from trackside.analysis.shed import Shed
from trackside.errors import TracksideError
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.reports.debriefing import debrief_page
from trackside.reports.naming import doubts_of_shed
from trackside.reports.text import text

SPEEDS = np.array([0.05, 0.2])


def facts(logbook: Logbook) -> dict[str, Any]:
    """By page. Whose laptop wrote something is left out: each calls its own by another name."""
    shed, lines = Shed.of(logbook), logbook.session_lines()
    return {
        "board": (logbook.session_groups(), lines, logbook.events_waiting()),
        "conflicts": [
            (*found[:3], [version._replace(device="") for version in found.versions], *found[4:])
            for found in logbook.open_conflicts()
        ],
        "run sheet": [
            (
                logbook.state(line.entity),
                [entry._replace(device="") for entry in logbook.history(line.entity)],
                logbook.notes(line.entity),
            )
            for line in lines
        ],
        "shed": (shed.dampers, shed.builds, shed.cars, doubts_of_shed(shed)),
        "forces": [
            _force(logbook, line.entity, shed, direction)
            for line in lines
            for direction in DIRECTIONS
        ],
        "debrief": [_debrief(logbook, line.entity, shed) for line in lines],
        "found": sorted(found.entity for found in logbook.search("skips")),
    }


def _force(logbook: Logbook, entity: str, shed: Shed, direction: str) -> object:
    try:
        session = logbook.session_record(entity)
        return estimate(session, "FL", direction, shed, SPEEDS).force.tolist()
    except TracksideError as error:
        return str(error)


def _debrief(logbook: Logbook, entity: str, shed: Shed) -> object:
    try:
        return list(text(debrief_page(logbook, entity, shed, Preferences()), 80))
    except TracksideError as error:
        return str(error)
