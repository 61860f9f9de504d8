"""A dyno sheet from the file that a form named, and what is said of it."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from trackside.crew.sheet_file import gas_of, sheet_of
from trackside.errors import BadInput, BadSheet
from trackside.logbook.samples import samples_folder
from trackside.records import Build

HEADER = "position,direction,speed_mm_s,force_N\n"


ASKED = {"date": "2026-11-01", "counted": "", "gas": "no", "zeroed": "", "charge": ""}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("position,direction,speed_mm_s\n0,bump,50\n", "no column force_N"),
        ("", "is empty"),
        ("position,direction,speed_mm_s,force_N\n0,up,50,100\n", "line 2"),
    ],
)
def test_a_bad_file_is_told_with_its_line(tmp_path: Path, text: str, why: str) -> None:
    file = tmp_path / "bad.csv"
    file.write_text(text)
    with pytest.raises(BadSheet, match=why):
        sheet_of(Build(damper="X", version="A"), {"path": str(file), **ASKED})


@pytest.mark.parametrize(
    ("name", "typed", "why"),
    [
        ("date", "18.10.2026", "not a date"),
        ("date", "yesterday", "not a date"),
        ("gas", "true", "no or yes"),
        ("counted", "left", "hard or soft"),
    ],
)
def test_what_is_said_of_a_sheet_is_checked(
    tmp_path: Path, name: str, typed: str, why: str
) -> None:
    file = tmp_path / "good.csv"
    file.write_text(HEADER + "0,bump,50,100\n")
    asked = {"path": str(file), **ASKED, name: typed}
    with pytest.raises(BadInput, match=why):
        gas_of(asked, "bar") if name == "gas" else sheet_of(Build(damper="X", version="A"), asked)


def test_what_is_said_of_the_gas_goes_with_the_sheet(tmp_path: Path) -> None:
    file = tmp_path / "good.csv"
    file.write_text(HEADER + "0,bump,50,100\n")
    build = Build(damper="X", version="A", gas_pressure=2e6)
    asked = {"date": "", "counted": "Soft", "gas": "YES", "zeroed": "Empty", "charge": "15 bar"}
    sheet = sheet_of(build, {"path": str(file), **asked})
    assert sheet.counted_from == "soft"
    assert sheet.date == date.today().isoformat()
    said = gas_of(asked, "bar")
    assert (said.free, said.zeroed, said.pressure) == (False, "empty", 15e5)
    assert gas_of(ASKED | {"gas": ""}, "bar").free is None
    with pytest.raises(BadInput, match="empty or damper"):
        gas_of(ASKED | {"zeroed": "cold"}, "bar")
    with pytest.raises(BadInput, match="not a number"):
        gas_of(ASKED | {"charge": "much"}, "bar")


@pytest.mark.parametrize(
    ("path", "why"),
    [
        ("nowhere.csv", "no file nowhere.csv"),
        ("", "is a folder"),
        ("/", "is a folder"),
        ("\x00", "cannot be read"),
        ("~nobody-here/x.csv", "cannot be read"),
    ],
)
def test_a_path_that_cannot_be_read_is_told(path: str, why: str) -> None:
    with pytest.raises(BadSheet, match=why):
        sheet_of(Build(damper="X", version="A"), {"path": path, **ASKED})


def test_a_file_named_in_quotes_is_found(tmp_path: Path) -> None:
    file = tmp_path / "a sheet.csv"
    shutil.copy(samples_folder() / "dyno" / "FP-0611-A.csv", file)
    sheet = sheet_of(Build(damper="X", version="A"), {"path": f" '{file}' ", **ASKED})
    assert (sheet.damper, sheet.build, len(sheet.rows)) == ("X", "A", 100)


def test_two_files_parted_by_a_semicolon_are_one_sheet(tmp_path: Path) -> None:
    files = [tmp_path / f"{name}.csv" for name in ("bump", "rebound")]
    for file in files:
        file.write_text(f"{HEADER}0,{file.stem},50,100\n0,{file.stem},100,200\n")
    path = f" '{files[0]}' ; ;{files[1]} "
    sheet = sheet_of(Build(damper="X", version="A"), {"path": path, **ASKED})
    assert {row.direction for row in sheet.rows} == {"bump", "rebound"}
    assert (sheet.date, sheet.counted_from) == ("2026-11-01", None)


def test_an_answer_that_is_not_known_says_which_are() -> None:
    with pytest.raises(BadInput) as refused:
        gas_of(ASKED | {"gas": " per haps"}, "bar")
    assert refused.value.cause == "“per haps” is not known here"
    assert refused.value.remedy == "type no or yes"
