"""What takes long, or much: a terminal shows how far it is, and no memory is a sentence."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, put


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "team.trackside"
    with Logbook.open(path, device="d") as logbook:
        logbook.write(*(put("note", {"words": str(number)}) for number in range(1200)))
    return path


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
def test_rebuilding_and_checking_show_how_far_they_are(log: Path) -> None:
    here, there = os.openpty()
    done = subprocess.Popen(
        [sys.executable, "-m", "trackside", "--log", str(log), "verify", "--rebuild"],
        stdout=subprocess.PIPE,
        stderr=there,
        env=os.environ | {"TERM": "xterm", "COLUMNS": "80"},
        text=True,
    )
    out, _ = done.communicate(timeout=120)
    os.close(there)
    shown = b""
    while piece := _read(here):
        shown += piece
    assert done.returncode == 0
    assert "is intact: 1200 revisions" in out
    for label in (b"rebuilding", b"checking"):
        bars = [line for line in shown.replace(b"\r", b"\n").split(b"\n") if label in line]
        assert any(b" 41%" in bar for bar in bars), shown  # 500 of 1200
        assert any(b"100%" in bar for bar in bars)


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65536)
    except OSError:
        return b""


def test_scripts_are_told_nothing_of_it(log: Path) -> None:
    command = [sys.executable, "-m", "trackside", "--log", str(log), "verify", "--rebuild"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert done.stdout.count("\n") == 2


def test_no_memory_is_a_sentence(log: Path, cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr(Logbook, "session_lines", refuse)
    done = cli("--log", log, "list")
    assert (done.status, done.out) == (1, "")
    assert "not enough memory: close other programs" in done.err


@pytest.mark.skipif(sys.platform != "linux", reason="needs RLIMIT_AS")
@pytest.mark.parametrize("megabytes", [40, 80, 160])
def test_with_little_memory_nothing_is_lost(log: Path, megabytes: int) -> None:
    """An import that does not fit into the memory there is ends, and what was there stays."""
    file = log.with_name("many.json")
    record = {"kind": "note", "body": {"session": "s", "words": "x" * 2000}}
    records = [record | {"entity": f"{n:08d}-0000-7000-8000-000000000000"} for n in range(20_000)]
    document = {"format": "trackside-logbook", "version": 1, "entities": records}
    file.write_text(json.dumps(document))
    limited = (
        "import resource, sys\n"
        "from trackside.__main__ import main\n"
        "import sqlite_utils, trackside.logbook.exchange, trackside.records\n"
        "used = int(open('/proc/self/statm').read().split()[0]) * resource.getpagesize()\n"
        f"limit = used + ({megabytes} << 20)\n"
        "resource.setrlimit(resource.RLIMIT_AS, (limit, limit))\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited, "--log", str(log), "import", str(file)],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "not enough memory" in done.stderr
    with Logbook.open(log) as logbook:
        assert logbook.verify()[:2] == (1200, ())
