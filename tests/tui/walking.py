"""A walk past every screen of the app, for tests that look at all of them."""

from __future__ import annotations

from collections.abc import AsyncIterator

from textual.pilot import Pilot

from tests.tui.conftest import until

SHEET = ("p", "home", "down", "down", "enter")
SCREENS: dict[str, tuple[str, ...]] = {
    "board": ("p",),
    "sheet": (*SHEET, "down", "down", "down"),
    "typing": ("1", "2"),
    "springs": ("escape", "tab"),
    "alignment": ("tab",),
    "tyres": ("tab",),
    "session": ("tab",),
    "clicks": ("escape", *SHEET, "c"),
    "trend": ("t",),
    "debrief": ("d",),
    "shed": ("b",),
    "loops": ("o",),
    "book": ("g",),
    "damper record": ("p", "b", "enter"),
    "car record": ("escape", "p", "home", "down", "V"),
    "event record": ("escape", "p", "E"),
    "handbook": ("escape", "p", "f2"),
    "note": (*SHEET, "a"),
    "palette": ("escape", "ctrl+p"),
    "shelf": ("escape", "k"),
    "kept": ("escape",),
}
"""Each screen, by the keys that lead there from the one before."""
FIGURES: dict[str, tuple[str, ...]] = {
    "board": ("p",),
    "sheet": (*SHEET, "down", "down", "down"),
    "typing": ("1", "2"),
    "undo": ("enter", "up", "u"),
    "past": ("escape", "l"),
    "whole past": ("a",),
    "as it stood": ("enter",),
    "springs": ("escape", "tab"),
    "alignment": ("tab",),
    "clicks": ("escape", "c"),
    "axles": ("a",),
    "trend": ("t",),
    "debrief": ("d",),
    "shed": ("b",),
    "loops": ("o",),
    "damper record": ("enter",),
    "damper parts": ("shift+tab",),
    "book": ("escape", "g"),
    "car record": ("escape", "p", "home", "down", "V"),
    "event record": ("escape", "E"),
    "kept": ("escape", "k", "escape"),
    "bring": ("enter",),
    "bring, further down": ("space",),
    "help": ("escape", "p", "question_mark"),
}
"""A shorter way past every screen that shows figures, and what lies behind or on top of them."""


async def walk(
    pilot: Pilot[None], *wanted: str, among: dict[str, tuple[str, ...]] = SCREENS
) -> AsyncIterator[str]:
    """Go from screen to screen; at each (or at the `wanted` ones) its name, once it is drawn."""
    for name, keys in among.items():
        for key in keys:
            await pilot.press(key)
            await pilot.pause()
        await drawn(pilot)
        if not wanted or name in wanted:
            yield name


async def drawn(pilot: Pilot[None]) -> None:
    """Wait until nothing is being worked out any more, and what there is stands on the screen."""
    await pilot.pause()
    await until(pilot, lambda: not getattr(pilot.app.screen, "calculating", False))
    await pilot.pause(0.02)
