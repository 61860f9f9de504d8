"""A wanted curve as it is typed, and today's curve that it is said against."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.analysis.shed import Shed
from trackside.analysis.valve_target import Wish
from trackside.crew.wanted_curve import read_wishes, today, wished_of, wishes_like
from trackside.errors import BadInput, NoEstimate, UnknownRecord
from trackside.logbook import Logbook
from trackside.logbook.samples import load_samples
from trackside.preferences import Preferences

METRIC = Preferences()


@pytest.mark.parametrize(
    ("text", "wishes"),
    [
        (
            "rebound 25 mm/s same, 100 +5 %, 300 +15 %",
            [("rebound", 0.025, None, 0.0), ("rebound", 0.1, None, 0.05),
             ("rebound", 0.3, None, 0.15)],
        ),
        ("reb 100 -7,5%", [("rebound", 0.1, None, -0.075)]),
        ("Bump 0.1 m/s 640 N; 300: 900", [("bump", 0.1, 640.0, 0.0), ("bump", 0.3, 900.0, 0.0)]),
        ("bump 50 = 64,5 daN", None),
        ("rebound 50 −10 %\nbump 50 + 10 %", [("rebound", 0.05, None, -0.1),
                                               ("bump", 0.05, None, 0.1)]),
    ],
)  # fmt: skip
def test_what_is_typed_is_read(text: str, wishes: list[tuple[object, ...]] | None) -> None:
    if wishes is None:
        with pytest.raises(BadInput, match="daN"):
            read_wishes(text, METRIC)
        return
    found = [(w.direction, w.speed, w.force, w.share) for w in read_wishes(text, METRIC)]
    assert [(a, c) for a, _, c, _ in found] == [(a, c) for a, _, c, _ in wishes]
    for one, other in zip(found, wishes, strict=True):
        assert (one[1], one[3]) == pytest.approx((other[1], other[3]))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no force is asked for"),
        ("100 same", "not said whether that is bump or rebound"),
        ("rebound", "“rebound” is no speed and force"),
        ("rebound 100", "is no speed and force"),
        ("rebound 100 115 %", "more or less than now"),
        ("rebound 100 +900 %", "no valve does that"),
        ("rebound 0 same", "no rod moves so"),
        ("rebound 100 m/s same", "no rod moves so"),
        ("rebound 100 hard", "“hard” is not a number"),
        ("rebound 100 0 N", "a force is above zero"),
        ("sideways 100 same", "is no speed and force"),
        ("rebound [/ same", "is no speed and force"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(text: str, told: str) -> None:
    with pytest.raises(BadInput, match=told.replace("?", ".")):
        read_wishes(text, METRIC)


@given(st.text(max_size=60))
def test_any_text_is_wishes_or_a_sentence(text: str) -> None:
    try:
        found = read_wishes(f"rebound {text}", METRIC)
    except BadInput:
        return
    assert all(0 < wish.speed <= 5 for wish in found)


@pytest.fixture(scope="module")
def samples(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Logbook]:
    path: Path = tmp_path_factory.mktemp("season") / "season.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        load_samples(logbook)
        yield logbook


def test_today_is_how_it_last_ran(samples: Logbook) -> None:
    shed = Shed.of(samples)
    build = shed.build("FP-0611")
    assert build is not None
    found = today(samples, build, "rebound", None, None)
    knob = build.bleed_adjuster("rebound")
    assert knob is not None
    assert found.position is not None
    assert not knob.problem(found.position)
    assert today(samples, build, "rebound", 3.0, None).position == 3.0
    with pytest.raises(NoEstimate, match="beyond them"):
        today(samples, build, "rebound", 999.0, None)


def test_a_target_that_falls_with_speed_is_refused_in_the_crews_units(samples: Logbook) -> None:
    shed = Shed.of(samples)
    falls = read_wishes("rebound 50 900 N, 100 500 N", METRIC)
    with pytest.raises(BadInput, match="rebound force falls with speed: 900 N at 50 mm/s, 500 N"):
        wished_of(samples, shed, "FP-0611", falls, METRIC)
    twice = read_wishes("rebound 50 900 N, 50 950 N", METRIC)
    with pytest.raises(BadInput, match="rebound at 50 mm/s is said twice"):
        wished_of(samples, shed, "FP-0611", twice, METRIC)
    with pytest.raises(UnknownRecord, match="“TW-9” has no build"):
        wished_of(samples, shed, "TW-9", [Wish("rebound", 0.1)], METRIC)


def test_another_dampers_curve_is_a_wish(samples: Logbook) -> None:
    shed = Shed.of(samples)
    wishes = wishes_like(samples, shed, "FP-0612@4", None, METRIC)
    assert {wish.direction for wish in wishes} == {"rebound", "bump"}
    assert {wish.speed for wish in wishes} == set(METRIC.reference_speeds)
    assert all(wish.force and wish.force > 0 for wish in wishes)
    with pytest.raises(UnknownRecord):
        wishes_like(samples, shed, "nobody", None, METRIC)
