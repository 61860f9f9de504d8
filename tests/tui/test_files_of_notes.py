"""A photo or a file that belongs to a driver's note: named in its form, kept beside the logbook."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.widgets import Input

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook.attached import folder_of, state
from trackside.records import Note
from trackside.tui.screens.verdicts import Judging
from trackside.tui.widgets.ask import Ask


@pytest.fixture
def season_file(runs_alone_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own, nothing beside its runs."""
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


SIZES = [(80, 24), (120, 40)]


def flat(pilot) -> str:  # type: ignore[no-untyped-def]
    return " ".join(screen_text(pilot.app).split())


@pytest.mark.parametrize("size", SIZES)
async def test_a_note_names_its_photo(
    season_file: Path, drive: Drive, tmp_path: Path, size: tuple[int, int]
) -> None:
    photo, second = tmp_path / "tyre.jpg", tmp_path / "sheet.jpg"
    photo.write_bytes(b"photo" * 1000)
    second.write_bytes(b"sheet" * 1000)
    async with drive(season_file, size) as pilot:
        app = pilot.app
        await run_sheet_at(pilot, "FL.camber")
        await pilot.press("a")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        form = app.screen
        assert "Photo, file" in flat(pilot)
        await pilot.press(*"graining")
        form.query_one("#file", Input).value = str(tmp_path / "none.jpg")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "there is no file" in flat(pilot))
        assert app.screen is form
        form.query_one("#file", Input).value = str(photo)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "note saved" in flat(pilot))
        [(entity, note)] = [(e, n) for e, n in app.desk.logbook.records(Note, "note") if n.files]
        assert (note.words, [file.name for file in note.files or ()]) == ("graining", ["tyre.jpg"])
        assert state(folder_of(season_file), note.files[0]) == "there"

        await pilot.press("j")
        await until(pilot, lambda: isinstance(app.screen, Judging))
        box = app.screen
        at = next(n for n, one in enumerate(box.rows) if one.entity == entity)
        await pilot.press(*["down"] * at, "enter")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        app.screen.query_one("#file", Input).value = str(second)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: app.screen is box)
        await until(pilot, lambda: len((app.desk.logbook.record(entity).files) or ()) == 2)
        assert app.desk.logbook.record(entity).words == "graining"
