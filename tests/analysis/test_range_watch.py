"""Adjusters that live at an end: how often, near which end, and what would put them mid-range. The
limits are our own, no source."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.analysis.garage import SHED, SPEEDS, knobs
from trackside.analysis.estimate import estimate_at
from trackside.analysis.range_watch import fitted_watch, range_watch, wanted_mid_range
from trackside.analysis.revalve import set_at
from trackside.analysis.shed import Shed
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Adjuster, Build, CornerSheet, Reading
from trackside.reports.range_words import board_words, range_lines

FROM_HARD = Build(damper="X", version="B", adjusters=knobs(20, "hard"))
FROM_SOFT = Build(damper="X", version="B", adjusters=knobs(20, "soft"))


def ran(*rebound: float | None, build: str | None = "B") -> list[CornerSheet]:
    return [
        CornerSheet(
            damper="X",
            build=build,
            rebound_bleed=None if at is None else Reading(typed=f"{at:g}", si=at),
        )
        for at in rebound
    ]


@pytest.mark.parametrize(
    ("build", "counts", "end"),
    [
        (FROM_HARD, (1, 2, 10, 0, 9), "hard"),
        (FROM_HARD, (18, 20, 10, 19, 9), "soft"),
        (FROM_SOFT, (1, 2, 10, 0, 9), "soft"),
        (FROM_HARD, (1, 2, 10, 3, 9), None),
        (FROM_HARD, (1, 2, 10, 19, 20), None),
        (FROM_HARD, (10, 10, 10, 10, 10, 0, 0, 0), None),
        (FROM_HARD, (1, None, 1), None),
    ],
)
def test_three_of_five_near_one_end(
    build: Build, counts: tuple[float | None, ...], end: str | None
) -> None:
    found = range_watch(build, ran(*counts))
    assert [(one.adjuster.acts_on, one.end) for one in found] == (
        [("rebound_bleed", end)] if end else []
    )


def test_runs_before_the_strip_down_say_nothing_of_the_build() -> None:
    assert range_watch(FROM_HARD, ran(0, 0) + ran(0, 0, 0, build="A")) == ()


def test_a_shared_knob_acts_on_both_and_a_short_one_is_not_watched() -> None:
    for clicks, seen in ((20, 1), (6, 0)):
        knob = Adjuster(acts_on="both_bleed", clicks=clicks, counted_from="hard")
        build = FROM_HARD.model_copy(update={"adjusters": (knob,)})
        sheets = [CornerSheet(damper="X", both_bleed=Reading(typed="1", si=1.0))] * 3
        found = range_watch(build, sheets)
        assert len(found) == seen
        assert all(one.directions == ("bump", "rebound") for one in found)


def test_the_table_is_the_curve_where_it_lives() -> None:
    build = SHED.build("HARD")
    assert build is not None
    sheets = [replace_damper(one, build) for one in ran(1, 1, 1, build=None)]
    (found,) = range_watch(build, sheets)
    table = wanted_mid_range(found, sheets[0], SHED, SPEEDS)
    wanted = estimate_at(set_at(build, "rebound", 1.0, None), SHED, SPEEDS)
    assert [wish.force for wish in table["rebound"]] == pytest.approx(list(wanted.force))
    told = [line for _, line in range_lines(build, sheets, SHED, Preferences())]
    assert "within 2 clicks of full hard in 3 of the last 3 runs" in told[0]
    assert "the same rebound curve at 10, mid-range, wants N at mm/s:" in told[1]


def test_of_the_cars_the_dampers_of_their_newest_runs_are_watched(tmp_path: Path) -> None:
    """SPARE lived at its end as well, and is out of the car since."""
    with Logbook.open(tmp_path / "log", device="d") as log:
        log.write(*(put("car", {"name": name}) for name in ("One", "Two")))
        for serial in ("X", "Y", "Z", "SPARE"):
            build = FROM_HARD.model_copy(update={"damper": serial})
            log.write(put("damper", {"serial": serial}), put("build", build.body()))
        one, two = (entity for entity, _ in log.all("car"))
        for day, serial, car, at in (
            *((day, "SPARE", one, 1.0) for day in (1, 2, 3)),
            *((day, "X", one, 1.0) for day in (4, 5, 6)),
            *((day, "Y", two, 19.0) for day in (4, 5, 7)),
            *((day, "Z", two, 10.0) for day in (1, 2, 3)),
            (9, "SPARE", two, 1.0),
        ):
            status = "planned" if day == 9 else "done"
            body = {"car": car, "event": "e", "kind": "practice", "status": status,
                    "start": f"2026-05-0{day} 10:00", "FL": {"damper": serial, "build": "B",
                    "rebound_bleed": {"typed": f"{at:g}", "unit": "", "si": at}}}  # fmt: skip
            log.write(put("session", body))
        found = fitted_watch(log, Shed.of(log))
    assert {serial: [end.end for end in ends] for serial, ends in found.items()} == {
        "Y": ["soft"], "X": ["hard"]}  # fmt: skip
    said = "rebound adjuster: within 2 clicks of full soft in 3 of the last 3 runs"
    assert board_words(found) == f"! Y {said}; 1 more damper in the shed"
    assert board_words({}) == ""


def replace_damper(sheet: CornerSheet, build: Build) -> CornerSheet:
    return sheet.model_copy(update={"damper": build.damper})
