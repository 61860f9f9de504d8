"""What a spreadsheet of dampers or cars came to, in sentences."""

from __future__ import annotations

from typing import Any

import pytest

from trackside.crew.record_table import Differs, Refused, TakenRows
from trackside.reports.table_words import (
    all_refused_words,
    count_words,
    differs_words,
    refused_words,
    unknown_words,
)

ONE = [Differs("rod ⌀", "14 mm", "12 mm")]


@pytest.mark.parametrize(
    ("form", "found", "told"),
    [
        ("damper", {}, "no dampers entered"),
        ("car", {}, "no cars entered"),
        ("damper", {"added": ["A"]}, "1 damper entered (A)"),
        ("car", {"added": ["A"]}, "1 car entered (A)"),
        ("car", {"added": ["A", "B"]}, "2 cars entered (A, B)"),
        ("damper", {"added": list("ABCD")}, "4 dampers entered (A, B, C, D)"),
        ("damper", {"added": list("ABCDE")}, "5 dampers entered (A, B, C, D …)"),
        ("damper", {"same": ["A", "B"]}, "no dampers entered, 2 here already"),
        (
            "damper",
            {"differs": {"A": ONE}},
            "no dampers entered, 1 here otherwise: left as it is",
        ),
        (
            "damper",
            {"differs": {"A": ONE, "B": ONE}},
            "no dampers entered, 2 here otherwise: left as they are",
        ),
        (
            "damper",
            {"differs": dict.fromkeys("ABC", ONE), "put_right": {"C", "B"}, "added": ["D"]},
            "1 damper entered (D), 2 put right (B, C), 1 here otherwise: left as it is",
        ),
        (
            "damper",
            {"differs": {"A": ONE}, "put_right": {"A"}},
            "no dampers entered, 1 put right (A)",
        ),
    ],
)
def test_what_was_entered_and_what_was_not(form: str, found: dict[str, Any], told: str) -> None:
    assert count_words(TakenRows(form, **found)) == told


def test_a_row_is_refused_by_its_line_and_name() -> None:
    assert refused_words(Refused(5, "TW-1", "rod “x”.")) == "line 5, TW-1: rod “x”."
    assert refused_words(Refused(5, "", "it names nothing")) == "line 5: it names nothing"
    rows = [Refused(n, "", "no.") for n in range(1, 6)]
    assert all_refused_words(TakenRows("car", refused=rows[:4])) == (
        "line 1: no; line 2: no; line 3: no; line 4: no"
    )
    assert all_refused_words(TakenRows("car", refused=rows)) == (
        "line 1: no; line 2: no; line 3: no; line 4: no; 1 more"
    )


def test_what_differs_is_told_as_it_is_here_and_as_it_is_there() -> None:
    both = [*ONE, Differs("model", "", "Quad")]
    assert differs_words(TakenRows("damper", differs={"A": both, "B": ONE})) == [
        "A: rod ⌀ 14 mm here, 12 mm in the table; model – here, Quad in the table",
        "B: rod ⌀ 14 mm here, 12 mm in the table",
    ]


def test_columns_that_were_left_out_are_named() -> None:
    assert unknown_words(TakenRows("car")) == ""
    assert unknown_words(TakenRows("car", unknown=("Farbe", "Nr"))) == (
        "left out, not known: “Farbe”, “Nr”; --columns says what they are"
    )
