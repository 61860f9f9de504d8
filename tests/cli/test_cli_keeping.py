"""backup, restore, verify, bundle, share, conflicts, history through the command line."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, patch, put
from trackside.preferences import device_file


@pytest.fixture
def log(samples_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample weekends that may be written."""
    return Path(shutil.copy(samples_log, tmp_path / "team.trackside"))


def test_backup_restore_and_the_file_kept_beside(cli: Cli, log: Path) -> None:
    made = cli("--log", log, "backup", "--json").json
    assert made["backups"] == 1
    assert Path(made["made"]).parent == log.with_name("team.trackside-backups")
    assert cli("--log", log, "backup", "--json").json["made"] is None
    assert "nothing has changed" in cli("--log", log, "backup").out
    with Logbook.open(log) as logbook:
        session = logbook.session("last")
        logbook.write(patch("session", session, {"driver": "Somebody"}))
    with Logbook.open(log.with_name("other.trackside"), device=device_file()) as other:
        name = other.device
    restored = cli("--log", log, "restore", made["made"], "--json").json
    assert device_file().read_text().strip() == name
    with Logbook.open(log) as logbook, Logbook.open(restored["kept"]) as kept:
        assert (logbook.state(session) or {})["driver"] != "Somebody"
        assert (kept.state(session) or {})["driver"] == "Somebody"


def test_backup_to_another_folder(cli: Cli, log: Path, tmp_path: Path) -> None:
    made = cli("--log", log, "backup", "--to", tmp_path / "stick", "--json").json
    assert Path(made["made"]).parent == tmp_path / "stick" / f"{log.name}-backups"


def test_two_logbooks_on_one_stick_keep_their_own_backups(
    cli: Cli, log: Path, tmp_path: Path
) -> None:
    other, stick = tmp_path / "other.trackside", tmp_path / "stick"
    first = cli("--log", log, "backup", "--to", stick, "--json").json["made"]
    with Logbook.open(other, author="Olle", device="o") as logbook:
        logbook.write(put("note", {"words": "another car"}))
    for number in range(12):
        with Logbook.open(other, author="Olle", device="o") as logbook:
            logbook.write(put("note", {"words": str(number)}))
        cli("--log", other, "backup", "--to", stick)
    assert Path(first).exists()


def test_restore_of_nothing_says_so(cli: Cli, log: Path) -> None:
    ran = cli("--log", log, "restore", log.with_name("none"))
    assert (ran.status, "there is no file" in ran.err) == (2, True)
    assert cli("--log", log, "verify", "--json").json["sound"]


def test_verify_in_plain_words(cli: Cli, log: Path) -> None:
    assert "is intact" in cli("--log", log, "verify").out
    assert cli("--log", log, "verify", "--rebuild", "--json").json["sound"]
    cli("--log", log, "backup")
    log.write_bytes(log.read_bytes().replace(b"rebound", b"ribound", 3))
    ran = cli("--log", log, "verify")
    assert ran.status == 1
    assert "not what was written down" in ran.out
    assert "trackside restore" in ran.out
    new = log.with_name("new.trackside")
    saved = cli("--log", log, "verify", "--salvage", new, "--json").json
    assert saved["added"] > 10
    assert cli("--log", new, "list").status == 0
    assert cli("--log", log, "verify", "--salvage", new).status == 2
    said = cli("--log", log, "verify", "--salvage", log.with_name("newer.trackside")).out
    assert f"{saved['added']} intact revisions" in said


def test_verify_of_a_torn_file_names_the_way_out(cli: Cli, log: Path) -> None:
    log.write_bytes(log.read_bytes()[:20_000])
    ran = cli("--log", log, "verify")
    assert (ran.status, "Traceback" in ran.err) == (1, False)
    assert "--salvage" in ran.out + ran.err


def test_two_laptops_meet_through_bundles_and_a_folder(cli: Cli, log: Path, tmp_path: Path) -> None:
    other = Path(shutil.copy(log, tmp_path / "other.trackside"))
    for path, device, driver in ((log, "here", "Ines"), (other, "there", "Otto")):
        with Logbook.open(path, author=device, device=device) as logbook:
            logbook.write(
                patch("session", logbook.session("last"), {"driver": driver}), reason="sure"
            )
    bundle = tmp_path / "all.bundle"
    assert cli("--log", other, "bundle", "write", bundle, "--json").json["revisions"] > 10
    taken = cli("--log", log, "bundle", "read", bundle, "--json").json
    assert (taken["added"], taken["conflicts"], taken["problems"]) == (1, 1, [])
    assert cli("--log", log, "bundle", "read", bundle, "--json").json["added"] == 0
    [dispute] = cli("--log", log, "conflicts", "--json").json
    assert dispute["path"] == "driver"
    assert {version["value"] for version in dispute["versions"]} == {"Ines", "Otto"}
    shown = cli("--log", log, "conflicts").out
    assert "Ines" in shown
    assert "there" in shown
    with Logbook.open(log, author="chief") as logbook:
        logbook.settle(dispute["entity"], {"driver": "Otto"}, "asked both")
    assert "No conflicts." in cli("--log", log, "conflicts").out
    folder = tmp_path / "shared"
    folder.mkdir()
    assert cli("--log", log, "share", folder, "--json").json["given"] > 10
    assert cli("--log", other, "share", folder, "--json").json["taken"] == 2
    assert cli("--log", other, "export").out == cli("--log", log, "export").out
    assert cli("--log", other, "share", tmp_path / "none").status == 2


