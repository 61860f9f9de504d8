"""One side of an axle set like the other, in words."""

from __future__ import annotations

from typing import Any

import pytest

from trackside.crew.mirroring import Mirrored
from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.reports.mirror_words import MOST, UNLIKE, changes_words, done_words, left_words

METRIC = Preferences()
NINE = Reading.of_si(9.0, "clicks")
SPRING = Reading.of_si(6e4, "spring rate")


def found(**more: Any) -> Mirrored:
    given = {"values": {}, "overwrites": {}, "left": {}, "unlike": False, **more}
    return Mirrored("FL", "FR", **given)


def test_each_value_is_told_from_what_stands_there() -> None:
    one = found(
        values={"rebound_bleed": NINE, "spring_rate": SPRING},
        overwrites={"rebound_bleed": Reading.of_si(12.0, "clicks")},
    )
    assert changes_words(one, METRIC) == ["rebound 12 → 9", "spring – → 60.0 N/mm"]
    assert left_words(one) == []
    assert done_words(one, METRIC) == "FR set like FL: rebound 12 → 9, spring – → 60.0 N/mm"
    assert done_words(one, METRIC, "u").endswith(" N/mm · u takes them back")
    single = found(values={"rebound_bleed": NINE})
    assert done_words(single, METRIC, "u") == ("FR set like FL: rebound – → 9 · u takes it back")


def test_what_stays_is_told_with_why() -> None:
    left = {"bump_bleed": "24 clicks there, 20 here"}
    one = found(values={"rebound_bleed": NINE}, left=left, unlike=True)
    assert left_words(one) == ["bump left: 24 clicks there, 20 here", UNLIKE]
    assert done_words(one, METRIC, "u") == (
        "FR set like FL: rebound – → 9 · bump left: 24 clicks there, 20 here · "
        f"{UNLIKE} · u takes it back"
    )


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, "FL has no settings yet: nothing set at FR"),
        ({"alike": ("toe",)}, "FR is like FL already"),
        ({"left": {"bump_bleed": "so"}}, "nothing set at FR · bump left: so"),
        ({"alike": ("toe",), "left": {"bump_bleed": "so"}}, "nothing set at FR · bump left: so"),
    ],
)
def test_where_nothing_is_set_it_is_said_why(more: dict[str, Any], told: str) -> None:
    assert done_words(found(**more), METRIC, "u") == told


def test_six_values_are_named_and_the_others_counted() -> None:
    names = ("camber", "toe", "caster", "spring_rate", "bump_bleed", "rebound_bleed", "hot_target")
    values = dict.fromkeys(names, Reading.of_si(1.0, "plain"))
    told = done_words(found(values=values), METRIC)
    assert told.count("→") == MOST == 6
    assert told.endswith(" and 1 more")
    six = done_words(found(values=dict(list(values.items())[:6])), METRIC)
    assert six.count("→") == 6
    assert "more" not in six
