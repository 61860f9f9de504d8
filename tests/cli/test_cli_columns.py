"""A bench's own names for its columns: said once on the command line, and known from then on."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.records.machines import plain, points, signed, tall, titled, wide
from tests.running import Cli
from trackside.logbook.column_names import columns_file, keep_columns, known_columns

HEADS = ("Stellung", "Zug/Druck", "v", "Kraft")
SAID = "Stellung=position;Zug/Druck=direction;v=speed_mm_s;Kraft=force_N"
SOUND = points()


def written(tmp_path: Path, text: str, name: str = "bench.txt") -> Path:
    path = tmp_path / name
    path.write_text(text, "latin-1")
    return path


def fit(cli: Cli, path: Path, *arguments: object) -> dict:
    given = ("--count-from", "hard", "--gas-free", *arguments, "--json")
    return cli("dyno", "fit", path, *given).json


def test_said_once_and_remembered(cli: Cli, tmp_path: Path) -> None:
    path = written(tmp_path, tall(SOUND, plain(1, ","), ";", HEADS, range(4)))
    asked = cli("dyno", "fit", path, "--gas-free")
    assert (asked.status, asked.out) == (2, "")
    assert "bench.txt line 1 has no column speed_mm_s, force_N" in asked.err
    assert "--columns" in asked.err
    assert not columns_file().exists()
    first = fit(cli, path, "--columns", SAID)
    assert fit(cli, path) == first
    assert first["rows"] == len(SOUND)


def test_what_could_not_be_read_is_not_remembered(cli: Cli, tmp_path: Path) -> None:
    path = written(tmp_path, tall(SOUND, plain(1, ","), ";", HEADS, range(4)))
    wrong = SAID.replace("Kraft=force_N", "Kraft=oil_C")
    assert cli("dyno", "fit", path, "--gas-free", "--columns", wrong).status == 2
    assert known_columns() == ()


@pytest.mark.parametrize("said", ["Kraft", "=force_N", "Kraft=power_W", "Kraft=force", "a=b=c"])
def test_what_says_nothing_of_a_column_is_refused(cli: Cli, tmp_path: Path, said: str) -> None:
    path = written(tmp_path, tall(SOUND, plain(1, ","), ";", HEADS, range(4)))
    ran = cli("dyno", "fit", path, "--columns", said)
    assert (ran.status, ran.err.count("\n")) == (2, 1)
    assert "does not say what a column is" in ran.err


def test_the_last_thing_said_of_the_same_names_holds() -> None:
    keep_columns({"load": "force_N"})
    keep_columns({"vel": "speed_in_s"})
    keep_columns({"load": "force_lbf"})
    assert known_columns() == ({"load": "force_lbf"}, {"vel": "speed_in_s"})


def test_a_damaged_file_of_names_is_named(cli: Cli, tmp_path: Path) -> None:
    path = written(tmp_path, tall(SOUND, plain(1, ","), ";", HEADS, range(4)))
    columns_file().parent.mkdir(parents=True, exist_ok=True)
    columns_file().write_text("{torn")
    ran = cli("dyno", "fit", path, "--gas-free")
    assert ran.status == 2
    assert "columns.json cannot be read" in ran.err


@pytest.mark.parametrize(
    "text",
    [
        wide(SOUND, plain(1, ",", "."), ";"),
        titled(SOUND, plain(1, ","), "\t"),
        signed(SOUND, plain(1), ",", "speed and force"),
    ],
    ids=["wide", "titled", "signed"],
)
def test_other_dresses_fit_the_same(cli: Cli, tmp_path: Path, text: str) -> None:
    heads = ("position", "direction", "speed_mm_s", "force_N")
    own = fit(cli, written(tmp_path, tall(SOUND, plain(1), ",", heads, range(4)), "own.csv"))
    found = fit(cli, written(tmp_path, text))
    for one, other in zip(own["estimates"], found["estimates"], strict=True):
        assert [abs(f) for f in other["force_N"]] == pytest.approx(one["force_N"])


def test_two_files_and_two_positions_without_a_column(cli: Cli, tmp_path: Path) -> None:
    paths = []
    for name, way in (("comp", "bump"), ("reb", "rebound")):
        lines = ["Clicks,Speed [mm/s],Force [N]"]
        lines += [f"{p:g},{v},{f}" for p, d, v, f in SOUND if d == way]
        paths.append(written(tmp_path, "\n".join(lines), f"unit {name}.csv"))
    given = ("--count-from", "hard", "--gas-free", "--json")
    found = cli("dyno", "fit", *paths, *given).json
    assert set(found["directions"]) == {"bump", "rebound"}
    assert found["rows"] == len(SOUND)
    assert any("file's name" in warning for warning in found["warnings"])


def test_a_foreign_table_is_added_as_it_is_fitted(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "copy.trackside"))
    path = written(tmp_path, tall(SOUND, plain(1, ","), ";", HEADS, range(4)))
    given = ("--damper", "FP-0611", "--columns", SAID, "--yes", "--json")
    asked = cli("--log", log, "dyno", "add", path, *given)
    assert (asked.status, "does not say whether gas force" in asked.err) == (2, True)
    added = cli("--log", log, "dyno", "add", path, "--gas-free", *given).json
    assert added["rows"] == len(SOUND)
