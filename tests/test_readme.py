"""The README: every command of it works as written, its key table and its picture are true."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from tests.readme_keys import README, with_table
from tests.running import SHEETS, Cli

TEXT = README.read_text("utf-8")


def _commands() -> list[str]:
    """The lines of the shell blocks that call trackside."""
    blocks = re.findall(r"```sh\n(.*?)```", TEXT, re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines()]
    return [line for line in lines if line.startswith("trackside ")]


@pytest.mark.parametrize("line", _commands())
@pytest.mark.parametrize("as_json", [False, True])
def test_every_command_of_the_readme(
    line: str,
    as_json: bool,
    samples_log: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    cli: Cli,
) -> None:
    monkeypatch.chdir(tmp_path)
    sheet = SHEETS / "FP-0611-A.csv"
    for name in ("SHEET.csv", "OTHER.csv"):
        (tmp_path / name).write_text(sheet.read_text("utf-8"), "utf-8")
    (tmp_path / "LAPS.csv").write_text("lap;lap time\n1;1:52,4\n2;1:35,2\n", "utf-8")
    (tmp_path / "DAMPERS.csv").write_text("serial;rod (mm)\nTW-2301;14\n", "utf-8")
    words = shlex.split(line)[1:]
    season = Path(shutil.copy(samples_log, tmp_path / "mine.trackside"))
    (tmp_path / "TEAM").mkdir()
    if words[:2] == ["bundle", "read"]:
        cli("--log", season, "bundle", "write", "season.bundle")
    if words[0] == "import":
        cli("--log", season, "export", "season.json")
    result = cli("--log", season, *words, *(["--json"] if as_json else []))
    assert result.status == 0, result.err


def test_the_two_commands_are_one_line_each() -> None:
    lines = [line for line in TEXT.splitlines() if line.startswith("python3 -m venv ")]
    assert len(lines) == 2
    assert "trackside demo" in lines[0]
    assert "'.[test]'" in lines[1]
    assert lines[1].endswith("pytest -n auto")


def test_the_key_table_is_the_commands() -> None:
    assert with_table(TEXT) == TEXT


def test_the_pictures_are_there_and_ask_the_network_for_nothing() -> None:
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", TEXT)
    assert pictures
    for picture in pictures:
        drawing = (README.parent / picture).read_text("utf-8")
        assert "<svg" in drawing
        assert "@font-face" not in drawing


def test_the_job_comes_first() -> None:
    first = TEXT.split("\n\n")[1]
    assert first.startswith("Keep a true, complete record of every session")
