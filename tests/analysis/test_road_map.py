"""The map of a road over all positions of a corner."""

from __future__ import annotations

import numpy as np
import pytest

from tests.analysis.test_road_response import SHED, TYRED, C, clicked, on
from trackside.analysis.road_inputs import RoadTables
from trackside.analysis.road_map import road_map
from trackside.analysis.road_response import road_figures
from trackside.analysis.shed import Shed
from trackside.errors import NoEstimate
from trackside.records import Adjuster, Reading


def test_each_position_is_what_its_own_run_shows() -> None:
    tables = RoadTables(SHED)
    found = road_map(clicked(), "FL", C, tables)
    assert found.body.shape == (20, 20)  # 5 % a click leaves no force at click 20
    for bump, rebound in ((0, 0), (5, 5), (19, 3), (7, 19)):
        now = road_figures(clicked(bump, rebound), None, C, tables).corners[0].now
        assert now is not None
        assert found.body[bump, rebound] == pytest.approx(now.figures.body.value, rel=1e-9)
        assert found.tyre[bump, rebound] == pytest.approx(now.figures.tyre.value, rel=1e-9)
    assert found.here == pytest.approx((5, 5, found.body[5, 5], found.tyre[5, 5]))
    bump, rebound, _, tyre = found.least(found.tyre)
    assert tyre == found.tyre.min() == found.tyre[int(bump), int(rebound)]
    near = np.abs(found.tyre - tyre) <= found.doubt[1]
    assert found.as_good(found.tyre) == near.sum() >= 1


def test_positions_are_counted_as_the_crew_counts() -> None:
    """From full soft, the hardest pair stands first and is position 20."""
    knobs = tuple(
        Adjuster(acts_on=name, clicks=20, counted_from="soft")  # type: ignore[arg-type]
        for name in ("bump_bleed", "rebound_bleed")
    )
    builds = tuple(b.model_copy(update={"adjusters": knobs}) for b in SHED.builds)
    soft = on(TYRED, Shed(builds=builds))
    found = road_map(clicked(15, 15), "FL", C, RoadTables(soft))
    assert (found.bump[0], found.bump[-1]) == (20.0, 1.0)
    hard = road_map(clicked(), "FL", C, RoadTables(SHED))
    assert found.tyre == pytest.approx(hard.tyre)
    assert found.here[2:] == pytest.approx(hard.here[2:])


def test_one_knob_for_both_ways_is_a_line() -> None:
    knob = (Adjuster(acts_on="both_bleed", clicks=20, counted_from="hard"),)
    builds = tuple(b.model_copy(update={"adjusters": knob}) for b in SHED.builds)
    run = clicked().with_value("FL.both_bleed", Reading.of_text("5", "clicks"))
    found = road_map(run, "FL", C, RoadTables(on(TYRED, Shed(builds=builds))))
    assert found.shared
    assert found.body.shape == (20, 1)
    whole = road_map(clicked(), "FL", C, RoadTables(SHED))
    assert found.tyre[:, 0] == pytest.approx(np.diagonal(whole.tyre))
    bump, rebound, *_ = found.least(found.body)
    assert bump == rebound


def test_a_damper_without_adjusters_has_no_map() -> None:
    bare = tuple(b.model_copy(update={"adjusters": ()}) for b in SHED.builds)
    with pytest.raises(NoEstimate, match="no bleed adjuster"):
        road_map(clicked(), "FL", C, RoadTables(on(TYRED, Shed(builds=bare))))
