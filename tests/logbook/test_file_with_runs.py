"""A file with runs, garage book, jobs and a note's file, kept as it was written, opens and goes on.

fixtures/with-runs is what `tests.file_with_runs` wrote when files were of version 3. What is
expected here is what that weekend says, added up by hand.
"""

from __future__ import annotations

import csv
import gzip
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests import file_with_runs
from trackside.analysis.fuel import fuel_used
from trackside.analysis.hours import hours_run
from trackside.analysis.tyre_sets import set_uses
from trackside.analysis.weather import weather_at
from trackside.analysis.weighing import weighings
from trackside.crew.jobs import Jobs
from trackside.crew.runs import next_run
from trackside.logbook import Logbook, patch
from trackside.logbook.attached import folder_of, named_in, not_there
from trackside.logbook.exchange import export_json, import_json
from trackside.logbook.projections import PROJECTED
from trackside.logbook.schema import VERSION
from trackside.logbook.sharing import give, receive
from trackside.logbook.spreadsheet import export_csv

KEPT = Path(__file__).parent / "fixtures" / "with-runs"


def kept(folder: Path) -> Path:
    """As it was written then."""
    log = folder / "with-runs.trackside"
    log.write_bytes(gzip.decompress((KEPT / f"{log.name}.gz").read_bytes()))
    shutil.copytree(KEPT / f"{log.name}-files", folder_of(log))
    return log


@pytest.fixture(params=[kept, file_with_runs.write], ids=["as kept", "as today"])
def log(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    make: Callable[[Path], Path] = request.param
    return make(tmp_path)


def test_its_runs_are_what_was_written(log: Path) -> None:
    with Logbook.open(log, device="laptop-1") as logbook:
        assert logbook._rows("PRAGMA user_version") == [(VERSION,)]
        assert logbook.verify().problems == ()
        lines = logbook.session_lines()[::-1]
        assert [(line.title, line.start, line.driver) for line in lines] == [
            ("practice 1 run 1", "2026-10-18 09:30", "Ines"),
            ("practice 1 run 2", "2026-10-18 10:15", "Ines"),
            ("practice 1 run 3", "2026-10-18 11:00", "Otto"),
        ]
        first, _, last = (logbook.session_record(line.entity) for line in lines)
        assert (last.si("FL.rebound_bleed"), last.words) == (6, "")
        used = fuel_used(first)
        assert used
        assert used.per_lap == pytest.approx(0.009 / 4)
        assert [found.kind for found in logbook.search("grains")] == ["note"]


def test_its_garage_book_adds_up(log: Path) -> None:
    with Logbook.open(log, read_only=True) as logbook:
        line = logbook.session_lines()[0]
        [engine] = hours_run(logbook, line.car)
        assert engine.driven == pytest.approx(132.4 + 95.2 + 94.9 + 1200)
        assert (engine.runs, engine.short) == (3, 2)  # no time in the in-lap, none in run 2
        [tyres] = set_uses(logbook, line.car)
        assert (tyres.name, tyres.laps, tyres.cycles, tyres.without_laps) == ("S1", 4 + 11, 3, 1)
        [weighed] = weighings(logbook, line.car)
        assert weighed.balance
        assert weighed.balance.total == 293 + 288 + 305 + 300
        [weather] = weather_at(logbook, line.event)
        assert weather.weather.at == "2026-10-18 13:40"
        found = [(job.record.words, job.record.who, job.is_open) for job in Jobs(logbook).all()]
        assert found == [
            ("bleed the brakes", "Otto", False),
            ("look at the left rear hub", None, True),
        ]


def test_the_file_of_its_note_is_there(log: Path) -> None:
    with Logbook.open(log, read_only=True) as logbook:
        [named] = named_in(logbook)
        assert named.file.name == "front left.jpg"
        place = folder_of(log) / named.file.sha256
        assert place.read_bytes() == file_with_runs.PICTURE
        assert list(not_there(logbook)) == []
        place.write_bytes(b"something else")
        assert [state for _, state in not_there(logbook)] == ["changed"]


def test_its_tables_come_to_the_same_anew_and_on_another_laptop(log: Path, tmp_path: Path) -> None:
    def tables(logbook: Logbook) -> dict[str, list[tuple]]:
        return {
            table: sorted(logbook._rows(f"SELECT * FROM {table}"), key=repr) for table in PROJECTED
        }

    with Logbook.open(log, device="laptop-1") as logbook:
        live = tables(logbook)
        logbook.rebuild()
        assert tables(logbook) == live
        give(logbook, tmp_path / "all.bundle")
    with Logbook.open(tmp_path / "other.trackside", device="laptop-2") as other:
        receive(other, tmp_path / "all.bundle")
        assert tables(other) == live


def test_it_goes_on(log: Path) -> None:
    with Logbook.open(log, device="laptop-1") as logbook:
        last = logbook.session("last")
        new = next_run(logbook, (last, logbook.session_record(last)))
        logbook.write(*new.writes)
        assert logbook.session_line(new.entity).title == "practice 1 run 4"
        logbook.write(patch("session", new.entity, {"driver": "Ines"}))
        [undone] = logbook.undo()
        assert undone.changes == {"driver": ("Ines", "Otto")}
        assert logbook.verify().problems == ()


def test_another_set_goes_on_the_rear_axle_and_is_taken_along(log: Path, tmp_path: Path) -> None:
    """What the sets had stays; two laptops that each change one axle are not in each other's way;
    a table, a document and the next run have both sets."""
    with (
        Logbook.open(log, device="laptop-1") as here,
        Logbook.open(tmp_path / "there.trackside", device="laptop-2") as there,
    ):
        last = here.session_line(here.session("last"))
        had = {use.name: (use.laps, use.cycles) for use in set_uses(here, last.car)}
        assert all(use.front == use.rear for use in set_uses(here, last.car))
        there.take(here.lines(), via="test")
        here.write(patch("session", last.entity, {"tyre_set": "F9"}))
        there.write(patch("session", last.entity, {"rear_set": "R9"}))
        here.take(there.lines(), via="test")
        assert here.open_conflicts() == []
        now = here.session_record(last.entity)
        assert (now.tyre_set, now.rear_set) == ("F9", "R9")
        uses = {use.name: use for use in set_uses(here, last.car)}
        assert uses["F9"].front == uses["R9"].rear == 11
        assert (uses["F9"].rear, uses["R9"].front) == (0, 0)
        assert uses.keys() >= had.keys()

        new = next_run(here, (last.entity, now))
        assert (new.writes[0].body or {})["rear_set"] == "R9"
        table, document = io.StringIO(), io.StringIO()
        export_csv(here, table)
        cells = [row for row in csv.reader(table.getvalue().splitlines()) if "rear_set" in row]
        assert [row[row.index("rear_set") + 1] for row in cells] == ["R9"]
        export_json(here, document)
    with Logbook.open(":memory:", device="laptop-3") as third:
        import_json(third, json.loads(document.getvalue()))
        assert third.session_record(last.entity).rear_set == "R9"
        assert {use.name for use in set_uses(third, last.car)} == uses.keys()
