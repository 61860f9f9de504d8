"""Ten seasons in one logbook: 20,000 sessions of 60 values each, and what a crew does with them.

The budgets are the product's own: rebuild 15 s, search 30 ms, export 10 s, and opening adds 150 ms
to an empty logbook. Each figure is printed. The seconds hold on a quiet machine; what a busy one
cannot falsify is the ratio to reading everything once, in the same run. A save is held to its 10 ms
against a bare commit in test_logbook_speed.
"""

from __future__ import annotations

import io
import json
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from trackside.analysis.recall import first_unit
from trackside.analysis.run_query import read_query
from trackside.analysis.run_search import Runs
from trackside.logbook import Logbook, patch, put
from trackside.logbook.exchange import export_json
from trackside.logbook.merge import Line
from trackside.logbook.revisions import seal
from trackside.logbook.sharing import give
from trackside.logbook.spreadsheet import export_csv, export_wide_csv
from trackside.records.fields import CORNER_FIELDS, CORNERS

pytestmark = pytest.mark.benchmark

SESSIONS = 20_000
FIELDS = [name for name, field in CORNER_FIELDS.items() if field.quantity][:15]
TURNS = ["hairpin", "chicane", "crest", "sweeper", "esses", "bowl", "carousel"]


def lines() -> Iterator[Line]:
    before = ""
    for number in range(SESSIONS):
        values = {
            name: {"typed": f"{number % 97 + place},5", "unit": "bar", "si": number % 97 + place}
            for place, name in enumerate(FIELDS)
        }
        body = {
            "start": f"{2017 + number // 2000}-{number % 12 + 1:02d}-09 10:{number % 60:02d}",
            "driver": f"D{number % 4}",
            "words": f"loose at the {TURNS[number % 7]} in run {number}",
        } | dict.fromkeys(CORNERS, values)
        revision, envelope = seal(
            put("session", body),
            parents=(),
            device="d",
            seq=number + 1,
            save=number + 1,
            author="Mara",
            reason="",
            recorded_at="2026-05-09T08:00:00.000Z",
            before=before,
        )
        before = revision.rev
        yield Line(revision.rev, envelope)


