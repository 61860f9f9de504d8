"""What stands for a character where the terminal cannot show it."""

from __future__ import annotations

import sys
import unicodedata

import pytest
from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.color import Color

from trackside.preferences import Preferences
from trackside.tui.terminal import Colourless, plain


@pytest.mark.parametrize("console", [False, True])
def test_every_character_has_a_spelling_of_its_own_width(console: bool) -> None:
    for code in range(0x20, sys.maxunicode + 1, 1):
        if 0xD800 <= code < 0xE000 or (code > 0x3000 and code % 97):
            continue  # of the far planes, one in 97
        letter = chr(code)
        if unicodedata.category(letter) in ("Cc", "Cf", "Cn", "Mn", "Me", "Mc"):
            continue
        spelled = plain(letter, console)
        assert cell_len(spelled) == cell_len(letter), hex(code)
        assert spelled.isascii() or console, hex(code)


@pytest.mark.parametrize(
    ("text", "spelled"),
    [
        ("944 ±45 N", "944+-45 N"),
        ("6 → 5", "6 ->5"),
        ("−3.2 °", "-3.2 o"),
        ("┏━━┓", "+--+"),
        ("Coupé", "Coupe"),
        ("走", "??"),
    ],
)
def test_signs_have_plain_spellings(text: str, spelled: str) -> None:
    assert plain(text) == spelled
    assert cell_len(plain(text)) == cell_len(text)


def test_a_console_keeps_what_code_page_437_holds() -> None:
    assert plain("┏━┓ ± ≈ ° é → ▄", console=True) == "┌─┐ ± ≈ ° é → ▄"
    assert plain("⣿ − ★", console=True).isascii()


def test_without_colour_a_ground_of_its_own_is_reversed() -> None:
    dark = Color.parse("#0d1013")
    line = [
        Segment("plain", Style.parse("#ffffff on #0d1013")),
        Segment("cursor", Style.parse("bold #14110a on #ffd75f")),
        Segment("here", Style.parse("reverse #ffffff on #0d1013")),
    ]
    found = Colourless().apply(line, dark)
    assert [bool(segment.style and segment.style.reverse) for segment in found] == [0, 1, 1]
    for segment in found:
        assert segment.style is not None
        assert segment.style.color is not None
        assert segment.style.color.is_default


@pytest.mark.parametrize(
    ("environment", "ink"),
    [
        ({}, "braille"),
        ({"LANG": "en_GB.UTF-8"}, "braille"),
        ({"LANG": "C"}, "ascii"),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, "ascii"),  # what Python makes of it (PEP 538)
        ({"LANG": "de_DE.ISO-8859-1"}, "ascii"),
        ({"LC_ALL": "POSIX", "LANG": "en_GB.UTF-8"}, "ascii"),
        ({"LC_ALL": "C.UTF-8", "LANG": "C"}, "braille"),
        ({"LANG": "C.UTF-8", "TERM": "linux"}, "blocks"),
    ],
)
def test_the_ink_follows_the_terminal(
    monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], ink: str
) -> None:
    for name in ("LC_ALL", "LC_CTYPE", "LANG", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert Preferences().ink == ink
    assert Preferences(drawing="blocks").ink == "blocks"
