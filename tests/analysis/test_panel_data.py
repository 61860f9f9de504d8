"""The run sheet's panel: what has no estimate takes only itself away."""

from __future__ import annotations

import numpy as np

from tests.analysis.garage import SHED, SPEEDS, at_one_position, corner, session, with_ring
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.panel_data import PanelData, panel_data, speeds_for
from trackside.analysis.shed import Shed
from trackside.damper.basis import Basis
from trackside.records import Build, Reading, Session


def stands(now: Session, before: Session | None, shed: Shed = SHED) -> PanelData:
    known = EstimateCache(shed, speeds_for(SPEEDS, 0.5))
    return panel_data(now, before, "FL", "bump", known, len(SPEEDS))


def ring_at(position: float, bump: float = 8) -> Session:
    return session(corner(bump=bump, bump_preload=Reading.of_si(position, "clicks")))


def test_both_steps_are_told_where_both_can_be() -> None:
    found = stands(session(), session(corner(bump=10)))
    assert found.since is not None
    assert found.click is not None
    assert np.all(found.since.change > 0)
    assert (found.no_since, found.no_click) == ("", "")


def test_a_sheet_of_one_position_still_has_its_curve() -> None:
    there = session(corner(bump=10))
    found = stands(there, None, at_one_position("HARD", 10))
    assert found.estimate.basis is Basis.MEASURED
    assert found.click is None
    assert "measured at one position only" in found.no_click


def test_at_the_stop_and_without_an_adjuster_no_reason_is_needed() -> None:
    stop = stands(session(corner(bump=0)), None)
    assert (stop.click, stop.no_click) == (None, "")
    rules = next(b for b in SHED.builds if b.damper == "RULE").shop_rules
    plain = Build(damper="PLAIN", version="A", shop_rules=rules)
    plain = plain.model_copy(
        update={"shop_rules": tuple(r.model_copy(update={"share_per_click": 0.1}) for r in rules)}
    )
    fixed = stands(session(corner("PLAIN", None, None)), None, Shed(builds=(plain,)))
    assert (fixed.at.adjuster, fixed.click, fixed.no_click) == (None, None, "")


def test_a_ring_that_no_bench_varied_has_no_change_since() -> None:
    for before in (ring_at(2), ring_at(2, bump=10)):
        found = stands(ring_at(4), before, with_ring("HARD"))
        assert found.since is None
        assert "bump preload adjuster was not varied" in found.no_since
        assert found.click is not None
    told = stands(ring_at(4), ring_at(2), with_ring("HARD", (1.0, 4.0)))
    assert told.since is not None
    assert np.all(told.since.change > 0)