def test_bundle_refuses_the_wrong_file(cli: Cli, log: Path, tmp_path: Path) -> None:
    assert cli("--log", log, "bundle", "write", log).status == 2
    assert cli("--log", log, "bundle", "write", tmp_path).status == 2
    assert cli("--log", log, "bundle", "read", log).status == 2
    assert cli("--log", log, "verify", "--json").json["sound"]


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("FL.rebond", "did you mean FL.rebound_bleed?"),
        ("FL.bump", "did you mean FL.bump_bleed?"),
        ("drivr", "did you mean driver?"),
        ("ZZ", "name a corner (FL), FL.camber or driver"),
    ],
)
def test_history_of_what_is_no_value_says_so(cli: Cli, log: Path, path: str, told: str) -> None:
    ran = cli("--log", log, "history", "last", path)
    assert (ran.status, ran.out) == (2, "")
    assert f"“{path}” is no value of a session" in ran.err
    assert told in ran.err


def test_history_says_who_when_before_and_why(cli: Cli, log: Path) -> None:
    with Logbook.open(log, author="Mara") as logbook:
        session = logbook.session("last")
        before = (logbook.state(session) or {})["driver"]
        logbook.write(patch("session", session, {"driver": "Somebody"}), reason="typed wrong")
    shown = cli("--log", log, "history", "last", "driver").out
    assert f"{before} → Somebody" in shown
    assert "Mara: typed wrong" in shown
    entries = cli("--log", log, "history", "last", "driver", "--json").json
    assert entries[0]["changes"] == [{"path": "driver", "before": before, "after": "Somebody"}]
    assert len(entries) == 2
    first = entries[-1]["recorded_at"]
    then = cli("--log", log, "history", "last", "--at", first, "--json").json
    assert then["recorded"]["driver"] == before
    assert "nothing was recorded" in cli("--log", log, "history", "last", "--at", "1999-01-01").out
    for asked in ((), ("--at", first)):  # another record by its name, not by its code
        told = cli("--log", log, "history", "last", *asked).out
        for link, name in (("event", "Averholme"), ("car", "Coupé")):
            shown = next(line for line in told.splitlines() if line.split()[:1] == [link])
            assert name in shown
            assert then["recorded"][link] not in told
    assert "Nothing was ever" in cli("--log", log, "history", "last", "items.Nose weight").out
    assert cli("--log", log, "history", "last", "--at", "noon").status == 2


def test_two_that_write_under_one_name_are_said_and_told_apart(
    cli: Cli, log: Path, tmp_path: Path
) -> None:
    """A copied home: what to do is said where the other's work comes in, and by `verify`."""
    other, file = tmp_path / "copy.trackside", tmp_path / "stick.bundle"
    with Logbook.open(log, device="d") as logbook:
        logbook.write(put("note", {"words": "here"}))
    other.write_bytes(log.read_bytes())
    for path in (log, other):
        with Logbook.open(path, device="d") as logbook:
            logbook.write(put("note", {"words": path.name}))
    cli("--log", other, "bundle", "write", file)
    assert "run trackside new-name" in cli("--log", log, "bundle", "read", file).out
    shown = cli("--log", log, "verify")
    assert shown.status == 0
    assert "is intact" in shown.out
    assert "were given out twice" in shown.out
    assert cli("--log", log, "verify", "--json").json["held"]
    name = cli("--log", log, "new-name", "--json").json["name"]
    assert name[-6:] not in cli("--log", log, "new-name").out
    assert cli("--log", tmp_path / "none", "new-name").status == 2


def test_the_hubs_help_lists_the_options_of_a_meeting_and_what_a_keeper_should_know(
    cli: Cli,
) -> None:
    told = cli("hub", "--help").out
    for option in ("--team NAME", "--files", "--anew", "--json", "--help"):
        assert f"\n  {option}" in told or f", {option}" in told, option
    assert all(command in told for command in ("init", "set-aside", "status"))
    assert "comes back from a laptop that has it still" in " ".join(told.split())
