"""Random keys bring about no traceback and lose nothing; the long romp is `tests.tui.monkey`."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.monkey import romp


@pytest.mark.parametrize("seed", [101, pytest.param(102, marks=pytest.mark.long)])
async def test_a_romp(season_file: Path, seed: int) -> None:
    told = await romp(season_file, 200, seed)
    assert len(told.kept) > 3
    assert len(told.pages) > 4
