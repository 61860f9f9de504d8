"""Fits kept from one start to the next: the same figures, no search, and never another's."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from tests.analysis.garage import OTHER, UNIT, knobs, sheet_of
from trackside.analysis import kept_fits, shed
from trackside.damper import stored
from trackside.errors import BadSheet
from trackside.preferences import data_folder
from trackside.records import Build

SHEET = sheet_of("HARD", UNIT, 20, "hard")
BUILD = Build(damper="HARD", version="A", adjusters=knobs(20, "hard"))
SPEEDS = [0.013, 0.05, 0.25]


@pytest.fixture
def searches(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was searched for, by the sheet's name, from now on."""
    found: list[str] = []
    search = shed._searched

    def counted(sheet: shed.DynoSheet, build: Build | None) -> shed.SheetFit:
        found.append(sheet.source)
        return search(sheet, build)

    monkeypatch.setattr(shed, "_searched", counted)
    return found


def again(sheet: shed.DynoSheet = SHEET, build: Build | None = BUILD) -> shed.SheetFit:
    """What a program that has just been started answers."""
    shed.fit_of.cache_clear()
    return shed.fit_of(sheet, build)


def files() -> list[Path]:
    return sorted((data_folder() / kept_fits.FOLDER).glob("*"))


def test_a_second_start_answers_alike_to_the_last_bit_without_a_search(searches: list[str]) -> None:
    first, second = again(), again()
    assert searches == ["HARD.csv"]
    assert first is not second
    for direction in ("bump", "rebound"):
        was, now = first.direction(direction), second.direction(direction)
        for name in ("force", "low", "high"):
            for at in (0.0, 7.5, 20.0):
                before, after = (getattr(one.predict(at, SPEEDS), name) for one in (was, now))
                np.testing.assert_array_equal(before, after)
        before, after = (one.difference(8, 6, SPEEDS) for one in (was, now))
        np.testing.assert_array_equal(before.low, after.low)
        assert was.parameters == now.parameters
        np.testing.assert_array_equal(was.found.strange, now.found.strange)


@pytest.mark.parametrize(
    ("sheet", "build"),
    [
        (SHEET.model_copy(update={"rows": SHEET.rows[:-1]}), BUILD),
        (SHEET.model_copy(update={"friction_in": not SHEET.friction_in}), BUILD),
        (SHEET, BUILD.model_copy(update={"adjusters": knobs(24, "hard")})),
        (SHEET, None),
    ],
    ids=["a row less", "friction taken out", "another knob", "no build"],
)
def test_another_sheet_or_build_is_searched_for(
    sheet: shed.DynoSheet, build: Build | None, searches: list[str]
) -> None:
    again()
    again(sheet, build)
    assert len(searches) == 2


def test_another_program_searches_for_itself(
    searches: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    again()
    monkeypatch.setattr(kept_fits, "_program", lambda: "a later version")
    again()
    assert len(searches) == 2


@pytest.mark.parametrize("at", [0.0, 0.3, 0.5, 0.8, 0.99])
def test_a_damaged_file_is_searched_for_again(at: float, searches: list[str]) -> None:
    right = again().direction("bump").predict(7, SPEEDS).force
    (file,) = files()
    whole = bytearray(file.read_bytes())
    whole[int(at * len(whole))] ^= 0x10
    file.write_bytes(whole)
    found = again().direction("bump").predict(7, SPEEDS).force
    np.testing.assert_array_equal(found, right)


def test_half_a_file_and_a_file_of_another_fit_are_no_fit(searches: list[str]) -> None:
    again()
    (file,) = files()
    file.write_bytes(file.read_bytes()[:5000])
    again()
    assert len(searches) == 2
    for nothing in (b"", b"PK\3\4", b"\x93NUMPY", b'{"kind": "SheetFit"}'):
        with pytest.raises(ValueError, match="no fit"):
            stored.from_bytes(nothing)


def test_where_nothing_can_be_kept_the_fit_is_searched_for(searches: list[str]) -> None:
    data_folder().mkdir(parents=True)
    (data_folder() / kept_fits.FOLDER).write_text("in the way")
    assert again().bump is not None
    assert again().bump is not None
    assert len(searches) == 2


def test_a_refused_sheet_is_refused_again() -> None:
    rows = (*SHEET.rows, SHEET.rows[0]._replace(position=-1.0))
    wrong = SHEET.model_copy(update={"rows": rows})
    for _ in range(2):
        with pytest.raises(BadSheet):
            again(wrong)
    assert files() == []


def test_the_oldest_make_room(monkeypatch: pytest.MonkeyPatch, searches: list[str]) -> None:
    monkeypatch.setattr(kept_fits, "MOST", 1)
    again()
    (first,) = files()
    other = sheet_of("SOFT", OTHER, 16, "soft")
    again(other, Build(damper="SOFT", version="A", adjusters=knobs(16, "soft")))
    assert len(files()) == 1
    assert files() != [first]


def test_four_hundred_fits_are_kept(searches: list[str]) -> None:
    """Our own, no source."""
    folder = data_folder() / kept_fits.FOLDER
    folder.mkdir(parents=True)
    for n in range(400):
        (folder / f"{n}.fit").write_bytes(b"")
        os.utime(folder / f"{n}.fit", (n, n))
    again()
    assert len(files()) == 400
    assert not (folder / "0.fit").exists()
    assert (folder / "1.fit").exists()
