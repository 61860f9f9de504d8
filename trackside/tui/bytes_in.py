"""What comes from a terminal: a byte in another encoding is read as a sign that says so."""

from __future__ import annotations

import codecs
import sys
from functools import partial
from typing import Any

from textual.driver import Driver


def read_any_bytes(driver: type[Driver]) -> type[Driver]:
    """The same driver, for which bytes that are no UTF-8 become U+FFFD. (Textual decodes strictly,
    and such a byte, from an old terminal or in a paste, would end the program.)"""
    module: Any = sys.modules[driver.__module__]
    if hasattr(module, "getincrementaldecoder"):
        module.getincrementaldecoder = _lenient
    return driver


def _lenient(encoding: str) -> partial[codecs.IncrementalDecoder]:
    return partial(codecs.getincrementaldecoder(encoding), errors="replace")
