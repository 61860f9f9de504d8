"""New seals without a new curve: the sheet stays, its band is a little wider, a click's is not.

Nothing outside says how much: that the band holds exactly our own constant is what is checked.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.analysis.garage import HARD, SHED, SHEET, SPEEDS, corner
from trackside.analysis.estimate import Estimate, Setting, estimate, estimate_at, setting
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.reseals import RESEALED, reseals
from trackside.analysis.shed import Shed
from trackside.analysis.trend import trend
from trackside.analysis.worth import step_between
from trackside.crew.strip_downs import PARTS_IN, StripDowns
from trackside.logbook import Logbook, put
from trackside.records import Session
from trackside.reports.strip_down_words import shed_lines

RESEALED_ON = "2026-06-01"
SHOP = replace(SHED, reseals={"hard": (RESEALED_ON,)})
"""The sheet is of 1 April."""


def _run(day: str, bump: float = 8) -> Session:
    return Session(car="car", event="e", kind="practice", start=day, FL=corner(bump=bump))


def _at(day: str, bump: float = 8) -> Setting:
    return setting(_run(day, bump), "FL", "bump", SHED)


def _extra(narrow: Estimate, wide: Estimate) -> list[float]:
    """What is in one band beside the other, as shares of the force: above, and below."""
    up = (wide.high - wide.force) ** 2 - (narrow.high - narrow.force) ** 2
    down = (wide.force - wide.low) ** 2 - (narrow.force - narrow.low) ** 2
    return [float(x) for x in np.sqrt(np.concatenate([up, down]))
            / np.concatenate([wide.force, wide.force])]  # fmt: skip


@pytest.mark.parametrize("day", ["2026-06-01 10:00", "2026-07-01 10:00", ""])
def test_a_sheet_that_was_run_with_the_old_seals_has_a_wider_band(day: str) -> None:
    was, now = (estimate(_run(day), "FL", "bump", shed, SPEEDS) for shed in (SHED, SHOP))
    assert list(now.force) == list(was.force)
    assert now.basis is was.basis
    assert _extra(was, now) == pytest.approx([RESEALED] * 2 * len(SPEEDS))
    assert (was.origin.resealed, now.origin.resealed) == ("", RESEALED_ON)


def test_a_run_before_the_new_seals_is_as_sure_as_it_was() -> None:
    was, now = (
        estimate(_run("2026-05-31 18:00"), "FL", "bump", shed, SPEEDS) for shed in (SHED, SHOP)
    )
    assert list(now.high) == list(was.high)
    assert now.origin == was.origin


def test_a_click_within_one_run_is_as_sure_as_it_was() -> None:
    was, now = (
        step_between(_at("2026-07-01"), _at("2026-07-01", 5), shed, SPEEDS) for shed in (SHED, SHOP)
    )
    assert list(now.low) == list(was.low)
    assert list(now.high) == list(was.high)


def test_a_change_over_the_new_seals_has_them_in_its_band() -> None:
    then, now = _at("2026-05-01"), _at("2026-07-01", 5)
    was, found = (step_between(then, now, shed, SPEEDS) for shed in (SHED, SHOP))
    assert list(found.change) == list(was.change)
    end = estimate_at(now, SHOP, SPEEDS).force
    extra = np.sqrt((found.high - found.change) ** 2 - (was.high - was.change) ** 2)
    assert list(extra) == pytest.approx(list(RESEALED * end))


def test_a_sheet_of_the_day_or_later_has_felt_them_and_so_has_another_build() -> None:
    on_the_day = SHEET.model_copy(update={"date": RESEALED_ON})
    assert SHOP.resealed(HARD, SHEET) == (RESEALED_ON,)
    assert SHOP.resealed(HARD, on_the_day) == ()
    assert SHOP.resealed(HARD, SHEET.model_copy(update={"date": ""})) == ()
    later = HARD.model_copy(update={"version": "B", "date": "2026-05-20"})
    shop = replace(SHOP, builds=(*SHOP.builds, later))
    assert shop.resealed(HARD, SHEET) == (), "the build before had the old seals to its end"


def test_what_is_kept_of_estimates_knows_runs_before_from_runs_after() -> None:
    kept = EstimateCache(SHOP, SPEEDS)
    assert kept.at(_at("2026-05-01")).origin.resealed == ""
    assert kept.at(_at("2026-07-01")).origin.resealed == RESEALED_ON
    runs = [(day, _run(day)) for day in ("2026-05-01", "2026-07-01")]
    points = trend(runs, "FL", "bump", SHOP, SPEEDS)
    assert [p.estimate.origin.resealed for p in points if p.estimate] == ["", RESEALED_ON]


def test_a_reseal_counts_from_the_tick_of_its_seals(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "log", device="d") as log:
        sheet = SHEET.model_copy(update={"date": "2020-01-01"})
        log.write(put("damper", {"serial": "HARD"}), put("build", HARD.body()),
                  put("sheet", sheet.body()))  # fmt: skip
        jobs = StripDowns(log)
        log.write(jobs.planned("HARD", "weeps", reseal=True))
        assert reseals(log) == {}, "a plan is no reseal"
        job = jobs.in_hand("HARD")
        assert job is not None
        log.write(*jobs.turned(job, PARTS_IN, True))
        shed = Shed.of(log)
        [day] = shed.reseals["hard"]
        assert day == log.history(job.entity)[0].recorded_at[:10]
        told = [line for _, line in shed_lines(jobs, "HARD", shed)]
        assert f"resealed {day}: its dyno sheet of 2020-01-01 was run with the old" in told[-1]
        assert "±2 % of the force" in told[-1]
