"""One bad record takes nothing else away: every command goes on, and names it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.running import ran
from tests.unreadable import WRONG, whole_bodies, write_unreadable
from trackside.logbook import Logbook, patch, put

COMMANDS: dict[str, tuple[tuple[str, ...], bool]] = {
    "list": ((), False),
    "show": (("last",), True),
    "sheet": (("last",), True),
    "debrief": (("last",), True),
    "curve": (("SAMPLE", "FL"), True),
    "clicks": (("SAMPLE", "FL"), True),
    "axles": (("SAMPLE",), True),
    "road": (("SAMPLE", "--class", "B", "--speed", "120"), True),
    "changes": ((), True),
    "trend": (("FL",), True),
    "find": (("dry",), True),
    "history": (("last", "driver"), False),
    "conflicts": ((), False),
    "where": ((), False),
    "verify": ((), False),
    "revalve": (("TW-2241", "--at", "12"), True),
    "look": ((), True),
}
"""Every command that reads, what it is asked, and whether it reads records that cannot be read."""


@pytest.fixture
def log(samples_log: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(samples_log, tmp_path / "team.trackside"))


@pytest.mark.parametrize(
    "turn", [0, 5, *(pytest.param(n, marks=pytest.mark.long) for n in range(1, len(WRONG)))]
)
def test_every_command_goes_on_and_names_what_cannot_be_read(log: Path, turn: int) -> None:
    with Logbook.open(log, read_only=True) as logbook:
        sample = logbook.session("last")[-6:]
    unread = write_unreadable(log, turn)
    assert all(unread.values()), "each kind has some"
    for command, (asked, meets) in COMMANDS.items():
        words = [sample if word == "SAMPLE" else word for word in asked]
        plain = ran("--log", log, command, *words)
        assert plain.status == 0, (command, plain.err[-500:])
        assert plain.out.strip(), command
        assert "Traceback" not in plain.err
        assert bool(plain.err) == meets, (command, plain.err[:300])
        told = ran("--log", log, command, *words, "--json")
        assert told.status == 0, (command, told.err[-500:])
        found = told.json
        assert isinstance(found, list) or bool(found.get("problems")) == meets, command
    for name, more in {"a.json": (), "b.csv": ("--csv",), "c.csv": ("--wide",)}.items():
        assert ran("--log", log, "export", log.parent / name, *more).status == 0


def test_a_note_of_a_wider_scale_is_shown_without_its_balance(log: Path) -> None:
    with Logbook.open(log, author="newer", device="newer") as logbook:
        session = logbook.session("last")
        logbook.write(put("note", {"session": session, "words": "It swims.", "balance": 5}))
    told = ran("--log", log, "debrief", "last")
    assert (told.status, "“It swims.”" in told.out) == (0, True)
    assert "note “It swims.” is shown without balance" in told.err
    assert "note “It swims.” is shown without balance" in told.out
    shown = ran("--log", log, "show", "last", "--json")
    assert any("without balance" in problem for problem in shown.json["problems"])


def test_a_number_that_is_no_reading_takes_no_session_away(log: Path) -> None:
    with Logbook.open(log, author="newer", device="newer") as logbook:
        session = logbook.session("last")
        logbook.write(patch("session", session, {"number": "7", "FL.camber": 5}))
    for command in (("show", "last"), ("sheet", "last"), ("debrief", "last"), ("changes",)):
        told = ran("--log", log, *command)
        assert told.status == 0, command
        assert "is shown without number: " in told.err
        assert "FL.camber: " in told.err
        assert "FP-0" in told.out or "rebound" in told.out, command


def test_what_nothing_is_left_of_is_named_and_left_out(log: Path) -> None:
    with Logbook.open(log, author="newer", device="newer") as logbook:
        session = logbook.session("last")
        logbook.write(*(put(kind, {**body, "session": session}) for kind, body in whole_bodies()
                        if kind != "session"))  # fmt: skip
    told = ran("--log", log, "sheet", "last")
    assert told.status == 0
    for kind in ("car", "damper", "build"):
        assert f"{kind} …" in told.err
        assert "is left out" in told.err


def test_it_can_be_put_right_and_is_then_named_no_more(log: Path) -> None:
    with Logbook.open(log, author="newer", device="newer") as logbook:
        session = logbook.session("last")
        logbook.write(patch("session", session, {"number": "7"}))
        logbook.record(session)
        assert [one.kind for one in logbook.unread.of()] == ["session"]
        logbook.write(patch("session", session, {"number": {"typed": "7", "unit": "", "si": 7.0}}))
        logbook.record(session)
        assert logbook.unread.of() == ()
