"""The garage book's parts, and what stands beside a run from it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.book_entries import entries_for, reading
from tests.told import agrees
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.reports.beside_run import beside_lines, beside_run
from trackside.reports.garage_book import PARTS

METRIC = Preferences()


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Logbook]:
    """An empty logbook."""
    with Logbook.open(tmp_path / "log", author="Mara", device="d") as logbook:
        yield logbook


def run(logbook: Logbook, **body: Any) -> str:
    write = put("session", {"start": "2026-10-18 13:50", "status": "done", **body})
    logbook.write(write)
    return write.entity


def test_every_part_of_the_book_with_one_entry(log: Logbook) -> None:
    log.write(*entries_for("c", "e"))
    told = []
    for part in PARTS:
        found = part.read(log, {"car": "c", "event": "e"}[part.of])
        told.append(f"{part.kind} | {part.title} | {part.of} | {part.empty}")
        told += [f"  {' | '.join(columns)}" for columns in (part.heads, part.whole)]
        told += [f"  {' | '.join(part.row(one, METRIC))}" for one in found]
        told += [f"    {line}" for one in found for line in part.lines(found, one, METRIC)]
        assert len(found) == 1
        assert part.read(log, "nothing") == []
        assert set(part.whole) <= set(part.heads)
    agrees(told, __file__, "book")


def test_what_stands_beside_a_run_in_its_order(log: Logbook) -> None:
    log.write(*entries_for("c", "e"))
    entity = run(log, car="c", event="e", tyre_set="S1")
    session = log.session_record(entity)
    sections = list(beside_run(log, entity, session, METRIC))
    assert [one.title for one in sections] == [
        "Weather of the day", "Tyres", "Hours before this run", "Corner weights"
    ]  # fmt: skip
    assert [said.kind for one in sections for said in one.said] == ["plain"] * sum(
        len(one.said) for one in sections
    )
    agrees(beside_lines(log, entity, session, METRIC), __file__, "beside_run")


def test_what_the_book_has_not_is_left_out(log: Logbook) -> None:
    log.write(*entries_for("c", "e"))
    bare = run(log)
    assert beside_lines(log, bare, Session(), METRIC) == []
    other = run(log, car="other", event="another", tyre_set="S9", start="2026-10-18 16:00")
    [tyres] = beside_lines(log, other, log.session_record(other), METRIC)
    assert tyres.startswith("tyres: set S9: ")
    early = run(log, car="c", start="2026-04-01 10:00")
    assert beside_lines(log, early, log.session_record(early), METRIC) == []


def test_a_unit_at_its_limit_is_a_caution(log: Logbook) -> None:
    engine = {"car": "c", "part": "engine", "since": "2026-05-01"}
    engine |= {"start": reading("30", "h", 108000.0), "limit": reading("30", "h", 108000.0)}
    log.write(put("counter", engine))
    entity = run(log, car="c")
    [section] = beside_run(log, entity, log.session_record(entity), METRIC)
    assert section.title == "Hours before this run"
    assert [said.kind for said in section.said] == ["caution"]
