"""The handbook's worked examples, run as they are printed; and what it may say about sources."""

from __future__ import annotations

import doctest
import re
from importlib.resources import files

import pytest

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


@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda f: f.name)
def test_code_fits_a_narrow_screen(chapter) -> None:  # type: ignore[no-untyped-def]
    inside = False
    for line in chapter.read_text("utf-8").splitlines():
        if line.startswith("```"):
            inside = not inside
        if inside or line.startswith("    "):
            assert len(line) <= WIDEST_CODE, line
