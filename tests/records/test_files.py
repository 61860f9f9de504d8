"""A sheet file: one reader, one limit."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.running import SHEETS
from trackside.errors import BadSheet
from trackside.records import read_sheet, read_sheet_file
from trackside.records.files import MOST_BYTES


def test_a_sheet_file_is_the_sheet_of_its_text() -> None:
    path = SHEETS / "FP-0611-A.csv"
    assert read_sheet_file(str(path)) == read_sheet(path.read_text("utf-8"), path.name)


def test_the_home_folder_may_be_a_tilde(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "a.csv").write_bytes((SHEETS / "FP-0611-A.csv").read_bytes())
    assert read_sheet_file("~/a.csv").source == "a.csv"


@pytest.mark.parametrize("name", ["nowhere.csv", "", "/", "\x00", "~nobody-here/x.csv"])
def test_what_is_no_file_is_said(name: str) -> None:
    with pytest.raises(BadSheet):
        read_sheet_file(name)


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"\xff\xfea\0", "UTF-16"), (b"a\0b", "not text"), (b"a\n\xe9", "line 2 is not UTF-8")],
)
def test_what_is_no_text_is_said(tmp_path: Path, content: bytes, told: str) -> None:
    file = tmp_path / "odd.csv"
    file.write_bytes(content)
    with pytest.raises(BadSheet, match=told):
        read_sheet_file(str(file))


def test_a_file_too_large_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "huge.csv"
    with file.open("wb") as huge:
        huge.truncate(MOST_BYTES + 1)
    with pytest.raises(BadSheet, match="MB"):
        read_sheet_file(str(file))
