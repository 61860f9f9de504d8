"""Turning both sides of an axle says when they do not stand alike."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at
from trackside.crew.turning import uneven
from trackside.records import Adjuster

HARD, SOFT, SHORT = (
    Adjuster(acts_on="rebound_bleed", clicks=clicks, counted_from=end)  # type: ignore[arg-type]
    for clicks, end in ((20, "hard"), (20, "soft"), (16, "hard"))
)


@pytest.mark.parametrize(
    ("here", "beside", "said"),
    [
        (("FL", 6.0, HARD), ("FR", 7.0, HARD), "FL 6, FR 7 from hard: uneven by 1 click"),
        (("RR", 14.0, SOFT), ("RL", 11.5, SOFT), "RR 14, RL 11.5 from soft: uneven by 2.5 clicks"),
        # 12 of 20 from full soft is 8 of 20 from full hard: 20 - 12
        (("FL", 6.0, HARD), ("FR", 12.0, SOFT), "FL 6, FR 8 from hard: uneven by 2 clicks"),
        (("FL", 8.0, HARD), ("FR", 12.0, SOFT), ""),
        (("FL", 0.3, HARD), ("FR", 19.7, SOFT), ""),  # 20 - 19.7 is 0.3, but not in binary
        (("FL", 7.0, HARD), ("FR", 7.0, HARD), ""),
        (("FL", 6.0, HARD), ("FR", 7.0, SHORT), ""),  # other clicks: counts tell nothing
        (("FL", 6.0, HARD), ("FR", None, HARD), ""),
        (("FL", 6.0, HARD), ("FR", 7.0, None), ""),
    ],
)
def test_what_is_said_of_two_sides(here: tuple, beside: tuple, said: str) -> None:  # type: ignore[type-arg]
    assert uneven(here, beside) == said


async def test_both_after_one_side_says_that_the_axle_is_uneven(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "RL.rebound_bleed")
        await pilot.press("n")
        sheet = await run_sheet_at(pilot, "RL.rebound_bleed")
        line = sheet.query_one("#detail", Static)
        await pilot.press("H")
        assert "uneven" not in str(line.render())
        await pilot.press("h", "H")
        left, right = (sheet.desk.session.si(f"{c}.rebound_bleed") for c in ("RL", "RR"))
        said = f"RL {left:g}, RR {right:g} from hard: uneven by 1 click"
        assert str(line.render()) == said
        assert not line.has_class("problem"), "a remark, not a mistake"
        sheet.desk.keep_text("status", "done")
        await pilot.press("S")
        assert str(line.render()).endswith(
            "uneven by 1 click · this corrects a session that has run"
        )
        assert len(str(line.render())) <= 80
