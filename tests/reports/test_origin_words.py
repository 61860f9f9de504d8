"""What a force was calculated from, and where an adjuster was, in words."""

from __future__ import annotations

import pytest

from trackside.analysis.origin import Origin, SheetName
from trackside.records import Adjuster
from trackside.reports.origin_words import origin_words, position_words, sisters_words

SHEET = SheetName("D1", "A", "2026-03-02")
PARTS = "calculated from the parts, never on a bench"


@pytest.mark.parametrize(
    ("origin", "said"),
    [
        (Origin("sheet", SHEET), "sheet D1-A 2026-03-02"),
        (Origin("sheet", SheetName("D1", "A", "")), "sheet D1-A"),
        (Origin("sheet", SHEET, resealed="2026-03-03"),
         "sheet D1-A 2026-03-02; resealed 2026-03-03, 1 day after it: new seals are in the band "
         "with ±2 % of the force"),
        (Origin("sheet", SHEET, by_rule=True),
         "sheet D1-A 2026-03-02; carried to this position by the shop's rule"),
        (Origin("sheet", SHEET, ring="not measured", twice="A"),
         "sheet D1-A 2026-03-02; preload not measured: left out; build A was entered twice: not "
         "decided which holds"),
        (Origin("sisters", sisters=("D2 A",)), "sister D2 A"),
        (Origin("sisters", SHEET, ("D2 A", "D3 A", "D3 B")),
         "sheet D1-A 2026-03-02 and sisters D2 A, D3 A and D3 B"),
        (Origin("carried over", SHEET, to="B", direction="bump"),
         "sheet D1-A 2026-03-02, carried over to build B: by the parts of both"),
        (Origin("carried over", SHEET, to="B", direction="bump", same_parts=True),
         "sheet D1-A 2026-03-02, carried over to build B: the bump parts on record are the same; "
         "enter those that the work changed"),
        (Origin("shop rule", share=0.035),
         "the shop's full-hard force, less 3.5 % of it a click"),
        (Origin("parts"), PARTS),
        (Origin("parts", ring="at full hard"),
         f"{PARTS}; the preload ring is taken at full hard"),
        (Origin("parts", ring="lift not known"),
         f"{PARTS}; lift of the preload ring not known: left out"),
    ],
)  # fmt: skip
def test_what_a_force_was_calculated_from(origin: Origin, said: str) -> None:
    assert origin_words(origin) == said


@pytest.mark.parametrize(
    ("names", "words"),
    [(("FP-1 A",), "sister FP-1 A"), (("FP-1 A", "FP-2 A"), "sisters FP-1 A and FP-2 A"),
     (("A", "B", "C"), "sisters A, B and C")],
)  # fmt: skip
def test_sisters_by_name(names: tuple[str, ...], words: str) -> None:
    assert sisters_words(names) == words


def test_a_position_names_its_end() -> None:
    knob = Adjuster(acts_on="rebound_bleed", clicks=20, counted_from="soft")
    assert position_words(8.0, knob) == "8 of 20 from full soft"
    assert position_words(None, knob) == position_words(8.0, None) == "not adjustable"
