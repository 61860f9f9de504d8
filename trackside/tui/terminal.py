"""What goes to a terminal that cannot show everything: one without Unicode, one with sixteen
colours, one without any.

They are line filters: the pages are the same, the last step before the terminal is not.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from rich.cells import cell_len
from rich.color import Color as RichColor
from rich.color import ColorSystem
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter, Monochrome

from trackside.tui.themes import ROLES

_PLAIN: Final = str.maketrans(
    {
        "±": "~", "→": ">", "←": "<", "↑": "^", "↓": "v", "−": "-", "–": "-", "—": "-", "·": ".",
        "…": "~", "≈": "=", "°": "o", "ζ": "z", "×": "x", "“": '"', "”": '"', "‘": "'", "’": "'",
        "²": "2", "³": "3", "µ": "u", "μ": "u", "Δ": "d", "★": "*", "•": "o", "▌": "|", "▐": "|",
        "▸": ">", "▶": ">", "◀": "<", "▲": "^", "▼": "v", "●": "o", "○": "x", "■": "#", "□": "+",
        "◇": "s", "◆": "*", "┊": ":", "█": "#", "▀": '"', "▄": "_", "░": ":", "▒": ":", "▓": "#",
        "▁": " ", "▂": "_", "▃": "_", "▅": "=", "▆": "#", "▇": "#", "▔": "-", "▏": "|", "▎": "|",
        "▍": "|", "▋": "#", "▊": "#", "▉": "#", "▕": "|", "✓": "v", "≤": "<", "≥": ">", "≠": "#",
        "√": "V", "½": "/", "ø": "o", "Ø": "O", "ß": "s", "æ": "e", "Æ": "E", "œ": "e", "Œ": "E",
        "ł": "l", "Ł": "L", "đ": "d", "Đ": "D",
    }
)  # fmt: skip
_PAIRS: Final = ((" ±", "+-"), ("→ ", "->"), (" ≈", " ~"))
"""Signs with a spelling of two cells, where a blank beside them gives its own."""
_CONSOLE: Final = "►◄↕‼¶§▬↨↑↓→←∟↔▲▼♥♦♣♠•◘○◙♪♫☼"
"""What the console's code page 437 shows in place of control characters (from memory)."""
_LIGHT: Final = dict(zip("━┃┏┓┗┛╸╹╺╻", "─│┌┐└┘─│─│", strict=True))
_ASCII_RUN: Final = re.compile(r"[\x20-\x7e]*\Z")


def filters(
    own: Iterable[LineFilter], ink: str, *, bare: bool, colours: str | None
) -> list[LineFilter]:
    """What lines pass through on their way to a terminal that draws in that `ink` (braille, blocks
    or ascii), wants no colour (`bare`), or has so many: Textual's own filters, then ours."""
    found = [f for f in own if not isinstance(f, Monochrome)]
    if ink != "braille":
        found.append(Plain(console=ink == "blocks"))
    if bare:
        found.append(Colourless())
    elif colours == "standard":
        found.append(Sixteen())
    return found


class Plain(LineFilter):
    """Every character in ASCII, or with `console` in what a console's font of 256 glyphs holds;
    each keeps its width."""

    def __init__(self, console: bool = False) -> None:
        super().__init__()
        self.console = console

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same line, spelled plainly."""
        return [
            Segment(plain(segment.text, self.console), segment.style, segment.control)
            for segment in segments
        ]


@lru_cache(4096)
def plain(text: str, console: bool = False) -> str:
    """`text` in ASCII, as many cells wide as it was; `console` keeps code page 437."""
    if _ASCII_RUN.match(text):
        return text
    if not console:
        for sign, spelled in _PAIRS:
            text = text.replace(sign, spelled)
    return "".join(_spelled(letter, console) for letter in text)


@lru_cache(4096)
def _spelled(letter: str, console: bool) -> str:
    if letter.isascii():
        return letter
    if console and (letter in _CONSOLE or _in_code_page(letter)):
        return letter
    spelled = letter.translate(_PLAIN)
    if not spelled.isascii():
        name = unicodedata.name(letter, "")
        if name.startswith("BOX DRAWINGS"):
            return _LIGHT.get(letter, _box(name)) if console else _box(name)
        bare = "".join(part for part in unicodedata.normalize("NFKD", letter) if part.isascii())
        spelled = bare[:1]
    return spelled.ljust(cell_len(letter), "?" if not spelled else " ")


def _in_code_page(letter: str) -> bool:
    try:
        return letter.encode("cp437").decode("cp437") == letter
    except UnicodeEncodeError:
        return False


def _box(name: str) -> str:
    across, down = "HORIZONTAL" in name, "VERTICAL" in name
    left_right, up_down = ("LEFT" in name or "RIGHT" in name), ("UP" in name or "DOWN" in name)
    if (across or left_right) and (down or up_down):
        return "+"
    return "-" if across or left_right else "|"


class Sixteen(LineFilter):
    """Sixteen colours: the corners told apart by those that can be read on black, and what is dark
    enough on white; the rest is left to the nearest."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same line, corners in colours that the terminal has."""
        choose = _on_white if background.brightness > 0.5 else _on_black
        return [Segment(s.text, choose(s.style), s.control) for s in segments]


_NAMED: Final = {
    "FL": "bright_cyan", "FR": "yellow", "RL": "bright_green", "RR": "bright_magenta",
    "rebound": "bright_cyan", "bump": "yellow",
}  # fmt: skip
_SIXTEENTHS: Final = {
    RichColor.parse(ROLES["garage"][role]).triplet: RichColor.parse(name)
    for role, name in _NAMED.items()
}


_DARK_ENOUGH: Final = {
    2: "black", 3: "red", 6: "blue", 7: "black", 8: "black", 9: "red", 10: "black", 11: "red",
    13: "magenta", 14: "blue", 15: "black",
}  # fmt: skip
"""Number of a colour too light on white, among the sixteen → the one that takes its place."""


@lru_cache(1024)
def _on_white(style: Style | None) -> Style | None:
    if style is None or style.color is None or style.bgcolor is None:
        return style
    if style.bgcolor.is_default or Color.from_rich_color(style.bgcolor).brightness < 0.5:
        return style
    nearest = style.color.downgrade(ColorSystem.STANDARD).number
    if nearest not in _DARK_ENOUGH:
        return style
    return style + Style.from_color(RichColor.parse(_DARK_ENOUGH[nearest]))


@lru_cache(1024)
def _on_black(style: Style | None) -> Style | None:
    if style is None or style.color is None or style.color.triplet not in _SIXTEENTHS:
        return style
    return style + Style.from_color(_SIXTEENTHS[style.color.triplet])


class Colourless(LineFilter):
    """No colour at all, as NO_COLOR asks (no-color.org; from memory): what stood on a ground of
    its own stands reversed instead."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same line without colours."""
        return [
            Segment(segment.text, _bare(segment.style, background), segment.control)
            for segment in segments
        ]


_DEFAULT: Final = Style.from_color(RichColor.default(), RichColor.default())


@lru_cache(1024)
def _bare(style: Style | None, background: Color) -> Style | None:
    if style is None:
        return None
    ground = style.color if style.reverse else style.bgcolor
    stands_out = ground is not None and not ground.is_default
    if stands_out:
        assert ground is not None
        found = Color.from_rich_color(ground)
        stands_out = abs(found.brightness - background.brightness) > 0.25
    return style + _DEFAULT + Style(reverse=stands_out)
