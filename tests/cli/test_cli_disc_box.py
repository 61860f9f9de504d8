"""`trackside box`: the shop's parts listed, put in, taken out and counted from a spreadsheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "shop.trackside"
    with Logbook.open(path, author="Mara", device="d"):
        pass
    return path


def test_the_box_is_filled_listed_and_emptied(cli: Cli, log: Path, tmp_path: Path) -> None:
    assert cli("--log", log, "box").out == "The disc box is empty.\n"
    told = cli("--log", log, "box", "--put", "27×0.15 ×6, clamp 14", "--put", "spacer 0.30 ×4").out
    assert "put in: 27×0.15 ×6, clamp disc 14 ×1, spacer 0.30 ×4" in told
    body = cli("--log", log, "box", "--take", "27x0.15 x2", "--json").json
    assert [(p["sort"], p["count"]) for p in body["parts"]] == [
        ("disc", 4),
        ("clamp disc", 1),
        ("spacer", 4),
    ]
    assert body["parts"][0]["diameter_m"] == pytest.approx(0.027)
    count = tmp_path / "count.csv"
    count.write_text("what,diameter (mm),thickness (mm),count\ndisc,27,0.15,9\n")
    told = cli("--log", log, "box", "--read", count).out
    assert "0 new, 1 changed, 0 as they were" in told
    assert "27×0.15 9" in " ".join(told.split())
    assert cli("--log", log, "verify").status == 0


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--put", "washers"), "“washers” is no part that is known"),
        (("--take", "27×0.15"), "the box has none of it"),
        (("--put", "27×0.15", "--take", "21×0.10"), "the box has none of it"),
        (("--put", ""), "no part is named"),
        (("--read", "nowhere.csv"), "nowhere.csv"),
        (("--read", "x.csv", "--put", "27×0.15"), "do one, then the other"),
    ],
)
def test_bad_input_is_said_plainly(
    cli: Cli, log: Path, arguments: tuple[str, ...], told: str
) -> None:
    ran = cli("--log", log, "box", *arguments)
    assert ran.status in (1, 2)
    assert told in ran.err
    assert cli("--log", log, "box", "--json").json["parts"] == [], "all of it, or nothing"


def test_an_implausible_size_is_said_beside_the_list(cli: Cli, log: Path) -> None:
    told = cli("--log", log, "box", "--put", "270×0.15").out
    assert "! 270×0.15: Diameter: 270.0 mm is outside" in told
