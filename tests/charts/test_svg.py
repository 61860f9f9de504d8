"""Curves on paper: where the numbers stand, what tells the curves apart, and that text is text."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from trackside.charts import MARKERS, Series, svg

NAME = "{http://www.w3.org/2000/svg}"


def _drawn(*series: Series, **more: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg(series, 360, 220, **more))


def _lines(root: ElementTree.Element) -> list[ElementTree.Element]:
    return [one for one in root.iter(f"{NAME}path") if one.get("fill") == "none"]


def _points(path: ElementTree.Element) -> np.ndarray:
    return np.array(re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d") or ""), float)


def test_a_line_stands_where_its_numbers_are() -> None:
    x = np.array([0.0, 100.0, 200.0])
    line = _points(_lines(_drawn(Series(x, 5 * x, "bump")))[0])
    # equal steps give equal ways: right and up (y grows downwards on the page)
    assert np.allclose(np.diff(line[:, 0]), np.diff(line[:, 0])[0])
    assert np.allclose(np.diff(line[:, 1]), np.diff(line[:, 1])[0])
    assert np.diff(line[:, 0])[0] > 0 > np.diff(line[:, 1])[0]
    assert (line >= 0).all()
    assert (line[:, 0] <= 360).all()
    assert (line[:, 1] <= 220).all()


def test_round_figures_and_units_stand_on_the_axes() -> None:
    root = _drawn(Series([1, 480], [3, 1890], "bump"), x_label="rod mm/s", y_label="N", title="FL")
    words = [one.text for one in root.iter(f"{NAME}text")]
    assert {"FL", "rod mm/s", "N", "0", "500", "1000", "bump"} <= set(words)


def test_a_gap_parts_the_line_and_a_band_lies_about_it() -> None:
    y = [1.0, 2.0, np.nan, 4.0, 5.0]
    low, high = [v - 0.5 for v in y], [v + 0.5 for v in y]
    root = _drawn(Series(range(5), y, "after", low=low, high=high))
    assert len(_lines(root)) == 2
    bands = [one for one in root.iter(f"{NAME}path") if one.get("fill-opacity")]
    assert "".join(one.get("d") or "" for one in bands).count("M") == 2


@pytest.mark.parametrize("pair", [("bump", "rebound"), ("before", "after"), ("FL", "FR"),
                                  ("RL", "RR")])  # fmt: skip
def test_curves_differ_without_colour(pair: tuple[str, str]) -> None:
    root = _drawn(*(Series([0, 1], [n, n + 1], role) for n, role in enumerate(pair)))
    dashes = {one.get("stroke-dasharray") for one in _lines(root)}
    markers = {(one.get("d"), one.get("fill")) for one in root.iter() if one.get("transform")}
    assert len(dashes) == len(markers) == 2
    colours = {one.get(name) for one in root.iter() for name in ("stroke", "fill")}
    assert all(c in (None, "none", "#000", "#fff") or c[1:3] == c[1] * 2 for c in colours)


def test_every_role_has_a_marker() -> None:
    for role in MARKERS:
        assert any(one.get("transform") for one in _drawn(Series([0, 1], [1, 2], role)).iter())


@pytest.mark.parametrize("words", ["</svg><script>", "a & b", '" onload="x', "[/", "‮abc"])
def test_words_are_text(words: str) -> None:
    root = _drawn(Series([0, 1], [1, 2], "bump", label=words), title=words, x_label=words)
    assert root.get("aria-label") == words
    assert [one.text for one in root.iter(f"{NAME}text")].count(words) == 3
    assert not root.findall(f".//{NAME}script")


@pytest.mark.parametrize("y", [[], [np.nan, np.nan], [0.0, 0.0], [1e300, 1.0], [np.inf, 2.0]])
def test_whatever_it_is_given_it_draws_or_says_so(y: list[float]) -> None:
    text = svg([Series(range(len(y)), y, "bump")], 10, 10)
    ElementTree.fromstring(text)
    assert "nan" not in text
    assert "inf" not in text
