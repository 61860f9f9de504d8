"""What a search of the runs found, in words."""

from __future__ import annotations

import pytest

from trackside.analysis.run_search import FoundRun, Hit
from trackside.logbook.run_columns import RunWords
from trackside.preferences import Preferences
from trackside.reports.find_words import hit_words, hits_words, run_words

METRIC, PSI = Preferences(), Preferences(units={"pressure": "psi"})
RUN = RunWords(
    1, "s", "s", "e", "Harrow Fen", "2026-05-08", "Coupé", "practice", "1", "2",
    "2026-05-09 10:20", "Ida", "done", "dry", "",
)  # fmt: skip


def test_a_run_is_told_by_day_venue_session_car_and_driver() -> None:
    told = ("2026-05-09", "Harrow Fen", "practice 1 run 2", "Coupé", "Ida")
    assert run_words(RUN) == told
    assert run_words(RUN._replace(start=""))[0] == "2026-05-08"


@pytest.mark.parametrize(
    ("hit", "told"),
    [
        (Hit("FL.hot_pressure", "hot_pressure", typed="1.91", unit="bar", si=1.91e5),
         "FL hot 1.91 bar"),
        (Hit("RR.rebound_bleed", "rebound_bleed", typed="9", unit="", si=9.0),
         "RR rebound 9"),
        (Hit("laps", "laps", typed="9", unit="", si=9.0), "laps 9"),
        (Hit("laps", "laps", typed="some", unit=None, si=None), "laps some"),
        (Hit("lap_times", "best_lap", unit="s", si=95.2), "of its laps best lap 1:35.200"),
        (Hit("driver", "driver", "Teo  Vannick"), "driver Teo Vannick"),
        (Hit("FR.damper", "damper", "TW-2242"), "FR damper TW-2242"),
        (Hit("items.Front bar", "Front bar", "28 mm"), "Front bar 28 mm"),
        (Hit("event", "venue", "Fen"), "venue Fen"),
        (Hit("", "note", "Nose stays\ndown."), "note “Nose stays down.”"),
        (Hit("", "reason", "loose"), "reason “loose”"),
        (Hit("", "kept", "best"), "kept “best”"),
        (Hit("", "notes", "wet"), "notes “wet”"),
    ],
)  # fmt: skip
def test_a_value_is_told_with_where_it_is(hit: Hit, told: str) -> None:
    assert hit_words(hit, METRIC) == told


def test_several_values_stand_side_by_side_in_the_crews_units() -> None:
    hot = Hit("FL.hot_pressure", "hot_pressure", typed="1.91", unit="bar", si=1.91e5)
    found = FoundRun(RUN, (hot, Hit("driver", "driver", "Ida")))
    assert hits_words(found, PSI) == "FL hot 27.7 psi · driver Ida"
    assert hits_words(FoundRun(RUN, ()), PSI) == ""
