"""What comes from a terminal, made safe to be taken for keys: bytes in another encoding, and pastes
that hold commands to the terminal."""

from __future__ import annotations

import codecs
import sys
from collections.abc import Callable
from typing import Any, Final

from textual.driver import Driver

ESCAPE: Final = "\x1b"
BEGIN, END = f"{ESCAPE}[200~", f"{ESCAPE}[201~"
"""What a terminal puts around a paste."""


def read_any_bytes(driver: type[Driver]) -> type[Driver]:
    """The same driver, reading with `Incoming`. (Textual decodes strictly, and one byte in another
    encoding would end the program; what follows an escape in a paste, it takes for keys.)"""
    module: Any = sys.modules[driver.__module__]
    if hasattr(module, "getincrementaldecoder"):
        module.getincrementaldecoder = _reading
    return driver


def _reading(encoding: str) -> Callable[[], Incoming]:
    return lambda: Incoming(encoding)


class Incoming:
    """Decodes what a terminal sends, piece by piece: what is no text becomes U+FFFD, and within a
    paste no escape is left."""

    def __init__(self, encoding: str = "utf-8") -> None:
        self._text = codecs.getincrementaldecoder(encoding)(errors="replace")
        self._pasting = False
        self._before = ""
        """Outside a paste, the last signs handed on: they may begin BEGIN. Within one, the last
        signs kept back: they may begin END."""

    def decode(self, data: bytes, final: bool = False) -> str:
        """The text of these bytes, as far as it is whole."""
        text, out = self._text.decode(data, final), ""
        while text:
            take = self._pasted if self._pasting else self._typed
            found, text = take(text)
            out += found
        return out

    def _typed(self, text: str) -> tuple[str, str]:
        known = len(self._before)
        whole = self._before + text
        at = whole.find(BEGIN)
        if at < 0:
            self._before = whole[-(len(BEGIN) - 1) :]
            return text, ""
        self._pasting, self._before = True, ""
        return whole[known : at + len(BEGIN)], whole[at + len(BEGIN) :]

    def _pasted(self, text: str) -> tuple[str, str]:
        words, end, rest = (self._before + text).partition(END)
        self._pasting, self._before = not end, ""
        if not end:
            kept_back = next((n for n in range(len(END) - 1, 0, -1) if words.endswith(END[:n])), 0)
            words, self._before = words[: len(words) - kept_back], words[len(words) - kept_back :]
        return words.replace(ESCAPE, "") + end, rest
