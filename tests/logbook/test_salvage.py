"""Salvage: every intact revision out of whatever is left of a file that SQLite wrote."""

from __future__ import annotations

import random
import sqlite3
from pathlib import Path

import pytest

from trackside.errors import LogbookDamaged
from trackside.logbook import Logbook, patch, put
from trackside.logbook.salvage import salvage


@pytest.fixture
def season(path: Path) -> Path:
    """Small and large revisions (from 300 bytes to 60 kB), in many pages."""
    chance = random.Random(3)
    with Logbook.open(path, device="d") as logbook:
        for number in range(40):
            words = chance.randbytes(chance.choice((10, 900, 2000, 2030, 8000, 30_000))).hex()
            write = put("note", {"words": f"{number} {words}"})
            logbook.write(write, put("note", {"words": str(number)}))
            logbook.write(patch("note", write.entity, {"driver": "Ines"}))
    return path


def test_a_sound_file_gives_everything(season: Path, tmp_path: Path) -> None:
    target = tmp_path / "new.trackside"
    assert salvage(season, target) == (120, 0, ())
    with Logbook.open(season) as old, Logbook.open(target) as new:
        assert new.lines() == old.lines()
        assert new.current_states() == old.current_states()


def test_a_file_without_its_first_page_gives_everything(season: Path, tmp_path: Path) -> None:
    content = season.read_bytes()
    season.write_bytes(bytes(4096) + content[4096:])
    assert salvage(season, tmp_path / "new").added == 120


@pytest.mark.parametrize("keep", [0.3, 0.7])
def test_a_torn_file_gives_what_lies_before_the_tear(
    season: Path, tmp_path: Path, keep: float
) -> None:
    content = season.read_bytes()
    season.write_bytes(content[: int(len(content) * keep)])
    with pytest.raises(LogbookDamaged):
        read_all(season)
    assert salvage(season, tmp_path / "new").added > 120 * keep / 2


def test_wiped_pages_cost_their_rows_alone(season: Path, tmp_path: Path) -> None:
    with Logbook.open(season) as logbook:
        written = {line.rev for line in logbook.lines()}
    content = bytearray(season.read_bytes())
    for page in random.Random(1).sample(range(1, len(content) // 4096), 10):
        content[page * 4096 : (page + 1) * 4096] = bytes(4096)
    season.write_bytes(content)
    assert salvage(season, tmp_path / "new").added >= 60
    with Logbook.open(tmp_path / "new") as new:
        assert {line.rev for line in new.lines()} <= written


@pytest.mark.parametrize("size", [512, 1024, 65536])
def test_any_page_size(season: Path, tmp_path: Path, size: int) -> None:
    sql = sqlite3.connect(season)
    sql.execute(f"PRAGMA page_size = {size}")
    sql.execute("VACUUM")
    sql.close()
    assert salvage(season, tmp_path / "new").added == 120


def test_nothing_left_is_said(tmp_path: Path) -> None:
    (tmp_path / "noise").write_bytes(random.Random(2).randbytes(200_000))
    with pytest.raises(LogbookDamaged, match="Nothing can be read"):
        salvage(tmp_path / "noise", tmp_path / "new")
    assert not (tmp_path / "new").exists()


def read_all(path: Path) -> None:
    with Logbook.open(path) as logbook:
        logbook.lines()
        logbook.verify()
