"""Sentences of a few words each: gas, oil, readings brought back, what is undecided, where a corner
comes to its limits, a damper rebuilt twice."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from pathlib import Path

import numpy as np
import pytest

from tests.analysis.garage import PREFERENCES, SHED, SPEEDS, corner, session
from trackside.analysis.bring_back import bring_back
from trackside.analysis.cavitation import Cavitation
from trackside.analysis.corner_limits import BentDiscs, CornerLimits
from trackside.analysis.gas_loss import LostCharge
from trackside.analysis.gauges import NO_TEMPERATURE, OTHER_HARDWARE, UNLIKELY
from trackside.analysis.plausible_ranges import Mark
from trackside.analysis.shed import EnteredTwice, Shed
from trackside.analysis.stops import AtStop
from trackside.charts import Series
from trackside.errors import LogbookError
from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.reports import printing
from trackside.reports.bring_words import read_then_words
from trackside.reports.document import Document, Picture, Pictures
from trackside.reports.gas_words import missing_words
from trackside.reports.html import PICTURE, html
from trackside.reports.limits import limits_told
from trackside.reports.mark_words import mark_words
from trackside.reports.naming import doubts_of_shed, twice_said
from trackside.reports.oil_words import OIL_KNOWN
from trackside.reports.revalving import present_lines

INCHES = Preferences(
    units={"pressure": "psi", "temperature": "°F", "force": "lbf", "speed": "in/s"}
)


@pytest.mark.parametrize(
    ("why", "said"),
    [
        (UNLIKELY, "a reading is beyond what it can be"),
        (OTHER_HARDWARE, "it is another damper or build"),
        (NO_TEMPERATURE, "no temperature was written down"),
    ],
)
def test_why_two_charges_are_not_compared(why: str, said: str) -> None:
    told = missing_words(LostCharge("FL", why=why), PREFERENCES)
    assert told == f"not compared with the reading before, {said}"


def test_what_is_known_of_the_oil() -> None:
    assert OIL_KNOWN["nothing"].endswith("density only")
    assert "viscosity" not in OIL_KNOWN["nothing"]
    assert "grade" not in OIL_KNOWN["viscosities"]
    assert "viscosity" in OIL_KNOWN["viscosities"]
    assert OIL_KNOWN["grade"].endswith("viscosity from grade and index")


def test_what_was_read_when_the_set_up_ran_is_told_by_its_corner_in_the_crews_units() -> None:
    then = session(
        FL=corner(
            gas_pressure=Reading.of_text("15", "pressure", "bar"),
            cold_pressure=Reading.of_text("1.5", "pressure", "bar"),
        )
    )
    plan = bring_back(then, session(), SHED, SPEEDS)
    assert list(read_then_words(plan, PREFERENCES)) == ["FL: gas 15.00 bar, cold 1.50 bar"]
    assert list(read_then_words(plan, INCHES)) == ["FL: gas 217.6 psi, cold 21.8 psi"]


def test_a_word_that_is_no_choice_is_told_with_the_choices() -> None:
    told = mark_words(Mark("no choice", "surface", ("soaked",)), PREFERENCES)
    assert told == "“soaked” is none of dry, damp, wet: kept as typed"


@pytest.mark.parametrize(
    ("author", "who"), [("Ann", "Ann"), ("", "the first laptop"), ("A\nB", "A B")]
)
def test_what_was_entered_twice_names_whose_entry_counts(author: str, who: str) -> None:
    entry = EnteredTwice("damper", {"serial": "FP-1"}, author)
    said = (
        f"damper FP-1 was entered on two laptops: what {who} entered counts until it is decided on "
        "the page of conflicts"
    )
    assert twice_said(entry) == said
    assert doubts_of_shed(Shed(entered_twice=(entry,))) == (said,)
    assert twice_said(EnteredTwice("damper", {}, "")).startswith("damper was entered")


# ── limits ──────────────────────────────────────────────────────────────────────────────────────

BENT = BentDiscs(linear_to=900.0, safe_to=1500.0, remarks=("the stack is soft",))


def test_discs_suffer_above_the_second_force_and_their_theory_ends_at_the_first() -> None:
    told = limits_told(CornerLimits(discs=BENT), PREFERENCES)
    assert told == [
        "discs: above 900 N bent by more than half a thickness (the true force is higher), above "
        "1500 N at risk of a set (our own limit, no source)",
        "the stack is soft",
    ]
    bare = CornerLimits(discs=replace(BENT, linear_to=inf))
    assert limits_told(bare, PREFERENCES) == ["the stack is soft"]
    far = CornerLimits(discs=replace(BENT, top=1800.0))
    assert limits_told(far, PREFERENCES) == [
        "discs: 1800 N at 500 mm/s is above 1500 N: bent too far, at risk of a set (our own limit, "
        "no source)"
    ]


@pytest.mark.parametrize(
    ("unrun", "said"),
    [((0.6,), "600 mm/s"), ((0.001, 0.6), "1, 600 mm/s"), ((0.001, 0.5, 0.6), "1, 500, 600 mm/s")],
)
def test_speeds_that_no_bench_ran_are_named(unrun: tuple[float, ...], said: str) -> None:
    told = limits_told(CornerLimits(unrun=unrun, ran=(0.025, 0.3)), PREFERENCES)
    assert told == [f"beyond what the sheet ran (25 to 300): {said}"]
    assert limits_told(CornerLimits(unrun=unrun), PREFERENCES) == []
    assert limits_told(CornerLimits(ran=(0.025, 0.3)), PREFERENCES) == []


def test_gas_that_was_not_read_is_said_and_gas_that_is_known_told() -> None:
    told = limits_told(CornerLimits(gas_unread="the charge was not read"), PREFERENCES)
    assert told == ["cavitation not known: the charge was not read"]
    gas = Cavitation(pressure=15e5, at_C=43.0, limit=2735.0, speed=0.8, peak=0.5, margin=2.0,
                     least=1.8)  # fmt: skip
    assert limits_told(CornerLimits(gas=gas), PREFERENCES) == [
        "gas 15.00 bar at 43 °C holds 2735 N in bump: 2.0 × the force at 500 mm/s"
    ]
    near = replace(gas, at_C=None, least=0.99)
    [line] = limits_told(CornerLimits(gas=near), PREFERENCES)
    assert line.startswith("gas 15.00 bar holds 2735 N in bump: 2.0 × the force at 500 mm/s; may ")


def test_a_bump_stop_is_told_with_its_travel_and_what_it_adds() -> None:
    at = AtStop(
        stop="red",
        damper=0.009,
        wheel=0.012,
        travel=np.array([0.012, 0.017]),
        force=np.array([0.0, 400.0]),
        rate=np.array([0.0, 80e3]),
    )
    assert limits_told(CornerLimits(stop=at), PREFERENCES) == [
        "bump stop red: works from 12.0 mm of wheel travel; at 17.0 mm it adds 400 N and 80.0 N/mm "
        "at the wheel"
    ]
    [line] = limits_told(CornerLimits(stop=replace(at, wheel=0.0)), PREFERENCES)
    assert line.startswith("bump stop red: works already at static; at 17.0 mm it adds")
    unknown = replace(at, force=np.full(2, np.nan), rate=np.full(2, np.nan))
    assert limits_told(CornerLimits(stop=unknown), PREFERENCES) == [
        "bump stop red: works from 12.0 mm of wheel travel"
    ]


# ── a damper rebuilt, paper ─────────────────────────────────────────────────────────────────────


def test_a_damper_rebuilt_twice_is_held_against_the_build_before_the_last() -> None:
    first = SHED.builds[0].model_copy(update={"date": "2026-04-01"})
    second = first.model_copy(update={"version": "B", "date": "2026-05-01"})
    third = first.model_copy(update={"version": "C", "date": "2026-06-01"})
    [sheet] = [one for one in SHED.sheets if one.damper == "HARD"]
    sheets = tuple(
        sheet.model_copy(
            update={
                "build": version,
                "source": f"{version}.csv",
                "rows": tuple(row._replace(force=row.force * stronger) for row in sheet.rows),
            }
        )
        for version, stronger in (("A", 1.0), ("B", 1.1), ("C", 1.21))
    )
    shed = Shed(SHED.dampers, (first, second, third), sheets)
    told = present_lines("HARD", shed, (), PREFERENCES)
    heads = [line for style, line in told if style.startswith("bold ") and "after build" in line]
    assert heads == ["  bump after build B at 10:", "  rebound after build B at 10:"]
    cells = [line.split() for _, line in told]
    percent = [float(row[-1]) for row in cells if len(row) == 6 and row[-1].startswith("+")]
    assert len(percent) == 8
    assert all(7 <= one <= 13 for one in percent), "a tenth more than build B, never a fifth"
    set_at = present_lines("HARD", shed, (corner(bump=6, rebound=21),), PREFERENCES)
    heads = [line for _, line in set_at if "after build" in line]
    assert heads == ["  bump after build B at 6:", "  rebound after build B at 10:"]
    assert present_lines("NONE", shed, (), PREFERENCES) == []
    alone = present_lines("HARD", Shed(SHED.dampers, (first,), sheets[:1]), (), PREFERENCES)
    assert not any("after build" in line for _, line in alone)


def test_a_folder_that_takes_nothing_says_what_helps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(LogbookError) as refused:
        printing.write_new(tmp_path / "file", "a", "")
    assert refused.value.remedy == "make room there"
    monkeypatch.setattr(printing, "MOST", 1)
    printing.write_new(tmp_path, "a", "")
    with pytest.raises(LogbookError) as refused:
        printing.write_new(tmp_path, "a", "")
    assert refused.value.remedy == "clear it out"


def test_a_picture_on_paper_is_wider_than_high() -> None:
    """Two stand side by side on a page of A4 or Letter: between a golden cut and twice as wide as
    high (common practice, no source)."""
    wide, high = PICTURE
    assert 1.6 <= wide / high <= 2.0
    one = Picture("Now", (Series([0.0, 1.0], [0.0, 2.0], "bump"),), "rod mm/s", "N")
    page = html(Document("T", "", (Pictures("Curves", (one, one)),)))
    assert page.count(f'viewBox="0 0 {wide:g} {high:g}"') == 2
    for words in ("Now", "rod mm/s"):
        assert page.count(words) >= 2
