"""What takes long shows on a terminal how far it is, and nothing of that anywhere else."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from trackside.logbook import Logbook, put


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "team.trackside"
    with Logbook.open(path, device="d") as logbook:
        logbook.write(*(put("note", {"words": str(number)}) for number in range(1200)))
    return path


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
def test_rebuilding_and_proving_show_how_far_they_are(log: Path) -> None:
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
    assert "is sound: 1200 revisions" in out
    for label in (b"rebuilding", b"proving"):
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
