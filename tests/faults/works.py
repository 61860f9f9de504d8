"""What a crew does with its logbook, to be broken off at any call: how it is prepared, done, and
what must stand afterwards."""

from __future__ import annotations

import gzip
import io
import re
import shutil
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from trackside.cli.output import write_whole
from trackside.crew.runs import RunWrites, next_run, run_between, run_moved, split_from
from trackside.logbook import Logbook, SessionLine, patch, put
from trackside.logbook.backups_beside import backups, backups_of
from trackside.logbook.bundle import read_bundle
from trackside.logbook.exchange import export_json
from trackside.logbook.restore import restore
from trackside.logbook.revisions import Revision
from trackside.logbook.rotation import keep_backups
from trackside.logbook.salvage import salvage
from trackside.logbook.schema import VERSION
from trackside.logbook.sharing import give, receive, share
from trackside.logbook.spreadsheet import export_csv
from trackside.records import Reading

FIXTURES = Path(__file__).parents[1] / "logbook" / "fixtures"
LOG, OTHER, STICK, SHARED = "team.trackside", "other.trackside", "stick/team.bundle", "shared"
RUNS = 2

Broken = Callable[[], AbstractContextManager[list[str]]]
Told = list[str]


class Work(NamedTuple):
    """`prepare` and `check` look at a folder; `play` does the work within `broken`, then more of
    it on a mended disk, and adds to `told` what was acknowledged. Where memory ends, one request
    in `every` is refused."""

    name: str
    prepare: Callable[[Path], None]
    play: Callable[[Path, Broken, Told], None]
    check: Callable[[Path, set[str]], None]
    every: int = 1


def opened(place: Path, name: str = LOG) -> Logbook:
    logbook = Logbook.open(place / name, device=f"device of {name}", author="Mara")
    logbook.warm().result()
    return logbook


def names(saved: list[Revision]) -> list[str]:
    return [revision.rev for revision in saved]


def a_weekend(place: Path, name: str = LOG) -> list[str]:
    """An event with a few runs and notes; the sessions."""
    event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
    sessions = []
    with opened(place, name) as logbook:
        logbook.write(event)
        for number in range(RUNS):
            reading = {"typed": str(number), "unit": "clicks", "si": float(number)}
            run = put("session", {"event": event.entity, "FL": {"rebound_bleed": reading}})
            note = put("note", {"session": run.entity, "words": f"loose {number} " * 40})
            logbook.write(run, note)
            sessions.append(run.entity)
    return sessions


BEFORE = 1 + 2 * RUNS
"""Revisions of a weekend."""


def sound(file: Path) -> set[str]:
    """The revisions of a logbook, once it is proved."""
    with Logbook.open(file, device="looker") as logbook:
        found = logbook.verify()
        assert found.problems == (), found
        return logbook.names()


def _pair(number: int) -> tuple:
    return put("note", {"words": f"left {number}"}), put("note", {"words": f"right {number}" * 99})


def save(place: Path, broken: Broken, told: Told) -> None:
    """Saves of two, a draft, an undo; then a save on the mended disk."""
    with opened(place) as logbook:
        with broken():
            told += names(logbook.write(*_pair(1)))
            logbook.keep_draft("entity", "driver", "In").result()
            logbook.undo()
            told += names(logbook.write(*_pair(2)))
        told += names(logbook.write(*_pair(3)))


def save_check(place: Path, told: set[str]) -> None:
    there = sound(place / LOG)
    assert told <= there, "an acknowledged save is gone"
    assert len(there) % 2 == BEFORE % 2, "half a save is there"


def open_anew(place: Path, broken: Broken, told: Told) -> None:
    """Open a file, made or brought to this version; then again on the mended disk."""
    with broken(), Logbook.open(place / LOG, device="d") as logbook:
        told += names(logbook.write(put("note", {"words": "first"})))
    with Logbook.open(place / LOG, device="d") as logbook:
        told += names(logbook.write(put("note", {"words": "then"})))


def open_check(place: Path, told: set[str]) -> None:
    assert told <= sound(place / LOG)


def an_older_file(number: int) -> Callable[[Path], None]:
    def prepare(place: Path) -> None:
        packed = (FIXTURES / f"version-{number}.trackside.gz").read_bytes()
        (place / LOG).write_bytes(gzip.decompress(packed))

    return prepare


def older_check(place: Path, told: set[str]) -> None:
    there = sound(place / LOG)
    assert told <= there
    assert len(there) >= 9 + len(told), "what the older program wrote is gone"


