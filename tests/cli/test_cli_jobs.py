"""The job list from the command line, and on paper."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, put


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A logbook with two cars: a practice of the Coupé, then a race of the Tourer to come."""
    path = tmp_path / "team.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        coupe, tourer = (put("car", {"name": name}) for name in ("Coupé", "Tourer"))
        practice = {"kind": "practice", "start": "2026-05-09 10:00", "status": "done"}
        race = {"kind": "race", "start": "2026-05-09 15:00"}
        logbook.write(event, coupe, tourer)
        for body, car in ((practice, coupe), (race, tourer)):
            logbook.write(put("session", {**body, "event": event.entity, "car": car.entity}))
    return path


def _jobs(cli: Cli, log: Path, *arguments: str) -> list[dict[str, Any]]:
    return cli("--log", log, "jobs", *arguments, "--json").json["jobs"]


def test_a_job_is_added_ticked_changed_and_taken_away(cli: Cli, log: Path) -> None:
    assert cli("--log", log, "jobs").out == "No job is open.\n"
    [job] = _jobs(cli, log, "add", "Change pads", "--car", "coup", "--who", "Jo")
    assert (job["words"], job["who"], job["car"]) == ("Change pads", "Jo", "Coupé")
    assert (job["done"], job["ticked"], job["on_list"]) == (False, None, True)
    told = cli("--log", log, "jobs").out
    assert f"{job['id']}  Coupé  □ Change pads: Jo  from practice, Harrow Fen 2026-05-09" in told
    [done] = _jobs(cli, log, "done", job["id"])
    assert done["done"]
    assert done["ticked"]["author"]
    assert _jobs(cli, log) == []
    assert _jobs(cli, log, "--done") == [done | {"on_list": True}]
    assert not _jobs(cli, log, "reopen", job["id"])[0]["done"]
    [changed] = _jobs(cli, log, "edit", job["id"], "--words", "Front pads", "--who", "")
    assert (changed["words"], changed["who"]) == ("Front pads", None)
    gone = cli("--log", log, "jobs", "remove", job["id"])
    assert "taken off the list" in gone.out
    assert _jobs(cli, log, "--done") == []
    assert cli("--log", log, "verify").status == 0


def test_without_a_car_it_is_for_the_newest_run(cli: Cli, log: Path) -> None:
    [job] = _jobs(cli, log, "add", "Check hub")
    assert (job["car"], job["session"]) == (
        "Tourer",
        cli("--log", log, "list", "--limit", "1", "--json").json["sessions"][0]["id"],
    )
    [of_run] = _jobs(cli, log, "add", "Tape", "--session", "last-1")
    assert of_run["car"] == "Coupé"
    assert [one["words"] for one in _jobs(cli, log, "--car", "Coupé")] == ["Tape"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("add", "  "), "a job needs words"),
        (("add", "x", "--car", "Lorry"), "cars here: Coupé, Tourer"),
        (("add", "x", "--car", "Coupé", "--session", "last"), "race is a run of Tourer"),
        (("done", "ffffff"), "There is no job “ffffff”"),
        (("done",), "see trackside jobs done --help"),
        (("edit", "ffffff"), "give --words or --who"),
        (("--car", "Lorry"), "cars here"),
    ],
)
def test_what_cannot_be_used_writes_nothing(
    cli: Cli, log: Path, arguments: tuple[str, ...], told: str
) -> None:
    ran = cli("--log", log, "jobs", *arguments)
    assert (ran.status, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert told in ran.err
    assert _jobs(cli, log) == []


def test_several_are_ticked_in_one_step_or_none(cli: Cli, log: Path) -> None:
    ids = [_jobs(cli, log, "add", words)[0]["id"] for words in ("Tape", "Hub")]
    assert cli("--log", log, "jobs", "done", *ids, "ffffff").status == 2
    assert len(_jobs(cli, log)) == 2
    assert cli("--log", log, "jobs", "done", *ids).status == 0
    assert _jobs(cli, log) == []


def test_paper_and_show_have_the_jobs_with_boxes_and_say_what_is_to_be_set(
    cli: Cli, log: Path, tmp_path: Path
) -> None:
    _jobs(cli, log, "add", "Check [/hub", "--who", "Jo")
    told = cli("--log", log, "sheet", "last").out
    assert "JOBS BEFORE THIS RUN\n  □ Check [/hub: Jo" in told
    assert "not run yet: the settings are to be set on the car" in " ".join(told.split())
    assert "TO SET ON THE CAR, SEEN FROM ABOVE" in told
    page = tmp_path / "sheet.html"
    assert cli("--log", log, "sheet", "last", "--html", page).status == 0
    assert "□ Check [/hub: Jo" in page.read_text("utf-8")
    before = cli("--log", log, "sheet", "last-1").out
    assert "JOBS" not in before
    assert "THE CAR, SEEN FROM ABOVE" in before
    assert "not run yet" not in before
    shown = cli("--log", log, "show", "last")
    assert "job to do: Check [/hub: Jo" in shown.out
    assert "status: not run yet: the settings are to be set on the car" in shown.out
    body = cli("--log", log, "show", "last", "--json").json
    assert (body["ran"], [job["words"] for job in body["jobs"]]) == (False, ["Check [/hub"])
    listed = cli("--log", log, "list").out.splitlines()
    assert listed[1].endswith("not run yet")
    assert not listed[2].endswith("not run yet")


def test_jobs_go_out_and_come_in_again(cli: Cli, log: Path, tmp_path: Path) -> None:
    [job] = _jobs(cli, log, "add", "Check hub", "--who", "Jo")
    out, other = tmp_path / "out.json", tmp_path / "other.trackside"
    assert cli("--log", log, "export", out).status == 0
    assert cli("--log", other, "import", out).status == 0
    assert _jobs(cli, other) == [job]
