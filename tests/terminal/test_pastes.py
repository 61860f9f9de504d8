"""What only a real terminal delivers: bytes that are no text, sequences that it would obey."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from tests.terminal.terminal import Terminal

pytestmark = pytest.mark.terminal

STRANGE = {
    "another encoding": (b"caf\xe9 noir", "caf\ufffd noir"),  # Latin-1
    "a lone surrogate": (b"\x1b[200~ab\xed\xa0\x80cd\x1b[201~", "ab\ufffd\ufffd\ufffdcd"),
    "a command": ("\x1b[200~x\u009d52;c;aGFoYQ==\u009cy\x1b[201~".encode(), "x52;c;aGFoYQ==y"),
    "a colour": (b"\x1b[200~x\x1b[31mq\x1b]52;c;eA==\x07y\x1b[201~", "x[31mq]52;c;eA==y"),
}
"""What comes in and what stands there then. Surrogates have no UTF-8 (RFC 3629, section 3, from
memory); OSC 52 sets the clipboard (xterm's control sequences, from memory)."""


def test_bytes_that_are_no_text_end_nothing_and_reach_no_terminal(tmp_path: Path) -> None:
    terminal = Terminal([sys.executable, "-m", "trackside"], (80, 24), tmp_path)
    try:
        terminal.wait_for("PIT BOARD")
        for sent, shown in STRANGE.values():
            terminal.send("/")
            terminal.wait_for("venue, driver, serial")
            os.write(terminal.master, sent)
            terminal.wait_for(f" {shown} ")
            for _ in shown:
                terminal.send("\x7f")
            terminal.send("enter")
        assert b"52;c;aGFoYQ" in terminal.raw
        assert b"\xc2\x9d" not in terminal.raw
        terminal.send("q")
        assert terminal.wait_for_end() == 0
    finally:
        terminal.close()
