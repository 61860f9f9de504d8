"""A sheet file: one reader, one limit."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from tests.running import SHEETS
from trackside.errors import BadImport, BadSheet
from trackside.records import files, read_file, read_sheet, read_sheet_file
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


def test_a_home_folder_of_nobody_is_named_with_the_reason() -> None:
    with pytest.raises(BadSheet) as refused:
        read_sheet_file("~nobody-here/x.csv")
    cause = refused.value.cause
    assert cause.startswith("~nobody-here/x.csv cannot be read (")
    assert "home directory" in cause, "as Python says it"
    assert refused.value.remedy == "check its name and folder"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"\xff\xfea\0", r"json is UTF-16 text: save it again as UTF-8\.$"),
        (b"a\0b", r"json is not text: export it as a text file\.$"),
        (b"a\n\xe9", r"json line 2 is not UTF-8 text: save it again as UTF-8\.$"),
    ],
)
def test_what_is_no_text_is_said(tmp_path: Path, content: bytes, told: str) -> None:
    file = tmp_path / "odd.json"
    file.write_bytes(content)
    with pytest.raises(BadImport, match=told):
        read_file(str(file), BadImport)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"\xff\xfea\0b", "UTF-16 text breaks off"),
        (b"a\0b", "not text"),
        (bytes(range(256)), "not text"),
        (b"%PDF-1.7\n", "a PDF"),
        (b"\x1f\x8b\x08\0", "compressed"),
        (b"\xd0\xcf\x11\xe0\xa1", "a workbook"),
    ],
)
def test_what_is_no_table_of_text_is_said(tmp_path: Path, content: bytes, told: str) -> None:
    file = tmp_path / "odd.csv"
    file.write_bytes(content)
    with pytest.raises(BadSheet, match=told):
        read_sheet_file(str(file))


def test_a_pipe_is_read_and_one_that_gives_nothing_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (SHEETS / "FP-0611-A.csv").read_bytes()
    reader, writer = os.pipe()
    sender = threading.Thread(target=lambda: (os.write(writer, text), os.close(writer)))
    sender.start()
    assert (
        read_sheet_file(f"/dev/fd/{reader}").rows
        == read_sheet_file(str(SHEETS / "FP-0611-A.csv")).rows
    )
    sender.join()
    os.close(reader)
    monkeypatch.setattr(files, "PATIENCE", 0.1)
    reader, writer = os.pipe()
    with pytest.raises(BadSheet, match="gives nothing"):
        read_sheet_file(f"/dev/fd/{reader}")
    os.close(reader)
    os.close(writer)
    os.mkfifo(tmp_path / "fifo")
    with pytest.raises(BadSheet, match="gives nothing"):
        read_sheet_file(str(tmp_path / "fifo"))


@pytest.mark.parametrize("device", ["/dev/null", "/dev/zero", "/dev/random"])
def test_a_device_is_not_read(device: str) -> None:
    with pytest.raises(BadSheet, match="is a device"):
        read_sheet_file(device)


def test_a_file_too_large_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "huge.csv"
    with file.open("wb") as huge:
        huge.truncate(MOST_BYTES + 1)
    with pytest.raises(BadSheet, match="MB"):
        read_sheet_file(str(file))


def test_a_file_that_is_too_large_is_told_in_megabytes(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(b"1" * 2_500_000)
    with pytest.raises(BadSheet, match=r"a\.csv has 3 MB, which is no file of this kind"):
        files.read_bytes(str(file), BadSheet, 2_400_000)
    assert len(files.read_bytes(str(file), BadSheet, 2_500_000)) == 2_500_000
