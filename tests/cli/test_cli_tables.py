"""Dampers and cars imported from a spreadsheet on the command line."""

from __future__ import annotations

from pathlib import Path

from tests.running import Cli
from trackside.logbook import Logbook

TABLE = "Serial;Model;Rod (mm)\nQA-1;Quad;14,5\nQA-2;Quad;14\n"


def table(tmp_path: Path, text: str = TABLE) -> Path:
    path = tmp_path / "list.csv"
    path.write_text(text)
    return path


def test_a_table_is_imported_once(cli: Cli, tmp_path: Path) -> None:
    log = tmp_path / "new.trackside"
    at = ("--log", log, "import", "--dampers", table(tmp_path))
    told = cli(*at, "--json").json
    assert (told["added"], told["same"], told["differs"]) == (["QA-1", "QA-2"], [], {})
    again = cli(*at)
    assert (again.status, again.out) == (0, "no dampers entered, 2 here already\n")
    table(tmp_path, TABLE.replace("14,5", "15"))
    left = cli(*at)
    assert left.out.splitlines()[1:] == ["  QA-1: rod ⌀ 14,5 mm here, 15 mm in the table"]
    assert cli(*at, "--json").json["differs"] == {
        "QA-1": [{"label": "rod ⌀", "here": "14,5 mm", "there": "15 mm"}]
    }
    assert cli(*at, "--instead", "--json").json["put_right"] == ["QA-1"]
    assert "2 here already" in cli(*at).out


def test_every_bad_row_is_named_and_nothing_is_written(cli: Cli, tmp_path: Path) -> None:
    log = tmp_path / "new.trackside"
    bad = TABLE.replace("14,5", "thick") + "QA-2;Quad;14\n"
    ran = cli("--log", log, "import", "--dampers", table(tmp_path, bad))
    assert (ran.status, ran.out) == (2, "")
    first, second, last = ran.err.splitlines()
    assert first.startswith("trackside: list.csv line 2, QA-1: rod ⌀ “thick”: ")
    assert second.startswith("trackside: list.csv line 4, QA-2: QA-2 is on line 3 already")
    assert "2 rows of list.csv cannot be used: nothing is written" in last
    with Logbook.open(log, read_only=True) as logbook:
        assert logbook.current_states() == []


def test_cars_and_columns_with_names_of_their_own(cli: Cli, tmp_path: Path) -> None:
    log = tmp_path / "new.trackside"
    cars = table(tmp_path, "Wagen;front spring (N/mm)\nFormel;60\n")
    at = ("--log", log, "import", "--cars", cars)
    assert "say which it is" in cli(*at).err
    assert cli(*at, "--columns", "Wagen=name", "--json").json["added"] == ["Formel"]
    assert cli(*at, "--json").json["same"] == ["Formel"]
    assert cli("--log", log, "import", cars, "--instead").status == 2
