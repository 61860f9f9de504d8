"""Photos and files on the command line: named in a note, listed, checked, carried when asked."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, drop


@pytest.fixture
def log(runs_alone_log: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "tyre.jpg"
    path.write_bytes(b"photo" * 300_000)
    return path


def test_one_photo_under_two_names_goes_by_each(
    cli: Cli, log: Path, photo: Path, tmp_path: Path
) -> None:
    cli("--log", log, "file", "add", photo, "last")
    cli("--log", log, "file", "add", photo.rename(tmp_path / "front left.jpg"), "last")
    out = tmp_path / "out"
    out.mkdir()
    for name in ("tyre.jpg", "front left.jpg"):
        saved = cli("--log", log, "file", "save", name, "--to", out)
        assert (saved.status, saved.err) == (0, "")
        assert (out / name).stat().st_size == 1_500_000


def test_many_that_are_missing_do_not_fill_the_screen(cli: Cli, log: Path, tmp_path: Path) -> None:
    for number in range(23):
        (tmp_path / f"{number}.jpg").write_bytes(bytes([number]))
        cli("--log", log, "file", "add", tmp_path / f"{number}.jpg", "last")
    for kept in log.with_name(f"{log.name}-files").iterdir():
        kept.unlink()
    (tmp_path / "shared").mkdir()
    said = cli("--log", log, "share", tmp_path / "shared", "--files").out
    assert said.count(".jpg is not in") == 20
    assert "  ! And 3 more like these." in said
    told = cli("--log", log, "share", tmp_path / "shared", "--files", "--json").json
    assert len(told["files_taken"]["problems"]) == 23


def test_a_file_of_a_run_that_was_taken_off_is_listed_still(
    cli: Cli, log: Path, photo: Path
) -> None:
    cli("--log", log, "file", "add", photo, "last")
    with Logbook.open(log) as logbook:
        logbook.write(drop("session", logbook.session("last")))
    listed = cli("--log", log, "file", "list")
    assert (listed.status, listed.err) == (0, "")
    assert "a run that was taken off" in listed.out
    [one] = cli("--log", log, "file", "list", "--json").json["files"]
    assert (one["id"], one["name"], one["state"]) == (None, "tyre.jpg", "there")


def test_a_file_is_named_listed_shown_and_saved(
    cli: Cli, log: Path, photo: Path, tmp_path: Path
) -> None:
    added = cli("--log", log, "file", "add", photo, "last", "--words", "graining, outer edge")
    assert (added.status, added.err) == (0, "")
    assert "note with tyre.jpg (1.5 MB)" in added.out
    listed = cli("--log", log, "file", "list", "last", "--json").json
    [one] = listed["files"]
    assert (one["name"], one["size"], one["state"]) == ("tyre.jpg", 1_500_000, "there")
    assert "  file: tyre.jpg (1.5 MB)" in cli("--log", log, "show", "last").out
    assert "graining, outer edge" in cli("--log", log, "debrief", "last").out
    assert "tyre.jpg (1.5 MB)" in cli("--log", log, "debrief", "last").out
    out = tmp_path / "out"
    out.mkdir()
    saved = cli("--log", log, "file", "save", "tyre.jpg", "--to", out)
    assert saved.status == 0
    assert (out / "tyre.jpg").read_bytes() == photo.read_bytes()
    assert cli("--log", log, "file", "save", one["sha256"][:8], "--to", out).status == 2
    assert "no files are called x" in cli("--log", log, "file", "save", "x").err
    assert cli("--log", log, "file", "add", tmp_path / "none").status == 2


def test_a_missing_and_a_changed_file_are_said_plainly(cli: Cli, log: Path, photo: Path) -> None:
    told = cli("--log", log, "file", "add", photo, "--json").json
    place = log.with_name(f"{log.name}-files") / told["sha256"]
    assert cli("--log", log, "verify", "--json").json["files_not_there"] == []
    place.write_bytes(b"other")
    assert "tyre.jpg (1.5 MB, changed since it was kept)" in cli("--log", log, "verify").out
    place.unlink()
    for command in (("verify",), ("show", "last"), ("file", "list"), ("debrief", "last")):
        assert "tyre.jpg (1.5 MB, missing here)" in cli("--log", log, *command).out, command
    assert cli("--log", log, "verify", "--json").json["sound"]


def test_a_bundle_carries_files_only_when_asked(
    cli: Cli, log: Path, photo: Path, tmp_path: Path
) -> None:
    cli("--log", log, "file", "add", photo)
    stick = tmp_path / "stick"
    stick.mkdir()
    cli("--log", log, "bundle", "write", stick / "a.bundle")
    assert [path.name for path in stick.iterdir()] == ["a.bundle"]
    wrote = cli("--log", log, "bundle", "write", stick / "b.bundle", "--files", "--json").json
    assert wrote["files"] == {"copied": 1, "same": 0, "problems": [], "refused": ""}
    other = tmp_path / "other.trackside"
    cli("--log", other, "bundle", "read", stick / "b.bundle")
    assert "missing here" in cli("--log", other, "verify").out
    read = cli("--log", other, "bundle", "read", stick / "b.bundle", "--files")
    assert "1 file copied to" in read.out
    assert cli("--log", other, "file", "list", "--json").json["files"][0]["state"] == "there"
    again = cli("--log", other, "bundle", "read", stick / "b.bundle", "--files", "--json").json
    assert again["files"]["same"] == 1
    missing = cli("--log", other, "bundle", "read", stick / "a.bundle", "--files", "--json").json
    assert missing["files"]["problems"] == []  # it is here already


def test_a_shared_folder_carries_files_only_when_asked(
    cli: Cli, log: Path, photo: Path, tmp_path: Path
) -> None:
    cli("--log", log, "file", "add", photo)
    team, other = tmp_path / "team", tmp_path / "other.trackside"
    team.mkdir()
    assert "files_given" not in cli("--log", log, "share", team, "--json").json
    assert not (team / "files").exists()
    assert cli("--log", log, "share", team, "--files", "--json").json["files_given"]["copied"] == 1
    assert "1 file copied to" in cli("--log", other, "share", team, "--files").out
    assert cli("--log", other, "file", "list", "--json").json["files"][0]["state"] == "there"


def test_where_files_cannot_be_put_the_revisions_are_told_still(
    cli: Cli, log: Path, photo: Path, tmp_path: Path
) -> None:
    """Something is in the way of the folder: what was taken in is in the logbook all the same."""
    cli("--log", log, "file", "add", photo, "last")
    cli("--log", log, "bundle", "write", tmp_path / "stick", "--files")
    other = tmp_path / "other.trackside"
    other.with_name(f"{other.name}-files").write_text("in the way")
    read = cli("--log", other, "bundle", "read", tmp_path / "stick", "--files")
    assert (read.status, read.err) == (0, "")
    assert "revisions taken in, 0 were here already" in read.out
    assert "0 files copied" in read.out
    assert "cannot be written" in read.out
    (tmp_path / "share").mkdir()
    (tmp_path / "share" / "files").write_text("in the way")
    shared = cli("--log", log, "share", tmp_path / "share", "--files")
    assert (shared.status, shared.err) == (0, "")
    assert shared.out.count("cannot be written") == 1
