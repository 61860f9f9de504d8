"""How long the logbook takes, as a ratio to a bare commit on the same disk in the same run.

The budget for a save is 10 ms where a bare commit (same pragmas, one row) takes 2 ms. A page of the
pit board out of 20,000 sessions may take as long as a few commits; a rebuild must be linear.
"""

from __future__ import annotations

import sqlite3
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from trackside.logbook import Logbook, patch, put
from trackside.logbook.connection import PRAGMAS
from trackside.records.fields import CORNER_FIELDS, CORNERS

pytestmark = pytest.mark.benchmark


def median_ms(work: Callable[[], object], times: int = 40) -> float:
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(1e3 * (time.perf_counter() - start))
    return statistics.median(spent)


@pytest.fixture
def commit(tmp_path: Path) -> Iterator[Callable[[], object]]:
    bare = sqlite3.connect(tmp_path / "bare.db", isolation_level=None)
    for name, value in PRAGMAS.items():
        bare.execute(f"PRAGMA {name} = {value}")
    bare.execute("CREATE TABLE kept (words TEXT)")

    def work() -> None:
        bare.execute("BEGIN IMMEDIATE")
        bare.execute("INSERT INTO kept VALUES (?)", ("x" * 400,))
        bare.execute("COMMIT")

    yield work
    bare.close()


def full_sheet() -> dict:
    values = {
        name: {"typed": "1,45", "unit": "bar", "si": 145000.0}
        for name, field in CORNER_FIELDS.items()
        if field.quantity
    }
    return dict.fromkeys(CORNERS, values)


def sessions(count: int) -> list:
    return [
        put("session", {"start": f"{2017 + n // 2000}-{n % 12 + 1:02d}-09 10:{n % 60:02d}",
                        "driver": f"D{n % 4}", "FL": {"damper": "S-101"}})
        for n in range(count)
    ]  # fmt: skip


def test_a_save(tmp_path: Path, commit: Callable[[], object]) -> None:
    with Logbook.open(tmp_path / "team.logbook", device="d") as logbook:
        [session] = logbook.write(put("session", full_sheet()))
        count = iter(range(10_000))

        def save() -> None:
            value = {"typed": str(next(count)), "unit": "", "si": 1.0}
            logbook.write(patch("session", session.entity, {"FL.rebound_bleed": value}))

        bare, saved, undone = median_ms(commit), median_ms(save), median_ms(logbook.undo, 20)
    print(f"bare commit {bare:.1f} ms, save {saved:.1f} ms, undo {undone:.1f} ms")
    assert saved < max(5 * bare, 10)
    assert undone < max(5 * bare, 15)


def test_twenty_thousand_sessions(tmp_path: Path, commit: Callable[[], object]) -> None:
    path = tmp_path / "team.logbook"
    with Logbook.open(path, device="d") as logbook:
        logbook.write(*sessions(20_000))

    def open_and_list() -> None:
        with Logbook.open(path, device="d") as logbook:
            assert len(logbook.session_lines(limit=50)) == 50

    bare, opened = median_ms(commit), median_ms(open_and_list, 10)
    with Logbook.open(path, device="d") as logbook:
        found = {
            "first page": median_ms(lambda: logbook.session_lines(limit=50)),
            "last page": median_ms(lambda: logbook.session_lines(limit=50, offset=19_950)),
            "one driver": median_ms(lambda: logbook.session_lines(limit=50, driver="D1")),
            "trend": median_ms(lambda: logbook.readings("FL", "damper", limit=50)),
        }
    print(f"bare commit {bare:.1f} ms, open and list {opened:.1f} ms", found)
    assert opened < 50
    assert all(spent < 25 for spent in found.values())


def test_a_rebuild_is_linear(tmp_path: Path) -> None:
    spent = {}
    for count in (1000, 4000):
        with Logbook.open(tmp_path / f"{count}.logbook", device="d") as logbook:
            logbook.write(*sessions(count))
            spent[count] = median_ms(logbook.rebuild, 3)
    print({count: round(ms) for count, ms in spent.items()})
    assert spent[4000] < 4 * 1.5 * spent[1000]


def test_runs_read_from_their_text_make_a_rebuild_quicker(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The processor's time, against the same rebuild with every run read at length."""
    writes = [put("session", full_sheet() | {"words": f"run {n}"}) for n in range(2000)]
    with Logbook.open(tmp_path / "team.logbook", device="d") as logbook:
        logbook.write(*writes)

        def took() -> float:
            begun = time.process_time()
            logbook.rebuild()
            return time.process_time() - begun

        took()
        spent: dict[str, list[float]] = {"from their text": [], "at length": []}
        for _ in range(5):
            spent["from their text"].append(took())
            with monkeypatch.context() as patched:
                patched.setattr("trackside.logbook.projections.plain_sheet", lambda *_: None)
                spent["at length"].append(took())
    quick, slow = (statistics.median(times) for times in spent.values())
    print(f"{quick:.2f} s from their text, {slow:.2f} s at length: {quick / slow:.2f}")
    assert quick < 0.85 * slow
