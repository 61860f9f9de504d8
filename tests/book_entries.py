"""Entries of the garage book, for tests that need one of each."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trackside.crew.disc_box import DiscBox, read_parts
from trackside.crew.strip_downs import StripDowns
from trackside.logbook import Logbook, Write, put


def reading(typed: str, unit: str, si: float) -> dict[str, Any]:
    """A reading's body."""
    return {"typed": typed, "unit": unit, "si": si}


def entries_for(car: str, event: str) -> list[Write]:
    """One of each kind, of that car or event."""
    kg = {"FL": 293, "FR": 288, "RL": 305, "RR": 300}
    scales = {corner: {"mass": reading(str(m), "kg", float(m))} for corner, m in kg.items()}
    weighing = {"car": car, "at": "2026-05-08 18:00", "driver": "in", **scales}
    tyres = {"car": car, "name": "S1", "compound": "soft", "state": "new", "date": "2026-05-08"}
    weather = {
        "event": event, "at": "2026-10-18 13:40", "surface": "dry", "wind": "light, NW",
        "air_temperature": reading("12", "°C", 12.0),
    }  # fmt: skip
    engine: dict[str, Any] = {"car": car, "part": "engine", "serial": "E12", "since": "2026-05-01"}
    engine |= {"start": reading("10", "h", 36000.0), "limit": reading("30", "h", 108000.0)}
    return [
        put("weighing", weighing | {"fuel": reading("20", "L", 0.02)}),
        put("tyre_set", tyres),
        put("weather", weather),
        put("counter", engine),
    ]


def write_book(path: Path) -> None:
    """One of each into that logbook, of the car and event of its newest session; and a strip-down
    that is planned, of the last damper; and a part in the disc box."""
    with Logbook.open(path, author="Mara", device="scales") as logbook:
        newest = logbook.session_lines(limit=1)[0]
        logbook.write(*entries_for(newest.car, newest.event))
        serials = sorted(str(body["serial"]) for _, body in logbook.all("damper"))
        jobs = StripDowns(logbook)
        logbook.write(*DiscBox(logbook).moved(read_parts("27×0.15 ×6")))
        if serials and jobs.in_hand(serials[-1]) is None:
            logbook.write(jobs.planned(serials[-1], "new seals"))


FORMS_OF_BOOK = {
    "tyre_set": ("g", "enter"),
    "weighing": ("g", "tab", "enter"),
    "counter": ("g", "tab", "tab", "enter"),
    "weather": ("g", "tab", "tab", "tab", "enter"),
}
"""Form → the keys from the pit board that open its entry."""
STRIP_DOWN = {
    "strip_down": ("b", "end", "B", "v"),
    "box_part": ("b", "home", "x", "enter"),
}
"""The same of a strip-down, of the last damper in the shed, and of the first part in its box."""