def with_backups(place: Path) -> None:
    a_weekend(place)
    with opened(place) as logbook:
        keep_backups(logbook)
        logbook.write(put("note", {"words": "after the backup"}))


def back_up(place: Path, broken: Broken, told: Told) -> None:
    with opened(place) as logbook:
        with broken():
            keep_backups(logbook)
        told += names(logbook.write(*_pair(1)))


def backups_check(place: Path, told: set[str]) -> None:
    live, kept = sound(place / LOG), backups(backups_of(place / LOG))
    assert told <= live
    assert kept, "the older backup is gone"
    assert all(len(sound(backup.path)) in (BEFORE, BEFORE + 1) for backup in kept)


def go_back(place: Path, broken: Broken, told: Told) -> None:
    [backup] = backups(backups_of(place / LOG))
    with broken():
        restore(backup.path, place / LOG, moment=datetime(2026, 5, 9, tzinfo=UTC))


def back_check(place: Path, told: set[str]) -> None:
    there = sound(place / LOG)
    assert len(there) in (BEFORE, BEFORE + 1), "neither the old file nor the backup"
    aside = [sound(file) for file in place.glob(f"{LOG}.2*") if not file.name.endswith("-journal")]
    assert len(set().union(there, *aside)) == BEFORE + 1, "what was written last is gone"


def with_a_stick(place: Path) -> None:
    a_weekend(place)
    (place / STICK).parent.mkdir()
    with opened(place) as logbook:
        give(logbook, place / STICK)
        logbook.write(put("note", {"words": "after the bundle"}))


def write_a_bundle(place: Path, broken: Broken, told: Told) -> None:
    with opened(place) as logbook:
        with broken():
            give(logbook, place / STICK)
        told += names(logbook.write(*_pair(1)))


def bundle_check(place: Path, told: set[str]) -> None:
    found = read_bundle(place / STICK)
    assert not found.problems, found.problems
    assert len(found.lines) in (BEFORE, BEFORE + 1), "neither the old bundle nor the new one"
    assert told <= sound(place / LOG)


def read_a_bundle(place: Path, broken: Broken, told: Told) -> None:
    with opened(place, OTHER) as logbook:
        with broken():
            if not receive(logbook, place / STICK).problems:
                told += [line.rev for line in read_bundle(place / STICK).lines]
        receive(logbook, place / STICK)


def taken_check(place: Path, told: set[str]) -> None:
    there = sound(place / OTHER)
    assert told <= there
    assert there == {line.rev for line in read_bundle(place / STICK).lines}


def make_anew(place: Path, broken: Broken, told: Told) -> None:
    with opened(place) as logbook:
        with broken():
            logbook.rebuild()
        told += names(logbook.write(*_pair(1)))


def with_two_laptops(place: Path) -> None:
    a_weekend(place)
    a_weekend(place, OTHER)
    (place / SHARED).mkdir()
    with opened(place, OTHER) as other:
        share(other, place / SHARED)


def through_a_folder(place: Path, broken: Broken, told: Told) -> None:
    with opened(place) as logbook:
        with broken():
            share(logbook, place / SHARED)
        told += names(logbook.write(*_pair(1)))
        share(logbook, place / SHARED)


def shared_check(place: Path, told: set[str]) -> None:
    bundles = [read_bundle(file) for file in (place / SHARED).glob("[!.]*.bundle")]
    assert not any(bundle.problems for bundle in bundles)
    given = {line.rev for bundle in bundles for line in bundle.lines}
    assert given == sound(place / LOG)
    assert told | sound(place / OTHER) <= given


def with_damage(place: Path) -> None:
    a_weekend(place)
    content = bytearray((place / LOG).read_bytes())
    content[100:2000] = bytes(1900)
    (place / "damaged").write_bytes(content)


def pull_out(place: Path, broken: Broken, told: Told) -> None:
    with broken():
        salvage(place / "damaged", place / "new")
    shutil.rmtree(place / "new", ignore_errors=True)
    for left in place.glob("new*"):
        left.unlink()
    assert salvage(place / "damaged", place / "new").added == BEFORE


def salvaged_check(place: Path, told: set[str]) -> None:
    assert len(sound(place / "new")) == BEFORE


def give_out(place: Path, broken: Broken, told: Told) -> None:
    (place / "out.csv").write_text("old")
    with opened(place) as logbook:
        with broken():
            write_whole(place / "out.csv", lambda stream: export_csv(logbook, stream))
            export_json(logbook, io.StringIO())
        told += names(logbook.write(*_pair(1)))


