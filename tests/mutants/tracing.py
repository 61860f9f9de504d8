"""A plugin for pytest: which functions of the program each test enters, and how long it takes.

With `TRACKSIDE_TRACE` it writes that to a file of that folder. With `TRACKSIDE_LIMITS` (seconds a
test, as JSON) it ends the process with `TOO_LONG` where a test takes more of the processor, or six
times as long by the clock, which others may share: a mutant runs for ever.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter
from types import FrameType

import pytest

TOO_LONG = 99
PROGRAM = str(Path(__file__).parents[2] / "trackside") + os.sep
_entered: dict[str, set[tuple[str, int]]] = {}
_seconds: dict[str, float] = {}
_now: set[tuple[str, int]] = set()
"""What is entered while no test runs belongs to none: the test modules' own imports."""


def _enter(frame: FrameType, event: str, _: object) -> None:
    code = frame.f_code
    if code.co_filename.startswith(PROGRAM):
        _now.add((code.co_filename, code.co_firstlineno))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    global _now
    if limits := json.loads(os.environ.get("TRACKSIDE_LIMITS", "{}")):
        seconds = limits.get(item.nodeid, 60.0)
        timers = {signal.ITIMER_PROF: seconds, signal.ITIMER_REAL: 6 * seconds}
        for number in (signal.SIGPROF, signal.SIGALRM):
            signal.signal(number, lambda *_: os._exit(TOO_LONG))
        for timer, most in timers.items():
            signal.setitimer(timer, most)
        result = yield
        for timer in timers:
            signal.setitimer(timer, 0)
        return result
    if "TRACKSIDE_TRACE" not in os.environ:
        return (yield)
    _now = _entered.setdefault(item.nodeid, set())
    begun = perf_counter()
    threading.settrace(_enter)
    sys.settrace(_enter)
    try:
        return (yield)
    finally:
        sys.settrace(None)
        threading.settrace(None)  # type: ignore[arg-type]
        _seconds[item.nodeid] = perf_counter() - begun


def pytest_sessionfinish() -> None:
    if folder := os.environ.get("TRACKSIDE_TRACE"):
        told = {
            test: {
                "seconds": _seconds[test],
                "entered": sorted((f.removeprefix(PROGRAM), line) for f, line in entered),
            }
            for test, entered in _entered.items()
            if test in _seconds
        }
        (Path(folder) / f"{os.getpid()}.json").write_text(json.dumps(told), "utf-8")
