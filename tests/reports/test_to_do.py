"""The mechanic's sheet: what changes, from both ends, and nothing else."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from trackside.analysis.shed import Shed
from trackside.analysis.value_change import ClickChange, ValueChange
from trackside.crew.plans import Plans
from trackside.errors import UnknownRecord
from trackside.logbook import Logbook, patch, put
from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.reports.document import Corners, Document, Section, Table
from trackside.reports.to_do import BOXES, check_word, to_do_sheet

WET_RACE = "2026-05-10 12:30"
"""The tourer's race of the sample season: all four corners, the bars and the tyres changed."""

GAUGES = {"FL.gas_pressure": "13 bar", "FR.cold_pressure": "1.65 bar"}


def at(logbook: Logbook, start: str) -> str:
    """The session that began then."""
    return next(line.entity for line in logbook.each_session() if line.start == start)


def sheet_of(logbook: Logbook, start: str) -> Document:
    return to_do_sheet(logbook, at(logbook, start), Shed.of(logbook), Preferences())


def rows(page: Document, corner: str) -> dict[str, str]:
    return dict(next(b for b in page.blocks if isinstance(b, Corners)).rows[corner])


def table(page: Document, title: str) -> tuple[tuple[str, ...], ...]:
    return next((b.rows for b in page.blocks if isinstance(b, Table) and b.title == title), ())


def said(page: Document, title: str) -> list[str]:
    return [
        one.text
        for b in page.blocks
        if isinstance(b, Section) and b.title == title
        for one in b.said
    ]


def test_a_position_is_counted_from_both_ends(samples: Logbook) -> None:
    """The front knobs have 18 clicks from full hard, the rear ones 24 from full soft."""
    page = sheet_of(samples, WET_RACE)
    for corner in ("FL", "FR"):
        assert rows(page, corner)["bump and rebound"] == (
            f"7 → 14 from full hard\n7 softer: 11 → 4 from full soft\n{BOXES}"
        )
    assert rows(page, "RL")["rebound"] == (
        f"12 → 7 from full soft\n5 softer: 12 → 17 from full hard\n{BOXES}"
    )
    assert rows(page, "RR")["height"] == f"81.0 mm → 87.0 mm\n{BOXES}"
    assert set(rows(page, "RR")) == {"bump", "rebound", "height"}, "only what changes"


def test_what_belongs_to_the_whole_car_has_boxes_and_no_weather(samples: Logbook) -> None:
    whole = {row[0]: row[1:] for row in table(sheet_of(samples, WET_RACE), "The whole car")}
    assert whole["Rear bar"] == ("hole 3 of 5 → hole 1 of 5", BOXES)
    assert whole["tyre set"] == ("K2 → W1", BOXES)
    assert whole["fuel"][0] == "22.0 L → 55.0 L"
    assert not {"air", "track", "surface", "humidity", "tyre laps"} & whole.keys()


def test_tyres_are_set_by_the_run_before_on_the_same_set_only(samples: Logbook) -> None:
    assert table(sheet_of(samples, WET_RACE), "Tyres, cold, to set") == ()
    dry = table(sheet_of(samples, "2026-10-18 14:00"), "Tyres, cold, to set")
    assert [row[0] for row in dry] == ["FL", "FR", "RL", "RR"]
    assert all("bar for the target" in row[1] and row[2] == BOXES for row in dry)


def test_cautions_are_those_of_what_changes(samples: Logbook) -> None:
    wet = said(sheet_of(samples, WET_RACE), "Cautions")
    assert any("stands" in words for words in wet), "the height is set under the car"
    same = said(sheet_of(samples, "2026-10-18 14:00"), "Cautions")
    assert len(same) == 1
    assert "maker" in same[0]


def test_where_nothing_changes_the_page_says_so(samples: Logbook) -> None:
    page = sheet_of(samples, "2026-10-18 14:00")
    assert page.blocks[0].title == "Nothing is set differently"
    assert all(rows(page, corner) == {"all": "as it is"} for corner in ("FL", "FR", "RL", "RR"))


