"""Terminals that cannot show everything: no colour, sixteen colours, no Unicode. The real program
on a pty; nothing may become unreadable."""

from __future__ import annotations

import re
import shutil
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.terminal.terminal import Terminal
from tests.tui.eyes import MARKS, RGB, TEXT, contrast, is_mark, rgb
from trackside.preferences import THEMES

pytestmark = pytest.mark.terminal

PAGES = (
    ("r", "RUN SHEET", "since"),
    ("a", "Driver's note", "Ctrl+S save"),
    ("escape", "RUN SHEET", "since"),
    ("c", "CLICK MAP", "harder"),
    ("t", "TREND", "best lap"),
    ("d", "DEBRIEF", "CHANGED SINCE"),
    ("b", "DAMPER SHED", "FP-0611"),
    ("?", "DAMPER SHED", "handbook"),
    ("?", "HANDBOOK", "chapter"),
    ("p", "PIT BOARD", "Averholme"),
)
"""A key, the heading it leads to, and words that stand there once the page is drawn."""

SIXTEEN: dict[str, RGB] = {
    "default": (229, 229, 229), "black": (0, 0, 0), "red": (205, 0, 0), "green": (0, 205, 0),
    "brown": (205, 205, 0), "blue": (0, 0, 238), "magenta": (205, 0, 205), "cyan": (0, 205, 205),
    "white": (229, 229, 229), "brightblack": (127, 127, 127), "brightred": (255, 0, 0),
    "brightgreen": (0, 255, 0), "brightbrown": (255, 255, 0), "brightblue": (92, 92, 255),
    "brightmagenta": (255, 0, 255), "brightcyan": (0, 255, 255), "brightwhite": (255, 255, 255),
}  # fmt: skip
"""The sixteen colours as xterm has them (from memory), by the emulator's names."""


@pytest.fixture
def terminal_of(samples_log: Path, tmp_path: Path) -> Iterator[object]:
    """Opens the program with an environment and a preferences file of its own."""
    opened: list[Terminal] = []
    season = Path(shutil.copy(samples_log, tmp_path / "season.trackside"))

    def open_one(environment: dict[str, str], preferences: str = "") -> Terminal:
        (tmp_path / "config").mkdir(exist_ok=True)
        (tmp_path / "config" / "preferences.toml").write_text(preferences, "utf-8")
        command = [sys.executable, "-m", "trackside", "--log", str(season)]
        opened.append(Terminal(command, (80, 24), tmp_path, environment))
        opened[-1].wait_for("PIT BOARD")
        return opened[-1]

    yield open_one
    for terminal in opened:
        terminal.close()


def pages(terminal: Terminal) -> Iterator[str]:
    """Go from page to page; the text of each once it stands still."""
    for key, heading, words in PAGES:
        terminal.send(key)
        terminal.wait_for(heading)
        terminal.wait_for(words)
        if key == "escape":
            terminal.wait_until_gone(PAGES[1][1])
        settle(terminal)
        yield terminal.text()


def settle(terminal: Terminal) -> None:
    while time.perf_counter() - terminal.last_output < 0.25:
        time.sleep(0.02)


COLOUR = re.compile(rb"\x1b\[[0-9;]*m")


def test_without_colour_the_cursor_still_stands_out(terminal_of) -> None:
    terminal = terminal_of({"NO_COLOR": "1"})
    for _ in pages(terminal):
        pass
    sent = bytes(terminal.raw)
    codes = {code for found in COLOUR.findall(sent) for code in found[2:-1].split(b";")}
    assert codes
    assert not {c for c in codes if c and (30 <= int(c) <= 38 or 40 <= int(c) <= 48 or int(c) > 89)}
    reversed_rows = {
        row
        for row in range(terminal.height)
        if any(terminal.screen.buffer[row][column].reverse for column in range(terminal.width))
    }
    assert 0 in reversed_rows  # the heading
    assert any(row in reversed_rows for row in range(1, 21))  # the cursor in the list


