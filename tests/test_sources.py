"""What a check rests on is named beside it; a rule of thumb is a check value, never a default."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from tests.samples.team import BUILDS
from trackside.analysis.sheet_change import LOSS
from trackside.records.discs import read_discs

ROOT = Path(__file__).parents[1]
CODE = sorted(path for room in ("tests", "trackside") for path in (ROOT / room).rglob("*.py"))
TOLD = sorted([*ROOT.glob("*.md"), *(ROOT / "sample_sessions").glob("*.md"),
               *(ROOT / "trackside" / "handbook").glob("*.md")])  # fmt: skip
PRODUCT = [*(path for path in CODE if path.is_relative_to(ROOT / "trackside")), *TOLD]
WORDS = {path: path.read_text("utf-8") for path in [*CODE, *TOLD] if path != Path(__file__)}

# A numbered place in a paper of the project's own, which no reader has. Standards have sections
# too: those are named just before.
_OWN_NOTES = re.compile(r"design notes?\b|check-values?\b|the check values\b", re.I)
_PLACE = re.compile(r"\bsections? [0-9]+")
_NAMED = re.compile(
    r"RFC [0-9]+|ISO|ASTM|FIPS|Britannica|Unicode|WCAG|SQLite|file format|POSIX", re.I
)


def _places(text: str) -> list[str]:
    """The lines that point to a numbered section and name no document there or just above."""
    lines = text.splitlines()
    return [
        line.strip()
        for above, line in pairwise(["", *lines])
        if _PLACE.search(line) and not _NAMED.search(above + line)
    ]


def test_no_check_points_to_notes_that_a_reader_does_not_have() -> None:
    found = {
        str(path.relative_to(ROOT)): lines
        for path, text in WORDS.items()
        if (lines := [*_OWN_NOTES.findall(text), *_places(text)])
    }
    assert not found


def test_a_pointer_is_known_when_it_is_seen() -> None:
    assert _places("# derived: section 6")
    assert _places("x = 1  # computed, section 2\n")
    assert not _places("# RFC 9562, section 5.7 (from memory)")
    assert not _places("# Encyclopaedia Britannica, 11th edition, Hydraulics,\n# sections 16 to 18")
    assert _OWN_NOTES.search("values of the design notes")
    assert not _OWN_NOTES.search("a value that checks itself")


RULES_OF_THUMB = {
    "a share of 8 % a click": (
        r"\bshare(_per_click)?[ =:]+0\.08\b|(Steps|shop_curve)\([^)]*\b0\.08\b|\b8 % a click"
    ),
    "a charge of 300 psi": r"\b300 (?:\* )?psi\b",
    "3 mm of travel to the force": r"about 3 mm|up to 3 mm",
    "a loss of 3 %": r"more than 3 %|limit 3 %",
    "a figure offered as the usual one": r'(?m)^\s*"[^"{}]*[0-9] % is usual',
    "a second name of the clamp disc": r"\bpivot\b",
    "another name of the seat step": r"hub[- ]to[- ]seat|Hub-seat",
}
"""Common practice, no source: figures and names of the trade that the tests may check against, and
that the program does not hold, offer or show as an example."""


@pytest.mark.parametrize("name", RULES_OF_THUMB)
def test_a_rule_of_thumb_is_no_product_data(name: str) -> None:
    rule = re.compile(RULES_OF_THUMB[name], re.I)
    assert not {str(p.relative_to(ROOT)) for p in PRODUCT if rule.search(WORDS[p])}


def test_the_program_calls_nothing_common_practice_but_hints_and_cautions() -> None:
    """A limit that we chose is our own, and says so."""
    told = {"hints.py", "debriefing.py", "7-cautions.md", "8-sources.md"}
    told |= {"README.md", "DEVELOPERS.md"}
    said = {p.name for p in PRODUCT if re.search("common practice", WORDS[p], re.I)}
    assert said <= told


def test_the_limit_of_a_loss_is_our_own() -> None:
    assert LOSS != 0.03  # common practice, no source


@pytest.mark.parametrize(
    "stack", sorted({s for b in BUILDS for s in (b.bump_stack, b.rebound_stack) if s})
)
def test_a_sample_stack_is_no_textbook_pile(stack: str) -> None:
    """Neither equal discs nor an even taper (common practice, no source): made up by us."""
    discs = read_discs(stack)
    assert discs is not None
    diameters = sorted({round(1e3 * diameter, 1) for diameter, _ in discs}, reverse=True)
    steps = {round(a - b, 1) for a, b in pairwise(diameters)}
    assert len(diameters) > 2
    assert len(steps) > 1
    assert 30.0 not in diameters
