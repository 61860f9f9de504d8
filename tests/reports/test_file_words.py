"""A file that a note names, in words."""

from __future__ import annotations

import pytest

from trackside.records.note import NamedFile
from trackside.reports.file_words import file_words


@pytest.mark.parametrize(
    ("size", "state", "told"),
    [
        (1, "there", "a tyre.jpg (1 kB)"),
        (1499, "there", "a tyre.jpg (1 kB)"),
        (1501, "there", "a tyre.jpg (2 kB)"),
        (999_499, "there", "a tyre.jpg (999 kB)"),
        (1_000_000, "missing", "a tyre.jpg (1.0 MB, missing here)"),
        (1_240_000, "changed", "a tyre.jpg (1.2 MB, changed since it was kept)"),
        (40_000_000, "there", "a tyre.jpg (40.0 MB)"),
    ],
)
def test_a_file_is_told_with_its_size_and_what_is_wrong_with_it(
    size: int, state: str, told: str
) -> None:
    file = NamedFile(name="a  tyre.jpg", sha256="0" * 64, size=size)
    assert file_words(file, state) == told
    assert state != "there" or file_words(file) == told
