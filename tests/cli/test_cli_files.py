"""demo, import, export, where: whole files or none, and nothing overwritten unasked."""

from __future__ import annotations

import csv
import errno
import io
import json
import os
import shutil
import stat
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import click
import pytest

from tests.running import Cli
from trackside.cli import door
from trackside.logbook import Logbook


def test_demo_into_a_new_file_holds_the_samples(cli: Cli, tmp_path: Path) -> None:
    target = tmp_path / "demo.trackside"
    made = cli("demo", "--into", target, "--json").json
    assert made == {"logbook": str(target), "records": made["records"]}
    assert made["records"] >= 14
    assert cli("--log", target, "list", "--json").json["total"] >= 14
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["demo.trackside", "demo.trackside-files"]


def test_demo_leaves_an_existing_file_alone(cli: Cli, tmp_path: Path) -> None:
    target = tmp_path / "mine.txt"
    target.write_text("precious")
    ran = cli("demo", "--into", target)
    assert ran.status == 2
    assert "there already" in ran.err
    assert target.read_text() == "precious"


def test_demo_that_fails_leaves_nothing(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("trackside.logbook.samples.load_samples", fail)
    ran = cli("demo", "--into", tmp_path / "demo.trackside")
    assert ran.status == 2
    assert "No space left" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_without_a_terminal_the_screens_say_so(cli: Cli) -> None:
    for arguments in ((), ("demo",)):
        ran = cli(*arguments)
        assert (ran.status, ran.out) == (2, "")
        assert "terminal" in ran.err


def test_export_and_import_bring_everything_over(on_samples: Cli, cli: Cli, tmp_path: Path) -> None:
    file, other = tmp_path / "all.json", tmp_path / "other.trackside"
    written = on_samples("export", file, "--json").json
    taken = cli("--log", other, "import", file, "--json").json
    assert taken["added"] == written["records"]
    assert cli("--log", other, "export").out == on_samples("export").out
    again = cli("--log", other, "import", file, "--json").json
    assert (again["added"], again["same"], again["left"]) == (0, written["records"], [])


def test_import_leaves_what_differs_and_names_it(on_samples: Cli, cli: Cli, tmp_path: Path) -> None:
    file, other = tmp_path / "all.json", tmp_path / "other.trackside"
    on_samples("export", file)
    cli("--log", other, "import", file)
    document = json.loads(file.read_text("utf-8"))
    session = next(e for e in document["entities"] if e["kind"] == "session")
    session["body"]["driver"] = "Someone Else"
    file.write_text(json.dumps(document))
    taken = cli("--log", other, "import", file, "--json").json
    assert (taken["added"], taken["left"]) == (0, [session["entity"]])
    shown = cli("--log", other, "show", session["entity"], "--json").json
    assert shown["session"]["driver"] != "Someone Else"


def test_export_csv_has_one_row_a_reading(on_samples: Cli) -> None:
    table = list(csv.DictReader(io.StringIO(on_samples("export", "--csv").out)))
    sessions = on_samples("list", "--json").json["sessions"]
    assert {row["session"] for row in table} == {s["id"] for s in sessions}
    cold = next(row for row in table if row["field"] == "cold_pressure" and row["si"])
    shown = on_samples("show", cold["session"], "--json").json
    assert float(cold["si"]) == shown["corners"][cold["corner"]]["cold_pressure"]["si"]


def test_export_replaces_a_file_whole_and_keeps_no_leftovers(
    on_samples: Cli, tmp_path: Path
) -> None:
    file = tmp_path / "all.json"
    file.write_text("old")
    told = on_samples("export", file)
    assert (told.status, "--replace" in told.err, file.read_text()) == (2, True, "old")
    assert on_samples("export", file, "--replace").status == 0
    assert json.loads(file.read_text("utf-8"))["format"] == "trackside-logbook"
    assert [path.name for path in tmp_path.iterdir()] == ["all.json"]
    assert stat.S_IMODE(file.stat().st_mode) & 0o400


def test_an_export_that_breaks_off_leaves_the_old_file(
    on_samples: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "all.json"
    file.write_text("old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    ran = on_samples("export", file, "--replace")
    assert ran.status == 2
    assert "No space left" in ran.err
    assert file.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["all.json"]


WRITERS = {
    "export": ("export",),
    "csv": ("export", "--csv"),
    "bundle": ("bundle", "write"),
    "sheet": ("sheet", "last", "--html"),
    "debrief": ("debrief", "last", "--html"),
    "card": ("job", "FP-0611", "--html"),
    "label": ("label", "FP-0611", "--svg"),
    "samples": ("demo", "--into"),
    "salvage": ("verify", "--salvage"),
}


def test_every_command_that_may_replace_a_file_is_tried() -> None:
    def walk(group: click.Group, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
        here = click.Context(group)
        for name in group.list_commands(here):
            command = group.get_command(here, name)
            assert command is not None
            if isinstance(command, click.Group):
                yield from walk(command, (*before, name))
            elif any(one.name in ("replace", "into", "salvage") for one in command.params):
                yield (*before, name)

    tried = {words[: 2 if words[0] == "bundle" else 1] for words in WRITERS.values()}
    assert set(walk(door)) == tried


@pytest.mark.parametrize("writer", WRITERS)
def test_no_command_replaces_a_file_unasked_nor_ever_a_logbook(
    cli: Cli, on_samples: Cli, samples_log: Path, tmp_path: Path, writer: str
) -> None:
    words = WRITERS[writer]
    if writer == "card":  # a card wants a job, and the samples are everybody's
        own = Path(shutil.copy(samples_log, tmp_path / "own.trackside"))
        on_samples = partial(cli, "--log", own)
        on_samples("job", "FP-0611", "--plan", "new seals")
    backup = Path(on_samples("backup", "--to", tmp_path / "keep", "--json").json["made"])
    theirs = tmp_path / "theirs"
    theirs.write_text("precious")
    lost = tmp_path / "lost"
    lost.symlink_to(tmp_path / "away")
    journal = samples_log.with_name(f"{samples_log.name}-journal")
    replace = () if words[0] in ("demo", "verify") else ("--replace",)
    before = backup.read_bytes(), samples_log.read_bytes()
    for target, more in (
        *((theirs, ()), (lost, ()), (backup, replace), (samples_log, replace)),
        *((journal, replace), (backup.with_name(f"{backup.name}-wal"), ())),
    ):
        ran = on_samples(*words, target, *more)
        assert ran.status == 2, (target, ran.out)
        assert any(
            why in ran.err for why in ("is never replaced", "is there already", "SQLite uses")
        )
    assert (theirs.read_text(), lost.is_symlink(), lost.exists()) == ("precious", True, False)
    assert (backup.read_bytes(), samples_log.read_bytes()) == before
    assert not journal.exists()
    if replace:
        assert on_samples(*words, theirs, *replace).status == 0
        assert theirs.read_bytes() != b"precious"


def test_export_never_replaces_the_logbook_or_a_folder(
    on_samples: Cli, samples_log: Path, tmp_path: Path
) -> None:
    before = samples_log.read_bytes()
    link = tmp_path / "link.json"
    link.symlink_to(samples_log)
    for target in (samples_log, link, tmp_path, tmp_path / "no" / "such" / "folder.json"):
        assert on_samples("export", target).status == 2
    assert samples_log.read_bytes() == before


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", "line 1 is not JSON"),
        ("{", "is not JSON"),
        ("[]", "not a trackside logbook"),
        ("null", "not a trackside logbook"),
        ('{"format": "trackside-logbook", "version": 99}', "version 99"),
        ('{"format": "trackside-logbook", "version": 1, "entities": [3]}', "Entry 1"),
        ("[" * 100_000, "too deep"),
        ("9" * 5000, "is not JSON"),
        ('{"format": "trackside-logbook", "version": 1, "entities": [{"x": NaN}]}', "Entry 1"),
    ],
)
def test_a_file_that_cannot_be_taken_in(cli: Cli, tmp_path: Path, content: str, told: str) -> None:
    file, log = tmp_path / "bad.json", tmp_path / "new.trackside"
    file.write_text(content)
    ran = cli("--log", log, "import", file)
    assert (ran.status, ran.out) == (2, "")
    assert "bad.json" in ran.err
    assert told in ran.err
    if log.exists():
        with Logbook.open(log, read_only=True) as logbook:
            assert logbook.session_count() == 0


def test_where_names_the_files(cli: Cli, samples_log: Path, tmp_path: Path) -> None:
    found = cli("where", "--json").json
    assert set(found) == {"logbook", "backups", "preferences", "device", "errors", "samples"}
    assert found["errors"].endswith("errors.log")
    assert Path(found["samples"], "weekends.json").is_file()
    assert cli("--log", samples_log, "where", "--json").json["logbook"] == str(samples_log)
    assert cli("where", "--log", samples_log, "--json").json["logbook"] == str(samples_log)
    assert "not made yet" in cli("where").out


def test_a_logbook_that_is_not_there_or_none_is_told_apart(cli: Cli, tmp_path: Path) -> None:
    missing = cli("--log", tmp_path / "none.trackside", "list")
    assert missing.status == 2
    assert "no logbook" in missing.err
    assert not (tmp_path / "none.trackside").exists()
    broken = tmp_path / "broken.trackside"
    broken.write_bytes(b"this is not a database, and long enough to look at" * 100)
    ran = cli("--log", broken, "list")
    assert ran.status == 1
    assert ran.err.count("\n") == 1


def test_preferences_that_cannot_be_read_are_named(
    cli: Cli, samples_log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRACKSIDE_CONFIG", str(tmp_path))
    (tmp_path / "preferences.toml").write_text('theme = "neon"\n')
    ran = cli("--log", samples_log, "curve", "last", "FL")
    assert ran.status == 2
    assert "preferences.toml" in ran.err


def test_units_of_the_crew_are_used_in_words_and_never_in_json(
    cli: Cli, samples_log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    command = ("--log", samples_log, "curve", "last", "FL", "--speeds", "50")
    metric, plain = cli(*command).out, cli(*command, "--json").out
    monkeypatch.setenv("TRACKSIDE_CONFIG", str(tmp_path))
    (tmp_path / "preferences.toml").write_text('preset = "imperial"\n')
    assert cli(*command, "--json").out == plain
    imperial = cli(*command).out
    assert "force lbf" in imperial
    assert "in/s" in imperial
    assert "force N" in metric


def test_a_disk_that_cannot_sync_a_folder_takes_an_export_all_the_same(
    cli: Cli, samples_log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.fsync

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "Invalid argument")
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    target = tmp_path / "all.json"
    ran = cli("--log", samples_log, "export", target)
    assert (ran.status, ran.err) == (0, "")
    assert json.loads(target.read_text())["format"] == "trackside-logbook"
    fresh = tmp_path / "fresh.trackside"
    assert cli("demo", "--into", fresh).status == 0
    assert fresh.stat().st_size > 0
