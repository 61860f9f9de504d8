"""Stack words to discs."""

import pytest

from trackside.records import Build, read_discs
from trackside.records.discs import disc_text, in_mm, stack_text


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


@pytest.mark.parametrize(
    ("millimetres", "written"),
    [
        ([(27, 0.15), (27, 0.15), (21, 0.1), (17.5, 0.3)], "27×0.15 ×2, 21×0.10, 17.5×0.30"),
        ([(30, 0.125)], "30×0.125"),
        ([(9, 0.2), (30, 0.2), (9, 0.2)], "9×0.20, 30×0.20, 9×0.20"),
    ],
)
def test_what_is_written_is_what_is_read(millimetres, written):
    discs = [(wide * 1e-3, thick * 1e-3) for wide, thick in millimetres]
    assert stack_text(discs) == written
    assert [pytest.approx(one) for one in discs] == list(read_discs(written))


def test_a_size_that_is_not_known_is_a_question():
    assert disc_text(0.027, None) == "27×?"
    assert in_mm(None) == "?"
