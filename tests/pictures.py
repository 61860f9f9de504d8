"""Takes the pictures of the README from the app itself: `python -m tests.pictures`."""

from __future__ import annotations

import asyncio
import os
import re
import sys
import tempfile
from pathlib import Path

from textual.pilot import Pilot

from tests.tui.walking import drawn
from trackside.logbook import Logbook
from trackside.logbook.samples import load_samples, samples_folder
from trackside.preferences import THEMES, Preferences
from trackside.tui.app import build

SHOWN = Path(__file__).parent.parent / "trackside" / "handbook" / "pictures"
"""What the README shows."""
EVERY = Path(__file__).parent / "tui" / "pictures"
"""Every screen in every theme."""
SIZE = (110, 34)
SMALL = (80, 24)
SHEET = ("down", "down", "enter", "down", "down", "down")
JOURNEYS: dict[str, tuple[str, ...]] = {
    "run-sheet": SHEET,
    "debrief": ("enter", "d"),
}
SCREENS: dict[str, tuple[str, ...]] = {
    "pit-board": (),
    "run-sheet": SHEET,
    "tyres": ("down", "down", "enter", "tab", "tab", "tab"),
    "click-map": (*SHEET, "c"),
    "trend": (*SHEET, "t"),
    "debrief": ("enter", "d"),
    "shelf": (*SHEET, "k", "escape"),
    "shed": ("b",),
    "help": ("question_mark",),
}
_BUTTON = re.compile(r"<circle[^>]*/>")
_WEB_FONT = re.compile(r"@font-face\s*{.*?}", re.DOTALL)


async def take(
    to: Path, keys: tuple[str, ...], logbook: Path, size: tuple[int, int], theme: str
) -> None:
    """Walk the keys and write what the screen shows."""
    app = build(logbook, Preferences(author="Sanna", theme=theme))
    async with app.run_test(size=size) as pilot:
        await _ready(pilot)
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.3)
        await drawn(pilot)
        await pilot.pause(0.7)
        drawing = _WEB_FONT.sub("", app.export_screenshot(title="trackside"))
        drawing = _BUTTON.sub("", drawing)
        drawing = drawing.replace("Fira Code", "DejaVu Sans Mono, Menlo, Consolas")
        drawing = drawing.replace("<svg ", '<svg xml:space="preserve" ', 1)
        to.write_text(drawing, "utf-8")


async def _ready(pilot: Pilot[None]) -> None:
    for _ in range(500):
        if pilot.app.desk.shed is not None:  # type: ignore[attr-defined]
            return
        await pilot.pause(0.02)


def main() -> None:
    """Every picture, each from a fresh copy of the samples; a name or theme takes only those."""
    wanted = set(sys.argv[1:])
    for folder in (SHOWN, EVERY):
        folder.mkdir(parents=True, exist_ok=True)
    pictures = [(SHOWN / f"{name}.svg", keys, SIZE, "garage") for name, keys in JOURNEYS.items()]
    pictures += [
        (EVERY / f"{name}-{theme}.svg", keys, SMALL, theme)
        for name, keys in SCREENS.items()
        for theme in THEMES
    ]
    with tempfile.TemporaryDirectory() as home:
        os.environ["TRACKSIDE_DATA"] = os.environ["TRACKSIDE_CONFIG"] = home
        os.environ |= {"LC_ALL": "C.UTF-8", "TERM": "xterm-256color", "COLORTERM": "truecolor"}
        os.environ.pop("NO_COLOR", None)
        os.chdir(home)  # the pit board shows the path as it was given
        path = Path("season.trackside")
        for to, keys, size, theme in pictures:
            if not wanted or wanted & {to.stem, theme, to.stem.removesuffix(f"-{theme}")}:
                path.unlink(missing_ok=True)
                with Logbook.open(path, author="Sanna") as logbook:
                    load_samples(logbook, samples_folder())
                asyncio.run(take(to, keys, path, size, theme))


if __name__ == "__main__":
    main()
