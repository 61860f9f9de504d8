"""A logbook with everything that a weekend writes: runs, the garage book, jobs, a note's file.

`python -m tests.file_with_runs FOLDER` writes it as the program of the day does, with the file of
its note. tests/logbook/fixtures/with-runs is one such, kept as it was written: never make it anew,
a later version adds another beside it.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.book_entries import entries_for, reading
from trackside.crew.jobs import Jobs
from trackside.crew.next_session import Known
from trackside.crew.runs import next_run, run_between
from trackside.logbook import Logbook, Write, drop, patch, put
from trackside.logbook.attached import folder_of, keep
from trackside.records import Note

PICTURE = b"not a picture, but as good as one to carry: the front left tyre after run 2\n"
LAPS = ["2:12.4 out", 95.2, 94.9, "in"]


def write(folder: Path) -> Path:
    """The logbook, in that folder, which is empty. Where it is."""
    log = folder / "with-runs.trackside"
    with Logbook.open(log, author="Mara", device="laptop-1") as logbook:
        _play(logbook, folder)
    return log


def _play(logbook: Logbook, folder: Path) -> None:
    car = put("car", {"name": "No 7"})
    event = put("event", {"venue": "Aldermoor", "date": "2026-10-18", "last_day": "2026-10-19"})
    corner = {"damper": "S-101", "rebound_bleed": reading("8", "clicks", 8.0)}
    body = {
        "event": event.entity, "car": car.entity, "kind": "practice", "driver": "Ines",
        "number": reading("1", "", 1.0), "start": "2026-10-18 09:30", "tyre_set": "S1",
        "FL": corner, "FR": corner,
    }  # fmt: skip
    first = put("session", body)
    logbook.write(car, event, first)
    logbook.write(*entries_for(car.entity, event.entity))
    ran = {"lap_times": LAPS, "status": "done", "fuel": reading("40", "L", 0.04),
           "fuel_end": reading("31", "L", 0.031)}  # fmt: skip
    logbook.write(patch("session", first.entity, ran))

    second = _opened(logbook, next_run(logbook, _known(logbook, first.entity)).writes)
    turned = {"start": "2026-10-18 11:00", "FL.rebound_bleed": reading("6", "clicks", 6.0)}
    timed = {"run_time": reading("20", "min", 1200.0), "laps": reading("11", "", 11.0)}
    hot = {"FL.hot_pressure": reading("1.82", "bar", 182000.0), "driver": "Otto"}
    logbook.write(patch("session", second, turned | timed | hot | {"status": "done"}))
    _opened(logbook, run_between(logbook, _known(logbook, second), "10:15").writes)

    change = put(
        "change", {"session": second, "what": "FL rebound 8 → 6", "reason": "slow to take a set"}
    )
    logbook.write(change)
    logbook.write(patch("change", change.entity, {"verdict": "better"}))

    jobs = Jobs(logbook)
    for words, who in (("bleed the brakes", "Otto"), ("look at the left rear hub", "")):
        logbook.write(jobs.added(words, who, car.entity, first.entity))
    ticked = jobs.turned(jobs.all()[0], done=True)
    assert ticked is not None
    logbook.write(ticked)

    picture = folder / "front left.jpg"
    picture.write_bytes(PICTURE)
    named = keep(folder_of(logbook.path), str(picture))
    picture.unlink()
    logbook.write(
        put("note", Note(session=second, driver="Otto", words="grains", files=(named,)).body())
    )
    slip = put("note", {"session": second, "words": "not here"})
    logbook.write(slip)
    logbook.write(drop("note", slip.entity))
    logbook.write(patch("session", second, {"words": "a slip"}))
    logbook.undo()


def _known(logbook: Logbook, entity: str) -> Known:
    return entity, logbook.session_record(entity)


def _opened(logbook: Logbook, writes: tuple[Write, ...]) -> str:
    logbook.write(*writes)
    return writes[0].entity


if __name__ == "__main__":
    print(write(Path(sys.argv[1])))