def spent(work: Callable[[], object], times: int = 1) -> float:
    """The median time that `work` takes (s)."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        found.append(time.perf_counter() - begun)
    return statistics.median(found)


def read_everything(logbook: Logbook) -> int:
    """Read every record and its JSON: what any export or rebuild has to do at least."""
    return sum(len(json.loads(body)) for _, _, body, *_ in logbook.current_rows())


def peak_memory(log: Path, target: Path, *options: str) -> float:
    """The most memory (MB) that an export from the command line takes."""
    command = [sys.executable, "-m", "trackside", "--log", str(log), "export", str(target)]
    script = (
        "import resource, subprocess, sys\n"
        "subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL)\n"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, *command, *options],
        check=True,
        capture_output=True,
        text=True,
    )
    return int(done.stdout) / (1e6 if sys.platform == "darwin" else 1e3)


@pytest.fixture(scope="module")
def seasons(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("seasons") / "team.trackside"
    with Logbook.open(path, device="d") as logbook:
        assert logbook.take(lines(), via="test").added == SESSIONS
        assert logbook.session_count() == SESSIONS
    return path


def test_ten_seasons(seasons: Path, tmp_path: Path) -> None:
    def first_screen(path: Path) -> None:
        with Logbook.open(path, device="d") as opened:
            opened.session_lines(limit=500)
            opened.session_count()

    first_screen(tmp_path / "empty.trackside")
    empty, full = (
        spent(lambda at=at: first_screen(at), 5) for at in (tmp_path / "empty.trackside", seasons)
    )
    with Logbook.open(seasons, device="d") as logbook:
        last = logbook.session("last")
        count = iter(range(10_000))

        def save() -> None:
            value = {"typed": str(next(count)), "unit": "clicks", "si": 1.0}
            logbook.write(patch("session", last, {"FL.rebound_bleed": value}))

        found = {
            "MB": seasons.stat().st_size / 1e6,
            "first screen beyond empty (ms)": 1e3 * (full - empty),
            "save (ms)": 1e3 * spent(save, 40),
            "search, one word in 7 (ms)": 1e3 * spent(lambda: logbook.search("hairpin"), 10),
            "search, one session (ms)": 1e3 * spent(lambda: logbook.search("run 12345"), 10),
            "search, the start of all (ms)": 1e3 * spent(lambda: logbook.search("lo"), 10),
            "read everything once (s)": spent(lambda: read_everything(logbook)),
            "export JSON (s)": spent(lambda: export_json(logbook, io.StringIO())),
            "export CSV (s)": spent(lambda: export_csv(logbook, io.StringIO())),
            "export wide CSV (s)": spent(lambda: export_wide_csv(logbook, io.StringIO())),
            "bundle (s)": spent(lambda: give(logbook, tmp_path / "all.bundle")),
            "rebuild (s)": spent(logbook.rebuild),
        }
        found |= _while_backing_up(logbook, tmp_path / "copy.trackside", save)
    found["peak memory of an export (MB)"] = peak_memory(seasons, tmp_path / "all.json")
    found["peak memory of a CSV export (MB)"] = peak_memory(seasons, tmp_path / "all.csv", "--csv")
    print(*(f"\n  {name}: {value:.1f}" for name, value in found.items()))
    once = found["read everything once (s)"]
    for name, times in (("export JSON", 2), ("export CSV", 3), ("export wide CSV", 10),
                        ("bundle", 6), ("rebuild", 25)):  # fmt: skip
        assert found[f"{name} (s)"] < times * once, name
    assert found["peak memory of an export (MB)"] < 150
    assert found["peak memory of a CSV export (MB)"] < 150
    assert found["rebuild (s)"] < 15
    assert found["search, one word in 7 (ms)"] < 30
    assert found["search, one session (ms)"] < 30
    assert found["search, the start of all (ms)"] < 30
    assert found["export JSON (s)"] < 10
    assert found["export CSV (s)"] < 10
    assert found["first screen beyond empty (ms)"] < 150
    assert found["slowest save during a backup (ms)"] < 150


def test_a_search_of_the_runs(seasons: Path) -> None:
    """A field is read at the first question about it; then a letter typed costs a look through
    what is in memory: a small share of reading it, in the same run."""
    with Logbook.open(seasons, read_only=True) as logbook:
        once = spent(lambda: read_everything(logbook))
        begun = time.perf_counter()
        runs = Runs(logbook)
        table = time.perf_counter() - begun
        found = {"read everything once (s)": once, "read the runs (s)": table}
        for name, text, many in (
            ("a number at four corners", f"{FIELDS[0].replace('_', ' ')} > 90", True),
            ("between, one corner", f"{FIELDS[1].replace('_', ' ')} fl between 20 and 30", True),
            ("a driver and a word", "driver = D2 hairpin", True),
            ("one run by its words", "run 12345", False),
            ("days", "date > 2020-05", True),
        ):
            query = read_query(text, first_unit, runs.items)
            first = spent(lambda query=query: runs.places(query))
            places = runs.places(query)
            assert many == (len(places) > 1)
            found[f"{name}, first (ms)"] = 1e3 * first
            found[f"{name} (ms)"] = 1e3 * spent(lambda query=query: runs.places(query), 15)
            shown = spent(lambda p=places, q=query: [runs.found(n, q) for n in p[:20]])
            found[f"{name}, twenty lines (ms)"] = 1e3 * shown
    print(*(f"\n  {name}: {value:.1f}" for name, value in found.items()))
    for name, value in found.items():
        if name.endswith("(ms)") and "first" not in name:
            assert value < 30, name
            assert value < 10 * once, name  # ms against s: a hundredth of reading everything
    assert table < 2 * once


def test_a_sum_of_all_runs(seasons: Path) -> None:
    """What the list of hours or of tyre sets reads: two copies of four values of each run."""
    with Logbook.open(seasons, read_only=True) as logbook:
        once = spent(lambda: read_everything(logbook), 3)
        assert len(logbook.driven("")) == SESSIONS
        summed = spent(lambda: logbook.driven(""), 3)
    print(f"read everything once {once:.2f} s, what each run came to {summed:.2f} s")
    assert summed < 2 * once


def _while_backing_up(logbook: Logbook, target: Path, save: Callable[[], None]) -> dict[str, float]:
    """A backup, and the saves that go on during it."""
    took: list[float] = []
    copying = threading.Thread(target=lambda: took.append(spent(lambda: logbook.back_up(target))))
    copying.start()
    saves = []
    while copying.is_alive():
        saves.append(spent(save))
        time.sleep(0.1)
    copying.join()
    return {
        "backup (s)": took[0],
        "save during a backup (ms)": 1e3 * statistics.median(saves),
        "slowest save during a backup (ms)": 1e3 * max(saves),
    }
