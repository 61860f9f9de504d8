"""What a copy took along, in words: each field has its word, and each word stands once."""

from __future__ import annotations

from tests.told import agrees
from trackside.crew import copies
from trackside.crew.copies import Copies
from trackside.reports.copy_words import OF_ONE_CAR, OF_ONE_DAMPER, copied_words, taken_words


def test_the_word_of_every_field() -> None:
    fields = (*copies.DAMPER_COPIED, *copies.DAMPER_LEFT[1:], *copies.BUILD_COPIED,
              "gas_pressure", "work", *copies.CAR_COPIED, "words", *copies.CORNER_COPIED,
              *copies.CORNER_LEFT)  # fmt: skip
    told = [f"{f}: {taken_words(Copies('', (), (), (f,), ()), '')}" for f in dict.fromkeys(fields)]
    agrees(told, __file__, "copied")


def test_what_is_copied_and_what_is_not_are_told_once_each() -> None:
    sizes = ("model", "rod_diameter", "stroke", "adjusters")
    found = Copies("TW-1", ("TW-2", "TW-3"), (), sizes, ("words", "gas_pressure"))
    assert copied_words(found, OF_ONE_DAMPER) == (
        "TW-2, TW-3 like TW-1: model, sizes, adjusters copied; "
        "not copied: notes, gas charge, dyno sheets, runs"
    )
    bare = Copies("Coupé", ("Coupé 2",), (), (), ())
    assert copied_words(bare, OF_ONE_CAR) == (
        "Coupé 2 like Coupé: nothing copied; not copied: sessions"
    )
