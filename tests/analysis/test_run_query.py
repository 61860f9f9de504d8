"""What may be asked of the runs on record, and what is said where a condition is none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.analysis.recall import first_unit
from trackside.analysis.run_query import Condition, HalfTyped, Query, folded, read_query
from trackside.errors import BadInput
from trackside.records.fields import CORNER_FIELDS, CORNERS, SESSION_FIELDS

ITEMS = ("Front bar", "Wing")


def asked(text: str) -> Query:
    return read_query(text, first_unit, ITEMS)


def one(text: str) -> Condition:
    query = asked(text)
    assert query.words == ()
    [condition] = query.conditions
    return condition


@pytest.mark.parametrize("name", [*CORNER_FIELDS, *SESSION_FIELDS])
def test_every_field_goes_by_its_label_and_by_its_name(name: str) -> None:
    field = CORNER_FIELDS.get(name) or SESSION_FIELDS[name]
    value = "= x" if field.quantity is None else "> 2"
    for said in (field.label, field.label.upper(), name.replace("_", " ")):
        condition = one(f"{said} {value}")
        assert name in condition.fields
        assert condition.quantity == field.quantity
        assert condition.corners == (CORNERS if name in CORNER_FIELDS else ())


@pytest.mark.parametrize(
    ("text", "fields", "corners"),
    [
        ("fl rebound > 8", ("rebound_bleed", "both_bleed"), ("FL",)),
        ("rebound RR > 8", ("rebound_bleed", "both_bleed"), ("RR",)),
        ("rear rebound > 8", ("rebound_bleed", "both_bleed"), ("RL", "RR")),
        ("pressure fl > 1.9 bar", ("cold_pressure", "hot_pressure"), ("FL",)),
        ("front left spring > 60", ("spring_rate",), ("FL",)),
        ("front bar = 3", ("items.Front bar",), ()),
        ("serial = TW", ("damper",), CORNERS),
        ("front left hot > 1", ("hot_pressure",), ("FL",)),
        ("hot front > 1", ("hot_pressure",), ("FL", "FR")),
        ("hot left > 1", ("hot_pressure",), ("FL", "RL")),
        ("right hot > 1", ("hot_pressure",), ("FR", "RR")),
        ("tyre pressure > 1", ("cold_pressure", "hot_pressure"), CORNERS),
        ("bump > 8", ("bump_bleed", "both_bleed"), CORNERS),
        ("preload > 8", ("bump_preload", "rebound_preload"), CORNERS),
        ("tread > 1", ("tread_inner", "tread_middle", "tread_outer"), CORNERS),
        ("tyres = S1", ("tyre_set", "rear_set"), ()),
        ("lap < 95", ("best_lap",), ()),
        ("session = race", ("kind",), ()),
        ("note = rear", ("note",), ()),
    ],
)
def test_a_corner_is_before_or_behind_the_field(
    text: str, fields: tuple[str, ...], corners: tuple[str, ...]
) -> None:
    condition = one(text)
    assert (condition.fields, condition.corners) == (fields, corners)


@pytest.mark.parametrize(
    ("text", "sign", "low", "high", "unit"),
    [
        ("hot > 1.9 bar", ">", 1.9, None, "bar"),
        ("hot>=27psi", ">=", 27, None, "psi"),
        ("hot ≤ 1,9", "<=", None, 1.9, "bar"),
        ("hot = 190 kPa", "=", 190, 190, "kPa"),
        ("hot between 1.8 and 1.95 bar", "between", 1.8, 1.95, "bar"),
        ("hot BETWEEN 2 AND 1.8", "between", 1.8, 2, "bar"),
        ("hot between 1.8 bar and 29.0075475 psi", "between", 26.106793, 29.0075475, "psi"),
        ("spring < 400 lb/in", "<", None, 400, "lbf/in"),
        ("fuel < 12 US gal", "<", None, 12, "US gal"),
        ("best lap < 1:35.5", "<", None, 95.5, "s"),
        ("camber < -2.5°", "<", None, -2.5, "°"),
    ],
)  # fmt: skip
def test_a_number_with_its_unit_and_its_ends(
    text: str, sign: str, low: float | None, high: float | None, unit: str
) -> None:
    condition = one(text)
    assert (condition.sign, condition.unit) == (sign, unit)
    assert condition.low == (low if low is None else pytest.approx(low, rel=1e-6))
    assert condition.high == (high if high is None else pytest.approx(high, rel=1e-6))


def test_a_bare_number_is_in_the_crews_unit() -> None:
    query = read_query("hot > 27", lambda quantity: {"pressure": "psi"}[quantity])
    assert (query.conditions[0].unit, query.conditions[0].low) == ("psi", 27)


def test_several_conditions_and_words_are_side_by_side() -> None:
    query = asked("wet Averholme rebound > 8 and driver = “Ida K” camber < -2 “nose stays down” é")
    assert [c.said for c in query.conditions] == [
        "rebound > 8", "driver = Ida K", "camber < -2",
    ]  # fmt: skip
    assert query.words == (" wet", " averholme", " nose stays down", " e")
    assert query.conditions[1].word == " ida k"
    assert asked("fl front bar = 3").words == (" fl",)  # of the whole car: at no corner
    assert asked("and of").words == (" and", " of")  # words alone are words
    assert asked("between the bars").conditions == ()
    assert asked(" [/ !").is_empty


@pytest.mark.parametrize(
    ("text", "cause", "remedy"),
    [
        ("rebond > 8", "“rebond” is no field", "did you mean rebound"),
        ("zzz > 8", "“zzz” is no field", "name it as the run sheet does"),
        ("> 8", "“>” has no field before it", "write it like rebound > 8"),
        ("rebound > soft", "“soft” is not a number", "write it like rebound > 8"),
        ("hot > 1.9 N", "“N” is not a unit of pressure", "write it like hot > 2 bar"),
        ("hot > 1.9xyz", "“xyz” is not a unit of pressure", "use bar, psi"),
        ("driver > 3", "driver is words, so “>” does not fit", "write it like driver = words"),
        ("surface < 3", "surface is words", "surface = dry"),
        ("date > May", "“May” is not a date", "write it like date > 2026-05-01"),
        ("laps > -3", "count cannot be below zero", "write it like laps > 2"),
        ("hot between soft and 2", "“soft” is not a number", "like hot between 1.5 and 2 bar"),
        ("rebound between x and 2", "“x” is not a number", "like rebound between 4 and 8;"),
        ("best lap > slow", "“slow” is not", "write it like best lap > 1:35"),
        ("best lap between x and 2", "“x” is not", "like best lap between 1:32.5 and 1:35;"),
        (
            "date between May and June",
            "“May” is not a date",
            "write it like date between 2026-05-01 and 2026-06-30",
        ),
        ("date > 2026-05-091", "“2026-05-091” is not a date", "write it like date > 2026-05-01"),
    ],
)
def test_a_mistake_says_what_was_expected(text: str, cause: str, remedy: str) -> None:
    with pytest.raises(BadInput) as refused:
        asked(text)
    assert not isinstance(refused.value, HalfTyped)
    assert cause in refused.value.cause
    assert remedy in str(refused.value)


@pytest.mark.parametrize(
    "text",
    ["rebound >", "rebound between", "rebound between 4", "rebound between 4 and", "driver =",
     "date >", "date > 2026-", "date between 2026 and", "camber < -"],
)  # fmt: skip
def test_half_a_condition_says_how_it_goes_on(text: str) -> None:
    with pytest.raises(HalfTyped, match="write it like"):
        asked(text)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("rebound >", "a condition ends without its number"),
        ("camber < -", "a condition ends without its number"),
        ("driver =", "a condition ends without its words"),
        ("driver = “", "a condition ends without its words"),
        ("rebound between 4 8", "“rebound between 4” has one end"),
        ("rebound between 4", "“rebound between 4” has one end"),
        ("date between 2026", "“date between 2026” has one end"),
        ("date between 2026 2027", "“date between 2026” has one end"),
        ("date > 2026-", "“2026-” is not a date"),
        ("date >", "“” is not a date"),
    ],
)
def test_what_a_half_typed_condition_lacks(text: str, cause: str) -> None:
    with pytest.raises(HalfTyped) as half:
        asked(text)
    assert half.value.cause == cause


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Rebound  >8", "Rebound > 8"),
        ("hot ≤ 1,9 bar", "hot <= 1,9 bar"),
        ("hot BETWEEN 2 AND 1.8", "hot between 2 and 1.8"),
        ("DRIVER = “Ida K”", "DRIVER = Ida K"),
        ("date between 2026-06 and 2026-05", "date between 2026-06 and 2026-05"),
        ("Date >= 2026", "Date >= 2026"),
    ],
)
def test_a_condition_is_said_as_it_was_typed(text: str, said: str) -> None:
    assert one(text).said == said


def test_words_are_compared_without_accents_case_and_signs() -> None:
    assert folded("  Coupé–Nr.7, “the ’90s” ") == " coupe nr 7 the 90s"
    assert folded("…") == " "


@pytest.mark.parametrize(
    ("text", "fits", "others"),
    [
        ("date > 2026-05", ("2026-06-01",), ("2026-05-31", "2026-04-30", "")),
        ("date >= 2026-05", ("2026-05-01", "2027-01-01"), ("2026-04-30",)),
        ("date < 2026-05-09", ("2026-05-08", "2025-12-31"), ("2026-05-09",)),
        ("date <= 2026", ("2026-12-31",), ("2027-01-01",)),
        ("date = 2026-05", ("2026-05-01", "2026-05-31"), ("2026-06-01",)),
        ("date between 2026-06 and 2026-05-02", ("2026-05-02", "2026-06-30"),
         ("2026-05-01", "2026-07-01")),
    ],
)  # fmt: skip
def test_days_go_by_as_many_figures_as_were_typed(
    text: str, fits: tuple[str, ...], others: tuple[str, ...]
) -> None:
    condition = one(text)
    assert all(condition.has_day(day) for day in fits)
    assert not any(condition.has_day(day) for day in others)


@given(st.text(max_size=40) | st.lists(st.sampled_from(
    ["rebound", "fl", ">", "<=", "between", "and", "8", "1.9", "bar", "date", "2026-05", '"', "=",
     "driver", "wet", "°", "-"])).map(" ".join))  # fmt: skip
def test_any_text_is_a_query_or_says_why_not(text: str) -> None:
    try:
        query = asked(text)
    except BadInput as error:
        told = str(error)
    else:
        told = "a query"
        assert all(word == folded(word) and word.strip() for word in query.words)
    assert len(told) > 5
