"""The handbook's worked examples, run as they are printed; and what it may say about sources."""

from __future__ import annotations

import doctest
import re
from importlib.resources import files

import pytest

from trackside.tui.manual import without_code

CHAPTERS = sorted(
    (f for f in (files("trackside") / "handbook").iterdir() if f.name.endswith(".md")),
    key=lambda f: f.name,
)
_FENCE = re.compile(r"```python\n(.*?)```", re.DOTALL)
WITH_EXAMPLES = {"3-method.md", "4-estimate.md", "5-gas.md", "6-wheel.md"}
WIDEST_CODE = 76
"""Cells that a line of code may take on a screen of 80."""


@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda f: f.name)
def test_examples_give_what_is_printed(chapter) -> None:  # type: ignore[no-untyped-def]
    code = "\n".join(_FENCE.findall(chapter.read_text("utf-8")))
    test = doctest.DocTestParser().get_doctest(code, {}, chapter.name, chapter.name, 0)
    assert bool(test.examples) == (chapter.name in WITH_EXAMPLES)
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
    problems: list[str] = []
    runner.run(test, out=problems.append)
    assert not problems, "".join(problems)


_RESULT = re.compile(r"(?:\d+\.\d+|\d+)(?:e-?\d+)?")


def _figures(text: str) -> set[str]:
    """Its numbers as their digits alone, without the zeros at their ends: 0.157 m/s is 157 mm/s."""
    found = (number.partition("e")[0] for number in _RESULT.findall(text))
    return {number.replace(".", "").strip("0") for number in found}


@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda f: f.name)
def test_the_page_says_in_a_sentence_what_each_example_gives(chapter) -> None:  # type: ignore[no-untyped-def]
    """A mechanic reads no code: the page leaves it out."""
    text = chapter.read_text("utf-8")
    for fence in _FENCE.finditer(text):
        paragraph = text[: fence.start()].rstrip().rpartition("\n\n")[2]
        assert paragraph.endswith("."), paragraph
        printed = doctest.DocTestParser().get_examples(fence[1])
        for example in printed:
            assert _figures(example.want) <= _figures(paragraph), (example.want, paragraph)
    assert ">>>" not in without_code(text)


SOURCED = re.compile(
    r"source|read\b|textbook|derived|from memory|common practice|arithmetic|virtual work"
)
_FORMULA = re.compile(r"[√∫Σ]|\w\)?\s=\s\S|\w[²ⁿ]?·\w")


@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda f: f.name)
def test_every_formula_has_its_source_and_an_example(chapter) -> None:  # type: ignore[no-untyped-def]
    """A formula stands in a part (between two headings, or bold words) that says what it rests on
    and plays an example."""
    text = chapter.read_text("utf-8")
    for part in re.split(r"^(?:#.*|\*\*[^*]+\*\*)", text, flags=re.MULTILINE):
        words = _FENCE.sub("", part)
        lines = [line for line in words.splitlines() if not line.startswith("|")]
        if chapter.name in WITH_EXAMPLES and _FORMULA.search("\n".join(lines)):
            assert SOURCED.search(words), part
            assert _FENCE.search(part), part


def test_a_formula_is_known_when_it_is_seen() -> None:
    for formula in ("F = k·x/(1 − x/X)ⁿ", "√(k/m)/2π", "K = Σk·l²", "takes π·c·ω·X² = 24.7 J"):
        assert _FORMULA.search(formula)
    assert not _FORMULA.search("a bleed click is worth much at low speed; two of 6 % leave 88 %")


@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda f: f.name)
def test_code_fits_a_narrow_screen(chapter) -> None:  # type: ignore[no-untyped-def]
    inside = False
    for line in chapter.read_text("utf-8").splitlines():
        if line.startswith("```"):
            inside = not inside
        if inside or line.startswith("    "):
            assert len(line) <= WIDEST_CODE, line
