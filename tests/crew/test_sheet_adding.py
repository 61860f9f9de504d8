"""A dyno sheet taken in: signed or waiting, and which sheet of its build counts then."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.analysis.garage import SHED
from trackside.analysis.sheet_intake import Intake
from trackside.crew.sheet_adding import add_sheet, choice, sign_for, waiting
from trackside.records import DynoSheet, SheetWarning

BUILD = SHED.builds[0]
SHEET = next(sheet for sheet in SHED.sheets if sheet.damper == BUILD.damper)
SERIOUS = SHEET.model_copy(update={"warnings": (SheetWarning(name="poor_fit", serious=True),)})


def intake(sheet: DynoSheet) -> Intake:
    return Intake(sheet, {}, None, {})


@pytest.mark.parametrize(("who", "waits"), [("", True), ("Ann", False)])
def test_a_sheet_with_a_serious_warning_waits_until_somebody_signs(who: str, waits: bool) -> None:
    taken = add_sheet(intake(SERIOUS), BUILD, who)
    assert (taken.sheet.waits, taken.sheet.seen_by) == (waits, who)
    assert taken.write.body == taken.sheet.body()
    assert taken.write.kind == "sheet"


def test_a_sound_sheet_is_signed_by_nobody() -> None:
    assert add_sheet(intake(SHEET), BUILD, "Ann").sheet.seen_by == ""


@pytest.mark.parametrize("chosen", [None, "first"])
def test_it_says_whether_another_sheet_was_chosen_to_count(chosen: str | None) -> None:
    build = BUILD.model_copy(update={"sheet": chosen})
    assert add_sheet(intake(SHEET), build).other_counts is (chosen is not None)


def test_the_newest_sheet_counts_without_being_chosen_and_one_that_waits_is_passed_over() -> None:
    days = ("2026-04-01", "2026-05-01", "2026-06-01")
    sheets = [sheet.model_copy(update={"date": day})
              for sheet, day in zip((SHEET, SHEET, SERIOUS), days, strict=True)]  # fmt: skip
    shed = replace(SHED, sheets=tuple(sheets), entities=("first", "second", "third"))
    assert [name for name, _ in waiting(shed, BUILD)] == ["third"]
    assert choice(BUILD, shed, "first") == {"sheet": "first"}
    assert choice(BUILD, shed, "second") == {"sheet": None}
    assert choice(BUILD, shed, "third") == {"sheet": None}
    [write] = sign_for(["third"], "Ann")
    assert (write.entity, write.body) == ("third", {"seen_by": "Ann"})
