"""Takes the pictures of the README from the app itself: `python -m tests.pictures`."""

from __future__ import annotations

import asyncio
import os
import re
import tempfile
from pathlib import Path

from textual.pilot import Pilot

from trackside.logbook import Logbook
from trackside.logbook.samples import load_samples, samples_folder
from trackside.preferences import Preferences
from trackside.tui.app import build

FOLDER = Path(__file__).parent.parent / "trackside" / "handbook" / "pictures"
SIZE = (110, 34)
JOURNEYS: dict[str, tuple[str, ...]] = {
    "run-sheet": ("down", "down", "enter", "down", "down", "down"),
    "debrief": ("enter", "d"),
}
_BUTTON = re.compile(r"<circle[^>]*/>")
_WEB_FONT = re.compile(r"@font-face\s*{.*?}", re.DOTALL)


async def take(name: str, keys: tuple[str, ...], logbook: Path) -> None:
    """Walk the keys and write what the screen shows."""
    app = build(logbook, Preferences(author="Sanna"))
    async with app.run_test(size=SIZE) as pilot:
        await _ready(pilot)
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.5)
        await pilot.pause(1)
        drawing = _WEB_FONT.sub("", app.export_screenshot(title="trackside"))
        drawing = _BUTTON.sub("", drawing)
        drawing = drawing.replace("Fira Code", "DejaVu Sans Mono, Menlo, Consolas")
        drawing = drawing.replace("<svg ", '<svg xml:space="preserve" ', 1)
        (FOLDER / f"{name}.svg").write_text(drawing, "utf-8")


async def _ready(pilot: Pilot[None]) -> None:
    for _ in range(500):
        if pilot.app.desk.shed is not None:  # type: ignore[attr-defined]
            return
        await pilot.pause(0.02)


def main() -> None:
    """Every picture, from a fresh copy of the samples."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["TRACKSIDE_DATA"] = os.environ["TRACKSIDE_CONFIG"] = folder
        for name, keys in JOURNEYS.items():
            path = Path(folder) / f"{name}.trackside"
            with Logbook.open(path, author="Sanna") as logbook:
                load_samples(logbook, samples_folder())
            asyncio.run(take(name, keys, path))


if __name__ == "__main__":
    main()
