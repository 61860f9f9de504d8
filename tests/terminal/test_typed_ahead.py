"""What is typed in one go behind a key that opens a box lands in the box, in a real terminal."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.terminal.terminal import Terminal


@pytest.fixture
def terminal(samples_log: Path, tmp_path: Path) -> Iterator[Terminal]:
    log = shutil.copy(samples_log, tmp_path / "season.trackside")
    one = Terminal([sys.executable, "-m", "trackside", "--log", str(log)], (80, 24), tmp_path)
    yield one
    one.close()


def test_words_behind_the_slash_are_looked_for(terminal: Terminal) -> None:
    terminal.wait_for("Averholme")
    os.write(terminal.master, b"/Kiln Lane hs")
    terminal.wait_for("Kiln Lane hs")


def test_words_behind_a_note_are_the_drivers(terminal: Terminal) -> None:
    terminal.wait_for("Averholme")
    os.write(terminal.master, b"\rna12 nose lifts, 1 click h")
    screen = terminal.wait_for("12 nose lifts, 1 click h")
    assert "Driver's note" in screen
    assert "FP-0611" in screen  # the cell beneath took nothing
