"""The mutants themselves: each kind is made, nothing is made that nobody could notice."""

from __future__ import annotations

import pytest

from tests.mutants.__main__ import HERE, ROOMS, choose
from tests.mutants.breeding import breed, is_another


@pytest.mark.parametrize(
    ("source", "kind", "with_it"),
    [
        ("def f(a, b):\n    return a < b", "comparison turned", "a >= b"),
        ("def f(a):\n    return len(a) > 2", "edge of a count", "len(a) >= 2"),
        ("def f(a, b):\n    return a + b", "operator", "a - b"),
        ("def f(a):\n    return -a", "sign", "return a"),
        ("LIMIT = 0.1", "number", "LIMIT = 0.3"),
        ("def f(a):\n    return not a", "not dropped", "return a"),
        ("def f(a, b):\n    return a or b", "and, or", "a and b"),
        ("def f(a, b):\n    return a or b", "condition dropped", "return a\n"),
        ("def f(a):\n    return 'x' if a else 'y'", "other branch", "'y' if a else 'x'"),
        ("def f(a):\n    if a:\n        return 1", "other branch", "if not a:"),
        ("def f(low, high):\n    return g(low, high)", "arguments swapped", "g(high, low)"),
        ("def f(low, high):\n    return low, high", "pair swapped", "(high, low)"),
        ("def f(a):\n    a.sort()\n    return a", "statement dropped", "pass"),
        ("def f(at, band):\n    return f'{at} ±{band}'", "left out of a sentence", "f'{at} ±'"),
        ("def f(step):\n    return step.low, step.high", "side", "(step.high, step.high)"),
        ("A = 'too hard'\nB = 'too soft'", "sentence swapped", "A = 'too soft'"),
    ],
)
def test_each_kind_of_fault_is_made(source: str, kind: str, with_it: str) -> None:
    made = [mutant for mutant in breed(source) if mutant.kind == kind]
    assert any(with_it in mutant.source(source) + "\n" for mutant in made)
    assert all(is_another(mutant, source) for mutant in made)


def test_nothing_is_made_that_nobody_could_notice() -> None:
    source = '''"""A text of more than one word."""
import logging
log = logging.getLogger("of some name")
_STEP = 0.01
_POINTS: Final = 40
Kind = Literal["one kind", "another kind"]
def guesses(a):
    return 0.5 * a
@cached(maxsize=8)
def f(a: dict[str, float] | None) -> dict[str, int]:
    """Another text."""
    assert a > 0, "never seen"
    log.debug("only for a log %s", -a)
    a.setflags(write=False)
    first, slack = newest(limit=1), 1e-6
    b = a + 1e-12
    for _ in range(12):
        a = better(a)
    return solve(a, xtol=1e-9)
'''
    assert breed(source) == []


def test_the_list_is_the_same_each_time() -> None:
    chosen, again = choose(("corner",), 20, 1), choose(("corner",), 20, 1)
    shown = [(path, mutant.line, mutant.kind, mutant.after) for _, path, mutant in chosen]
    assert shown == [(path, mutant.line, mutant.kind, mutant.after) for _, path, mutant in again]
    assert len(chosen) == 20


def test_the_list_is_spread_over_the_files_of_every_room() -> None:
    chosen = choose(ROOMS, 160, 1)
    assert len(chosen) >= 120
    for room in ROOMS:
        of = [path for there, path, _ in chosen if there == room]
        files = list((HERE / "trackside" / room).glob("[!_]*.py"))
        assert len(set(of)) >= 0.9 * min(len(of), len(files))