def given_check(place: Path, told: set[str]) -> None:
    assert told <= sound(place / LOG)
    with Logbook.open(place / LOG, read_only=True) as logbook:
        whole = io.StringIO(newline="")
        export_csv(logbook, whole)
    assert (place / "out.csv").read_bytes().decode() in ("old", whole.getvalue())


def change_much(place: Path, broken: Broken, told: Told) -> None:
    """One save that touches every line, and so many pages."""
    with opened(place) as logbook:
        event, session = logbook.all("event")[0][0], logbook.session("last")
        before = logbook.names()
        with broken() as said:
            told += names(
                logbook.write(
                    patch("event", event, {"venue": "Long Moor"}),
                    patch("session", session, {"driver": "Ines", "FL.camber": None}),
                )
            )
        if said and re.search("nothing of (it|this save) was kept", said[0]):
            assert logbook.names() == before, f"yet it was: {said[0]}"
        told += names(logbook.write(*_pair(1)))


def with_a_practice(place: Path) -> None:
    """A practice of three runs and a qualifying, of one car at one event."""
    event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
    car = put("car", {"name": "Coupé"})
    called = {"event": event.entity, "car": car.entity, "number": _count(1)}
    with opened(place) as logbook:
        logbook.write(event, car)
        for number in range(1, 4):
            start = f"2026-05-09 10:{10 * number}"
            body = called | {"kind": "practice", "start": start, "run": _count(number)}
            logbook.write(put("session", body))
        logbook.write(put("session", called | {"kind": "qualifying", "start": "2026-05-09 15:00"}))


def _count(number: int) -> dict[str, object]:
    return Reading.of_si(float(number), "count").body()


def order_runs(place: Path, broken: Broken, told: Told) -> None:
    """A next run, a forgotten one, one that moves and a session that splits, each in one save."""
    with opened(place) as logbook:
        with broken():
            for verb in (_next, _forgotten, _moved, _split):
                told += names(logbook.write(*verb(logbook).writes))
        told += names(logbook.write(put("note", {"words": "after the runs"})))


def _next(logbook: Logbook) -> RunWrites:
    of = _titled(logbook, "practice 1 run 3")
    return next_run(logbook, (of.entity, logbook.session_record(of.entity)))


def _forgotten(logbook: Logbook) -> RunWrites:
    of = _titled(logbook, "practice 1 run 3")
    return run_between(logbook, (of.entity, logbook.session_record(of.entity)), "10:15")


def _moved(logbook: Logbook) -> RunWrites:
    run, there = _titled(logbook, "practice 1 run 2"), _titled(logbook, "qualifying 1")
    return run_moved(logbook, run.entity, there)


def _split(logbook: Logbook) -> RunWrites:
    return split_from(logbook, _titled(logbook, "practice 1 run 2").entity)


def _titled(logbook: Logbook, title: str) -> SessionLine:
    return next(line for line in logbook.session_lines() if line.title == title)


def runs_check(place: Path, told: set[str]) -> None:
    assert told <= sound(place / LOG), "an acknowledged save is gone"
    with Logbook.open(place / LOG, read_only=True) as logbook:
        runs = logbook.session_lines()
    counted: dict[str, list[str]] = {}
    for run in sorted(runs, key=lambda run: run.sort_key):
        counted.setdefault(run.session, []).append(run.run)
    for session, numbers in counted.items():
        alone = len(numbers) == 1 and numbers[0] in ("", "1")
        in_order = [str(n) for n in range(1, len(numbers) + 1)]
        assert alone or numbers == in_order, f"half an order is there: {session} {numbers}"


def nothing(place: Path) -> None:
    pass


def a_file(place: Path) -> None:
    a_weekend(place)


WORKS = (
    Work("save", a_file, save, save_check),
    Work("change", a_file, change_much, save_check),
    Work("runs", with_a_practice, order_runs, runs_check),
    Work("open", nothing, open_anew, open_check, every=5),
    *(
        Work(f"migrate from version {version}", an_older_file(version), open_anew, older_check)
        for version in range(1, VERSION)
    ),
    Work("backup", with_backups, back_up, backups_check),
    Work("restore", with_backups, go_back, back_check),
    Work("bundle write", with_a_stick, write_a_bundle, bundle_check),
    Work("bundle read", with_a_stick, read_a_bundle, taken_check),
    Work("share", with_two_laptops, through_a_folder, shared_check),
    Work("rebuild", a_file, make_anew, save_check, every=5),
    Work("salvage", with_damage, pull_out, salvaged_check, every=20),
    Work("export", a_file, give_out, given_check),
)
