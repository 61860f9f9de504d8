"""What a fit says: no position is hidden because it is nought."""

from __future__ import annotations

from pathlib import Path

from tests.running import SHEETS, Cli


def test_a_ring_at_its_first_position_is_said_too(cli: Cli, tmp_path: Path) -> None:
    header, *lines = (SHEETS / "RP-0713-A.csv").read_text("utf-8").split()
    assert header.endswith(",preload_position")
    parted = [line.rpartition(",") for line in lines]
    least = min(int(ring) for *_, ring in parted if ring)
    moved = [f"{rest},{int(ring) - least if ring else ''}" for rest, _, ring in parted]
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("\n".join([header, *moved]), "utf-8")
    ran = cli("dyno", "fit", sheet)
    assert ran.status == 0
    assert ", preload 0, measured" in ran.out
