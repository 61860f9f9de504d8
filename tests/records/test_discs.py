"""Stack words to discs."""

import pytest

from trackside.records import Build, read_discs


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("30×0.15 ×3, 24×0.15, 18×0.20", [(30, 0.15)] * 3 + [(24, 0.15), (18, 0.2)]),
        ("30x0,2; 24 x 0,2 mm x 2", [(30, 0.2), (24, 0.2), (24, 0.2)]),
        ("30*0.2/24*0.2", [(30, 0.2), (24, 0.2)]),
        ("30×0.2,24×0.2", [(30, 0.2), (24, 0.2)]),
    ],
)
def test_written_stacks(text, millimetres):
    found = read_discs(text)
    assert [(d * 1e3, t * 1e3) for d, t in found] == [pytest.approx(pair) for pair in millimetres]


@pytest.mark.parametrize(
    "text",
    ["", "as before", "30×0.2 and one thin", "3×30×0.15", "300×0.2", "30×0", "30×0.2 ×99", "30"],
)
def test_nothing_is_guessed(text):
    assert read_discs(text) is None


def test_a_build_knows_its_discs():
    build = Build(damper="A", version="A", bump_stack="30×0.15 ×2")
    assert build.discs("bump") == ((0.030, 0.15e-3),) * 2
    assert build.discs("rebound") is None
