"""What all tests share: a home of their own, and the sample weekends as a logbook."""

from __future__ import annotations

import gc
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.places import quick_place
from tests.running import Cli, Ran, ran
from trackside.crew.error_log import NAME
from trackside.logbook import Logbook
from trackside.logbook.samples import keep_files, load_samples, samples_folder
from trackside.preferences import data_folder

BESIDE_RUNS = ("tyre_set", "counter", "weighing", "weather", "job", "strip_down", "box_part")
"""Kinds of the samples that `runs_alone_log` leaves out."""

settings.register_profile(
    "shared machine", deadline=None, derandomize="CI" in os.environ, max_examples=50
)
settings.load_profile("shared machine")
"""No example is timed: a busy machine would lie. CI plays the same examples each time; whoever
works on the code plays new ones, so half of the usual 100 at a time are enough."""


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """One worker more than there are cores: a test of a screen waits half of its time. Without
    pytest-xdist nobody asks, and the tests run all the same."""
    return (os.cpu_count() or 1) + 2


def pytest_configure(config: pytest.Config) -> None:
    """Files of tests lie in memory: a save waits for the disk several times, which took four times
    the processor's work and more of the clock. What is measured or cut off (`tests/benchmarks`,
    `tests/faults`) says itself where it lies."""
    measured = "benchmark" in config.option.markexpr.replace("not benchmark", "")
    if (place := quick_place()) and not measured:
        os.environ["TMPDIR"] = place
        tempfile.tempdir = None  # looked up again


def pytest_collection_finish() -> None:
    """What collecting 7,000 tests left in memory lives to the end. Python need not walk through
    all that is alive after every second screen: that took a sixth of the processor's time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(5_000, 10, 10)


@pytest.fixture(autouse=True)
def _own_home(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> Iterator[None]:
    """No test sees, or touches, the files and terminal settings of whoever runs it."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("TRACKSIDE_DATA", str(home / "data"))
    monkeypatch.setenv("TRACKSIDE_CONFIG", str(home / "config"))
    monkeypatch.setenv("LC_ALL", "C.UTF-8")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLORTERM", "truecolor")
    for name in ("NO_COLOR", "COLUMNS", "LINES", "TEXTUAL_THEME", "TEXTUAL_DRIVER"):
        monkeypatch.delenv(name, raising=False)
    yield
    shutil.rmtree(home, ignore_errors=True)


@pytest.fixture(autouse=True)
def _no_mishap(request: pytest.FixtureRequest, _own_home: None) -> Iterator[None]:
    """What fails in the program and is survived by it fails the test all the same, unless it is
    there to see that (`mishaps`)."""
    yield
    log = data_folder() / NAME
    if log.exists() and request.node.get_closest_marker("mishaps") is None:
        raise AssertionError(log.read_text("utf-8"))


@pytest.fixture(scope="session")
def samples_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook file with the sample weekends; only to be read."""
    path = tmp_path_factory.mktemp("samples") / "samples.trackside"
    with Logbook.open(path, author="samples", device="samples") as logbook:
        load_samples(logbook)
    keep_files(path)
    return path


@pytest.fixture(scope="session")
def runs_alone_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample weekends without garage book, jobs and files, for what fills those itself; only to
    be read."""
    folder = tmp_path_factory.mktemp("alone") / "samples"
    shutil.copytree(samples_folder(), folder)
    weekends = folder / "weekends.json"
    document = json.loads(weekends.read_text("utf-8"))
    document["entities"] = [one for one in document["entities"] if one["kind"] not in BESIDE_RUNS]
    for one in document["entities"]:
        one["body"].pop("files", None)
    weekends.write_text(json.dumps(document), "utf-8")
    path = folder.with_name("samples.trackside")
    with Logbook.open(path, author="samples", device="samples") as logbook:
        load_samples(logbook, folder)
    return path


@pytest.fixture(scope="session")
def samples(samples_log: Path) -> Iterator[Logbook]:
    """The sample weekends, open for reading."""
    with Logbook.open(samples_log, read_only=True) as logbook:
        yield logbook


@pytest.fixture
def cli() -> Cli:
    """Runs a command line in this process."""
    return ran


@pytest.fixture
def on_samples(samples_log: Path) -> Cli:
    """Runs a command line on the sample weekends."""

    def running(*arguments: object) -> Ran:
        return ran("--log", samples_log, *arguments)

    return running
