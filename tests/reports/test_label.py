"""A damper's label: its code, read back by a reader of another house, says the serial."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import numpy as np
import pytest
import zxingcpp

from tests.running import Cli
from trackside.errors import BadInput
from trackside.reports.label import HEIGHT, WIDTH, label_html, label_svg

MODULE = 8
"""Pixels."""


def _decoded(svg: str) -> list[str]:
    """What zxing-cpp reads off the squares that the label draws."""
    found = re.search(r'scale\(([\d.]+)\)" d="([^"]*)"', svg)
    assert found is not None
    squares = [(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", found[2])]
    across = round(HEIGHT / float(found[1]))
    picture = np.full((across, across), 255, np.uint8)
    for x, y in squares:
        picture[y, x] = 0
    read = zxingcpp.read_barcodes(picture.repeat(MODULE, 0).repeat(MODULE, 1))
    return [code.text for code in read]


@pytest.mark.parametrize(
    "serial", ["TW-2241", "7", "SA-3107/б", "x" * 60, "A&B <12>", "Längsträger 4"]
)
def test_the_code_says_the_serial_and_nothing_else(serial: str) -> None:
    assert _decoded(label_svg(serial, ["build B", "strut insert"])) == [serial]


def test_it_is_as_large_as_it_says_and_nothing_of_a_person_is_markup() -> None:
    svg = label_svg("A&B <12>", ["build <b>", "x" * 90])
    assert f'width="{WIDTH:g}mm" height="{HEIGHT:g}mm"' in svg
    assert "A&amp;B &lt;12&gt;" in svg
    assert "build &lt;b&gt;" in svg
    assert svg.count("textLength") == 1, "a line that is too long is drawn closer, never over"
    assert label_html("TW-1", [], "letter").count("<svg") == 1


def test_a_label_without_a_serial_is_none() -> None:
    with pytest.raises(BadInput, match="a label needs a serial"):
        label_svg("", [])


def test_without_the_extra_it_says_which(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "segno", None)
    with pytest.raises(BadInput, match=r"labels need the extra “label”.*trackside\[label\]"):
        label_svg("TW-1", [])


def test_the_command_writes_label_and_page(cli: Cli, samples_log: Path, tmp_path: Path) -> None:
    svg, page = tmp_path / "l.svg", tmp_path / "l.html"
    told = cli(
        "--log", samples_log, "label", "fp-0611", "--svg", svg, "--html", page, "--json"
    ).json
    assert told["damper"] == "FP-0611"
    assert told["lines"][0].startswith("build A")
    assert _decoded(svg.read_text("utf-8")) == _decoded(page.read_text("utf-8")) == ["FP-0611"]
    again = cli("--log", samples_log, "label", "FP-0611", "--svg", svg)
    assert again.status == 2
    assert "--replace" in again.err
    assert "no file is named" in cli("--log", samples_log, "label", "FP-0611").err
    assert "“ZZ” is not in the shed" in cli("--log", samples_log, "label", "ZZ", "--svg", "x").err


def test_a_long_model_goes_over_two_rows_and_nothing_is_lost() -> None:
    lines = ["build A, 2026-04-18", "two-way monotube 46/14 with preload ring", "64, FL"]
    svg = label_svg("FP-0611", lines)
    drawn = re.findall(r'<text [^>]* y="([\d.]+)"[^>]*>([^<]*)</text>', svg)[1:]
    assert len(drawn) == 4
    assert " ".join(words for _, words in drawn) == " ".join(lines)
    assert "textLength" not in svg
    assert max(float(y) for y, _ in drawn) < HEIGHT - 1