def test_the_check_word_is_of_what_changes_and_to_what(samples: Logbook) -> None:
    word = said(sheet_of(samples, WET_RACE), "Read back before a hand is on the car")[0]
    assert re.fullmatch(r"Check word: [BDFGKLMNPRSTVZ][AEIOU][BDFGKLMNPRSTVZ][AEIOU]", word)

    def change(path: str, count: float) -> ValueChange:
        was, now = (Reading.of_si(n, "clicks") for n in (8.0, count))
        return ClickChange(path, was, now)

    one = [change("FL.bump_bleed", 10), change("FR.bump_bleed", 10)]
    assert check_word(one) == check_word(one[::-1]), "the order says nothing"
    others = {
        check_word(values)
        for values in (
            [change("FL.bump_bleed", n), change("FR.bump_bleed", m)]
            for n in range(12)
            for m in range(12)
        )
    }
    assert len(others) > 135, "144 different changes, of 4,900 words: some two are alike by chance"


def swapped(tmp_path: Path, samples_log: Path) -> Logbook:
    """The samples with another damper at the coupé's front left in a run to come, counted from
    full soft, with no position entered for its rebound."""
    path = tmp_path / "log.trackside"
    shutil.copy(samples_log, path)
    logbook = Logbook.open(path, author="tester")
    last = at(logbook, "2026-10-18 14:00")
    body = dict(logbook.state(last) or {})
    for name in ("laps", "lap_times", "best_lap", "result", "status", "words", "verdict"):
        body.pop(name, None)
    change = put("session", body | {"start": "2026-10-18 16:00"})
    logbook.write(change)
    logbook.write(patch("session", change.entity, {"FL.damper": "FP-0619", "FL.build": None}))
    return logbook


def test_another_damper_is_named_with_what_to_set_on_it(tmp_path: Path, samples_log: Path) -> None:
    with swapped(tmp_path, samples_log) as logbook:
        page = sheet_of(logbook, "2026-10-18 16:00")
    front_left = rows(page, "FL")
    assert "→ FP-0619" in front_left["damper"]
    counts = [words for name, words in front_left.items() if name in ("bump", "rebound")]
    assert len(counts) == 2
    assert all(re.search(r"^\d+ from full \w+ = \d+ from full \w+\n", words) for words in counts)


def test_the_first_run_of_a_car_has_nothing_to_be_compared_with(
    tmp_path: Path, samples_log: Path
) -> None:
    path = tmp_path / "log.trackside"
    shutil.copy(samples_log, path)
    with Logbook.open(path, author="tester") as logbook:
        change = put("session", {"start": "2026-10-18 16:00"})
        logbook.write(change)
        with pytest.raises(UnknownRecord, match="no earlier run of this car") as refused:
            sheet_of(logbook, "2026-10-18 16:00")
        assert "run sheet" in str(refused.value)
        logbook.write(patch("session", change.entity, {"car": "nobody"}))
        with pytest.raises(UnknownRecord):
            sheet_of(logbook, "2026-10-18 16:00")


def test_what_a_plan_wants_at_a_gauge_is_told_until_somebody_has_read_it(
    samples_log: Path, tmp_path: Path
) -> None:
    with Logbook.open(shutil.copy(samples_log, tmp_path / "own.trackside")) as logbook:
        plans = Plans(logbook)
        wanted = {path: Reading.of_text(text, "pressure") for path, text in GAUGES.items()}
        cells = {path: value for path, value in wanted.items() if value}
        logbook.write(plans.begun(logbook.session("last"), "A", cells))
        made = plans.taken(plans.named("A"), "calmer")
        logbook.write(*made.writes)

        def page() -> Document:
            return to_do_sheet(logbook, made.entity, Shed.of(logbook), Preferences())

        def told() -> dict[str, str]:
            return {row[0]: row[1] for row in table(page(), "To set at the gauge, and to read")}

        assert told() == {"FL gas": "13.00 bar", "FR cold": "1.65 bar"}
        assert "itrogen" in " ".join(said(page(), "Cautions"))
        assert check_word((), cells) != check_word((), {})
        read = {"typed": "12.4", "unit": "bar", "si": 12.4e5}
        logbook.write(patch("session", made.entity, {"FL.gas_pressure": read}))
        assert told() == {"FR cold": "1.65 bar"}
