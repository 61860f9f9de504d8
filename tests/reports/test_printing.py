"""What is printed: the names of files, a folder that takes nothing, pictures on paper."""

from __future__ import annotations

from pathlib import Path

import pytest

from trackside.charts import Series
from trackside.errors import LogbookError
from trackside.reports import printing
from trackside.reports.document import Document, Picture, Pictures
from trackside.reports.html import PICTURE, html


def test_names_of_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert printing.file_name("2026-05-09", "../Harrow Fen", "practice 2", "", "run-sheet") == (
        "2026-05-09-Harrow-Fen-practice-2-run-sheet"
    )
    assert printing.file_name("x" * 61) == "x" * 60
    paths = [printing.write_new(tmp_path / "new", "a", f"{n}") for n in range(3)]
    assert [path.name for path in paths] == ["a.html", "a-2.html", "a-3.html"]
    assert [path.read_text("utf-8") for path in paths] == ["0", "1", "2"]
    monkeypatch.setattr(printing, "MOST", 3)
    with pytest.raises(LogbookError, match="holds 3 files of that name"):
        printing.write_new(tmp_path / "new", "a", "")
    (tmp_path / "file").write_text("")
    with pytest.raises(LogbookError, match="file cannot be written to"):
        printing.write_new(tmp_path / "file", "a", "")


def test_a_folder_that_takes_nothing_says_what_helps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(LogbookError) as refused:
        printing.write_new(tmp_path / "file", "a", "")
    assert refused.value.remedy == "make room there"
    monkeypatch.setattr(printing, "MOST", 1)
    printing.write_new(tmp_path, "a", "")
    with pytest.raises(LogbookError) as refused:
        printing.write_new(tmp_path, "a", "")
    assert refused.value.remedy == "clear it out"


def test_a_picture_on_paper_is_wider_than_high() -> None:
    """Two stand side by side on a page of A4 or Letter: between a golden cut and twice as wide as
    high (common practice, no source)."""
    wide, high = PICTURE
    assert 1.6 <= wide / high <= 2.0
    one = Picture("Now", (Series([0.0, 1.0], [0.0, 2.0], "bump"),), "rod mm/s", "N")
    page = html(Document("T", "", (Pictures("Curves", (one, one)),)))
    assert page.count(f'viewBox="0 0 {wide:g} {high:g}"') == 2
    for words in ("Now", "rod mm/s"):
        assert page.count(words) >= 2
