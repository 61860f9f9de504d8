"""Files that notes name: kept under their hash, never written over, known when missing or
changed."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from trackside.errors import BadInput
from trackside.logbook import Logbook, put
from trackside.logbook import attached as files
from trackside.records import Note
from trackside.records.note import NamedFile
from trackside.reports.file_words import file_words

PHOTO = b"\xff\xd8\xff" + b"tyre" * 500


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "front left.jpg"
    path.write_bytes(PHOTO)
    return path


def noted(logbook: Logbook, photo: Path) -> NamedFile:
    """A note with that file in the logbook."""
    run = put("session", {"kind": "race"})
    kept = files.keep(files.folder_of(logbook.path), str(photo))
    logbook.write(run, put("note", Note(session=run.entity, files=(kept,)).body()))
    return kept


def test_a_file_is_kept_under_its_hash_once(tmp_path: Path, photo: Path) -> None:
    folder = tmp_path / "log.trackside-files"
    kept = files.keep(folder, f" {photo} ")
    assert kept == NamedFile(
        name="front left.jpg", sha256=hashlib.sha256(PHOTO).hexdigest(), size=len(PHOTO)
    )
    photo.rename(tmp_path / "other.jpg")
    again = files.keep(folder, str(tmp_path / "other.jpg"))
    assert (again.sha256, again.name) == (kept.sha256, "other.jpg")
    assert [path.name for path in folder.iterdir()] == [kept.sha256]
    assert (folder / kept.sha256).read_bytes() == PHOTO
    assert files.folder_of(tmp_path / "log.trackside") == folder


def test_what_cannot_be_kept_says_why(tmp_path: Path, photo: Path) -> None:
    folder = tmp_path / "files"
    (tmp_path / "empty.jpg").touch()
    large = tmp_path / "film.mov"
    with large.open("wb") as film:
        film.truncate(files.MOST_BYTES + 1)
    for name, why in (("none.jpg", "there is no file"), ("empty.jpg", "empty.jpg is empty"),
                      (".", "is a folder"), ("film.mov", "has 21 MB")):  # fmt: skip
        with pytest.raises(BadInput, match=why):
            files.keep(folder, str(tmp_path / name))
    assert not folder.exists()
    kept = files.keep(folder, str(photo))
    (folder / kept.sha256).write_bytes(b"other")
    with pytest.raises(BadInput, match="was changed since it was kept: move it away"):
        files.keep(folder, str(photo))
    assert (folder / kept.sha256).read_bytes() == b"other"


def test_missing_and_changed_files_are_known(logbook: Logbook, photo: Path) -> None:
    kept = noted(logbook, photo)
    folder = files.folder_of(logbook.path)
    assert list(files.not_there(logbook)) == []
    place = folder / kept.sha256
    place.write_bytes(PHOTO[:-1] + b"!")  # as long as it was
    assert list(files.not_there(logbook)) == [(kept, "changed")]
    place.unlink()
    assert list(files.not_there(logbook)) == [(kept, "missing")]
    assert file_words(kept, "missing") == "front left.jpg (2 kB, missing here)"


def test_carrying_takes_what_is_whole_and_replaces_nothing(
    logbook: Logbook, photo: Path, tmp_path: Path
) -> None:
    kept = noted(logbook, photo)
    (tmp_path / "second.jpg").write_bytes(b"second")
    second = noted(logbook, tmp_path / "second.jpg")
    here, stick = files.folder_of(logbook.path), tmp_path / "stick"
    (here / second.sha256).write_bytes(b"sacond")
    carried = files.carry(logbook, here, stick)
    assert (carried.copied, carried.same) == (1, 0)
    assert carried.problems == (f"second.jpg was changed in {here}",)
    assert [path.name for path in stick.iterdir()] == [kept.sha256]
    assert files.carry(logbook, here, stick).same == 1
    (stick / kept.sha256).write_bytes(b"other")
    assert files.carry(logbook, here, stick).copied == 0
    assert (stick / kept.sha256).read_bytes() == b"other"


@pytest.mark.parametrize("name", ["../../x.jpg", "/etc/passwd", "..\\x", ".hidden", "."])
def test_a_name_of_another_laptop_leaves_the_folder_never(
    logbook: Logbook, photo: Path, tmp_path: Path, name: str
) -> None:
    kept = noted(logbook, photo).model_copy(update={"name": name})
    out = tmp_path / "out"
    with pytest.raises(BadInput, match="there is no folder"):
        files.save_as(logbook, kept, out)
    out.mkdir()
    target = files.save_as(logbook, kept, out)
    assert target.parent == out
    assert target.read_bytes() == PHOTO
    with pytest.raises(BadInput, match="already exists"):
        files.save_as(logbook, kept, out)


@pytest.mark.parametrize(
    "body", [{"name": "a", "sha256": "../x", "size": 1}, {"name": "a", "size": 1}, "words", {}]
)
def test_a_note_with_a_file_that_is_none_is_read_without_it(body: object) -> None:
    note, unread = Note.as_far_as_read({"session": "s", "words": "late", "files": [body]})
    assert (note.words, note.files) == ("late", None)
    assert len(unread) == 1


@pytest.mark.parametrize(
    ("name", "saved"),
    [
        ("..", "file"),
        ("../../.ssh/keys", "keys"),
        ("..\\..\\start.bat", "start.bat"),
        ("/etc/passwd", "passwd"),
        (".profile", "profile"),
        ("photo:stream.jpg", "photo_stream.jpg"),
        ('what?"<>|*', "what______"),
        ("é" * 195 + ".jpeg", "é" * 125 + ".jpeg"),
        ("." + "é" * 199, "é" * 127),
    ],
)
def test_a_name_from_another_laptop_stays_in_the_folder(
    tmp_path: Path, photo: Path, name: str, saved: str
) -> None:
    """Names of files come in with notes: 255 bytes is the most that common file systems take."""
    out = tmp_path / "out"
    out.mkdir()
    with Logbook.open(tmp_path / "log.trackside", device="d") as logbook:
        kept = noted(logbook, photo)
        named = NamedFile(name=name, sha256=kept.sha256, size=kept.size)
        assert files.save_as(logbook, named, out) == out / saved
        assert [path.name for path in out.iterdir()] == [saved]
        with pytest.raises(BadInput, match="already exists"):
            files.save_as(logbook, named, out)


def test_a_link_that_leads_nowhere_is_not_written_over(tmp_path: Path, photo: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / photo.name).symlink_to(tmp_path / "stick" / "gone.jpg")
    with Logbook.open(tmp_path / "log.trackside", device="d") as logbook:
        kept = noted(logbook, photo)
        with pytest.raises(BadInput, match="already exists"):
            files.save_as(logbook, kept, out)
    assert (out / photo.name).is_symlink()


def test_a_file_that_is_too_large_is_not_carried(
    tmp_path: Path, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another laptop put into a folder may be as large as it likes."""
    with Logbook.open(tmp_path / "log.trackside", device="d") as logbook:
        noted(logbook, photo)
        here, there = files.folder_of(logbook.path), tmp_path / "there"
        monkeypatch.setattr(files, "MOST_BYTES", len(PHOTO) - 1)
        found = files.carry(logbook, here, there)
        assert (found.copied, found.same) == (0, 0)
        assert "front left.jpg is larger than" in found.problems[0]
        assert not there.exists()
