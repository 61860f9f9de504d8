"""A short run of the fuzzer at every page; the long one is `python -m tests.terminal.fuzz`."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.terminal.fuzz import play


@pytest.mark.parametrize("seed", [7, pytest.param(8, marks=pytest.mark.long)])
def test_random_bursts_clicks_and_sizes_end_nothing(
    seed: int, samples_log: Path, tmp_path: Path
) -> None:
    path = Path(shutil.copy(samples_log, tmp_path / "season.trackside"))
    seen = play(path, tmp_path, 150, seed)
    assert seen.keys >= 150
    assert not seen.faults