def test_an_empty_no_color_is_none(terminal_of) -> None:
    """no-color.org (from memory): the variable counts when it is not empty."""
    terminal = terminal_of({"NO_COLOR": ""})
    assert b"\x1b[38;2;" in terminal.raw or b";38;2;" in terminal.raw


@pytest.mark.parametrize(
    "words", [[], ["demo"], ["verify"], ["curve", "last", "FL"], ["backup"]], ids=" ".join
)
def test_a_terminal_that_only_prints_is_sent_nothing_but_lines(
    samples_log: Path, tmp_path: Path, words: list[str]
) -> None:
    season = Path(shutil.copy(samples_log, tmp_path / "season.trackside"))
    command = [sys.executable, "-m", "trackside", "--log", str(season), *words]
    terminal = Terminal(command, (80, 24), tmp_path, {"TERM": "dumb"})
    try:
        assert terminal.wait_for_end() == 0
        time.sleep(0.3)
        sent = bytes(terminal.raw)
    finally:
        terminal.close()
    assert b"\x1b" not in sent
    assert b"\r" not in sent.replace(b"\r\n", b"")
    if words in ([], ["demo"]):
        assert b"Averholme" in sent
        assert b"this terminal only prints" in sent


@pytest.mark.parametrize("theme", THEMES)
def test_sixteen_colours_can_be_read(terminal_of, theme: str) -> None:
    terminal = terminal_of({"TERM": "xterm", "COLORTERM": ""}, f'theme = "{theme}"\n')
    weak = set()
    for text in pages(terminal):
        heading = text.split("\n")[0].strip()[:12]
        for row in range(terminal.height):
            for column in range(terminal.width):
                cell = terminal.screen.buffer[row][column]
                if not cell.data.strip():
                    continue
                front, back = _colour(cell.fg, "white"), _colour(cell.bg, "black")
                if cell.reverse:
                    front, back = back, front
                ratio = contrast(front, back)
                if ratio < (MARKS if is_mark(cell.data) else TEXT):
                    weak.add((heading, cell.fg, cell.bg, cell.reverse, round(ratio, 1)))
    assert not weak
    assert b"\x1b[38;2;" not in terminal.raw
    assert b"\x1b[38;5;" not in terminal.raw


def _colour(name: str, default: str) -> RGB:
    return SIXTEEN[name if name != "default" else default] if name in SIXTEEN else rgb(f"#{name}")


@pytest.mark.parametrize(
    ("environment", "preferences"),
    [({"LC_ALL": "C"}, ""), ({"LANG": "C"}, ""), ({}, 'drawing = "ascii"\n')],
    ids=["LC_ALL=C", "LANG=C", "preference"],
)
def test_without_unicode_every_character_is_ascii(
    terminal_of, environment: dict[str, str], preferences: str
) -> None:
    terminal = terminal_of(environment, preferences)
    texts = list(pages(terminal))
    for text in texts:
        assert text.isascii(), {letter for letter in text if not letter.isascii()}
    sheet, form, _, clicks, trend, *_ = texts
    assert "-+" in form or "+-" in form  # the corner of its frame
    assert re.search(r"\d\+", clicks)  # a tick on the axis
    assert " +- 1 harder" in clicks or "+-" in clicks
    assert re.search(r"[o*]", trend)
    assert "+57" in sheet or "+1" in sheet


def test_a_console_without_braille_draws_in_half_blocks(terminal_of) -> None:
    terminal = terminal_of({"TERM": "linux"})
    letters = {letter for text in pages(terminal) for letter in text}
    assert {"▀", "▄"} <= letters
    beyond = {letter for letter in letters if not letter.isascii()}
    beyond = {letter for letter in beyond if not letter.encode("cp437", "ignore")}
    assert beyond <= set("►◄↕↑↓→←▲▼•○")  # where the console has them instead of control characters
