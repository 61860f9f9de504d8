"""The first day in a real terminal, its keys counted: the second damper of a pair like the first,
in the shed and on the car. The budget is the product's own: 60 keys, the text itself aside."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.terminal.test_weekend import SIZES, Hands, hands, season  # noqa: F401
from trackside.logbook import Logbook, dampers

pytestmark = pytest.mark.terminal

MOST_KEYS = 60
DESIGN = ("adjusters", "rod_diameter", "bump_stack", "rebound_stack", "oil")
SETTINGS = ("bump_bleed", "rebound_bleed", "bump_preload", "spring_rate", "perch", "camber", "toe")


@pytest.mark.parametrize("size", SIZES)
def test_the_second_damper_of_a_pair(hands, season: Path, size: tuple[int, int]) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    at: Hands = hands(size)
    at.see("Averholme")
    at.press("b")
    at.see("FP-0611")
    at.see("= Copy")
    at.press("=")
    at.see("Dampers like FP-0611")
    at.press("enter")
    at.see("FP-0613 like FP-0611")
    at.press("r")
    at.see("RUN SHEET")
    at.see("one click")
    at.press("n")
    at.see("Race 2, to set · Coupé")
    at.press("up", "up", "right")  # from the adjuster to the other side's serial
    at.see("FR Damper")
    at.type("FP-0613")
    at.press("enter")
    at.see("FP-0613")
    at.press("left", "down", "=")
    at.see("Set FR like FL?")
    at.press("enter")
    at.see("FR set like FL")
    keys = at.counted()
    print(f"{size}: {keys} keys")
    assert keys <= MOST_KEYS
    time.sleep(0.5)
    with Logbook.open(season, read_only=True) as logbook:
        first, second = (dampers.builds_of(logbook, f"FP-06{n}")[-1][1] for n in (11, 13))
        for name in DESIGN:
            assert first.get(name) == second.get(name), name
        run = logbook.session_record(logbook.session("last"))
    assert run.corner("FR").damper == "FP-0613"
    for name in SETTINGS:
        assert run.si(f"FR.{name}") == run.si(f"FL.{name}"), name
        assert run.value(f"FL.{name}") is not None
