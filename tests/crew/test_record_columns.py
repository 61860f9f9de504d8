"""What a column of a spreadsheet is, by its heading."""

from __future__ import annotations

import pytest

from tests.told import agrees
from trackside.crew.forms import entries
from trackside.crew.record_columns import (
    Column,
    called,
    columns_of,
    named_columns,
    ours_of,
    plain,
)
from trackside.errors import BadInput


@pytest.mark.parametrize("form", ["damper", "car"])
def test_every_heading_and_what_it_means(form: str) -> None:
    told = [f"{words} → {entry.key}" for words, entry in ours_of(form).items()]
    told += [f"{entry.key}: {called(entry)}" for entry in entries(form).values()]
    agrees(told, __file__, f"headings-{form}")


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("Rod ⌀ (mm)", "rod diameter"),
        ("Rod [mm] Diameter", "rod diameter"),
        ("  Rebound_clicks! ", "rebound clicks"),
        ("", ""),
    ],
)
def test_a_heading_is_compared_without_unit_and_signs(heading: str, words: str) -> None:
    assert plain(heading) == words


def meant(heading: str, form: str = "damper") -> tuple[list[str], str]:
    """The entries that it fills, and the unit of its bare numbers."""
    [column] = columns_of([heading], form, {}, [])
    assert column.heading == heading
    return [entry.key for entry in column.entries], column.unit


def test_a_heading_fills_an_entry_or_both_sides_of_an_axle() -> None:
    assert meant("Rod (mm)") == (["build.rod_diameter"], "mm")
    assert meant("Rod [in]") == (["build.rod_diameter"], "in")
    assert meant("Rod (of steel) (in)") == (["build.rod_diameter"], "in"), "the last is the unit"
    assert meant("Piston (mm)") == (["build.piston_diameter"], "mm")
    assert meant("Piston") == (["build.piston"], "")
    assert meant("Model (old)") == (["damper.model"], ""), "words have no unit"
    assert meant("Colour (mm)") == ([], "")
    assert meant("Front spring", "car") == (["car.FL.spring_rate", "car.FR.spring_rate"], "")
    assert meant("Spring rear (N/mm)", "car")[0] == ["car.RL.spring_rate", "car.RR.spring_rate"]
    assert meant("Spring", "car") == ([], ""), "of which axle"
    assert meant("Frontspring", "car") == ([], "")
    assert meant("Front rod", "damper") == ([], "")
    assert meant("Front colour", "car") == ([], "")
    assert meant("Front track", "car") == (["car.track_front"], "")


def test_a_unit_that_is_none_of_the_quantity_is_refused() -> None:
    with pytest.raises(BadInput) as refused:
        columns_of(["Rod (bar)"], "damper", {}, [])
    assert refused.value.cause == "the column “Rod (bar)”: “bar” is not a unit of length"
    assert "mm" in refused.value.remedy


def test_what_a_person_said_comes_before_what_was_known_and_that_before_our_words() -> None:
    names = ["Nr", "Rod"]

    def fills(said: dict[str, str], *known: dict[str, str]) -> list[list[str]]:
        found = columns_of(names, "damper", said, known)
        return [[entry.key for entry in column.entries] for column in found]

    assert fills({}) == [[], ["build.rod_diameter"]]
    assert fills({}, {"nr": "serial"}) == [["damper.serial"], ["build.rod_diameter"]]
    assert fills({}, {"nr": "serial", "other": "rod"}) == [[], ["build.rod_diameter"]], "not here"
    both = {"nr": "serial", "rod": "ignore"}
    assert fills({}, {"nr": "model"}, both) == [["damper.serial"], []], "what fits the most"
    assert fills({"nr": "place"}, both) == [["damper.place"], []]
    assert columns_of(["Nr"], "damper", {"nr": "ignore"}, []) == [Column("Nr")]


def test_two_columns_of_one_thing_say_which_and_what_helps() -> None:
    with pytest.raises(BadInput) as refused:
        columns_of(["Serial", "Model", "Damper"], "damper", {}, [])
    assert refused.value.cause == "“Serial” and “Damper” are both the same column"
    assert refused.value.remedy == "say that one is none, as in --columns “Damper=ignore”"


def test_what_is_said_of_columns_is_one_of_our_names() -> None:
    said = named_columns(["Nr = Serial; ; a=b=rod ⌀", "Farbe=IGNORE"], "damper")
    assert said == {"nr": "serial", "a=b": "rod diameter", "farbe": "ignore"}
    for form, name in (("damper", "serial"), ("car", "name")):
        for typed in ("Nr=what", "=serial", "serial"):
            with pytest.raises(BadInput) as refused:
                named_columns([typed], form)
            assert refused.value.cause == f"“{typed}” does not say what a column is"
            some = refused.value.remedy.removeprefix(f"write it like Nr={name}; a column is ")
            names, _, rest = some.partition(" … ")
            assert rest == "or ignore, as the form calls it"
            assert len(names.split(", ")) == 8
            known = [ours_of(form)[each].key for each in names.split(", ")]
            assert len(set(known)) == 8, "each once"
