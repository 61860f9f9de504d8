"""Lap times of a timing sheet put into a session; what cannot be used writes nothing."""

from __future__ import annotations

import codecs
from datetime import date
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, put
from trackside.logbook.column_names import OF_LAPS, columns_file, known_columns

TEXT = "lap;lap time\n1;1:52,4 out\n2;1:35,2\n3;1:34,9\n"
LAPS = ["1:52,4 out", 95.2, 94.9]


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A logbook with a planned session of today."""
    path = tmp_path / "team.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": date.today().isoformat()})
        logbook.write(event, put("session", {"kind": "race", "event": event.entity}))
    return path


def sheet(tmp_path: Path, content: str | bytes = TEXT) -> Path:
    path = tmp_path / "laps.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def revisions(log: Path) -> object:
    """How far the logbook has grown."""
    with Logbook.open(log, read_only=True) as logbook:
        return logbook.extent()


@pytest.mark.parametrize(
    "content",
    [TEXT, codecs.BOM_UTF8 + TEXT.encode(), TEXT.encode("utf-16"), TEXT.replace(";", "\t"),
     TEXT.encode("utf-16-le"), TEXT.replace(",", ".").replace(";", ",")],
)  # fmt: skip
def test_laps_are_written_and_said(
    cli: Cli, log: Path, tmp_path: Path, content: str | bytes
) -> None:
    ran = cli("--log", log, "laps", sheet(tmp_path, content))
    assert (ran.status, ran.err) == (0, "")
    assert "3 laps written" in ran.out
    assert "lap times: 2 timed laps, best 1:34.900" in ran.out
    shown = cli("--log", log, "show", "last", "--json").json
    assert [str(lap).replace(".4", ",4") for lap in shown["lap_times_s"]] == list(map(str, LAPS))
    assert shown["session"]["status"] == "done"
    assert (shown["values"]["best_lap"], shown["values"]["laps"]) == (None, None)
    assert "lap times from laps.csv" in cli("--log", log, "history", "last").out


def test_the_same_laps_write_nothing_and_others_need_a_word(
    cli: Cli, log: Path, tmp_path: Path
) -> None:
    at = ("--log", log, "laps", sheet(tmp_path))
    first = cli(*at, "--json").json
    assert (first["written"], first["lap_times_s"]) == (True, LAPS)
    before = revisions(log)
    assert cli(*at, "--json").json["written"] is False
    assert "nothing written" in cli(*at).out
    sheet(tmp_path, TEXT.replace("1:34,9", "1:33,9"))
    refused = cli(*at)
    assert (refused.status, refused.out) == (2, "")
    assert "this session has 3 lap times already: --instead" in refused.err
    assert revisions(log) == before
    assert cli(*at, "--instead", "--json").json["from_lap_times"]["best_lap_s"] == 93.9
    assert revisions(log) != before


def test_a_correction_after_the_event_needs_its_reason(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    log = tmp_path / "season.trackside"
    log.write_bytes(samples_log.read_bytes())
    at = ("--log", log, "laps", sheet(tmp_path), "last", "--instead")
    before = revisions(log)
    refused = cli(*at)
    assert (refused.status, refused.out) == (2, "")
    assert "needs its reason: give it with --reason" in refused.err
    assert revisions(log) == before
    assert cli(*at, "--reason", "the watch was wrong").status == 0
    assert "laps.csv: the watch was wrong" in cli("--log", log, "history", "last").out
    assert "! best_lap: " in cli("--log", log, "show", "last").out


def test_a_heading_of_their_own_is_said_once(cli: Cli, log: Path, tmp_path: Path) -> None:
    path = sheet(tmp_path, TEXT.replace("lap time", "Zeit").replace("lap;", "Runde;"))
    refused = cli("--log", log, "laps", path)
    assert (refused.status, refused.out) == (2, "")
    assert "no column of lap times that is known" in refused.err
    assert "--columns" in refused.err
    wrong = cli("--log", log, "laps", path, "--columns", "Runde=lap;Zeit=ignore")
    assert (wrong.status, known_columns(OF_LAPS)) == (2, ())
    assert cli("--log", log, "laps", path, "--columns", "Zeit=lap_time").status == 0
    assert known_columns(OF_LAPS) == ({"zeit": "lap_time"},)
    assert columns_file(OF_LAPS) != columns_file()
    assert cli("--log", log, "laps", path, "--json").json["written"] is False


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"PK\x03\x04rest", "is a workbook or an archive"),
        (b"\x00\x01\x02\x03", "is not text"),
        ("lap time\n1:35.2\n".encode("utf-16")[:-1], "is not whole"),
        (b"speed,force\n100,500\n", "no column of lap times"),
        (b"lap,lap time\n1,1:35.2\n2", "breaks off"),
    ],
)
def test_what_cannot_be_used_writes_nothing(
    cli: Cli, log: Path, tmp_path: Path, content: bytes, told: str
) -> None:
    before = revisions(log)
    ran = cli("--log", log, "laps", sheet(tmp_path, content))
    assert (ran.status, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert told in ran.err
    assert ran.err.startswith("trackside: laps.csv")
    assert revisions(log) == before


def test_a_wrong_name_writes_nothing(cli: Cli, log: Path, tmp_path: Path) -> None:
    before = revisions(log)
    for arguments, told in (
        ((tmp_path / "none.csv",), "there is no file"),
        ((tmp_path,), "is a folder"),
        ((sheet(tmp_path), "last-7"), "There is no session"),
        ((sheet(tmp_path), "last", "--only", "No"), "does not say which rows"),
        ((sheet(tmp_path), "last", "--columns", "No"), "does not say what a column is"),
    ):
        ran = cli("--log", log, "laps", *arguments)
        assert (ran.status, ran.out) == (2, ""), told
        assert told in ran.err
    assert revisions(log) == before
    assert cli("--log", tmp_path / "no.trackside", "laps", sheet(tmp_path)).status == 2
    assert not (tmp_path / "no.trackside").exists()
