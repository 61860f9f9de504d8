"""conflicts, settle, and a session as of a time, through the command line."""

from __future__ import annotations

import shutil
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, drop, patch, put


@pytest.fixture
def log(samples_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample weekends, in which two windows set one value and one dropped another."""
    path = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    with (
        Logbook.open(path, author="Mara", device="here") as one,
        Logbook.open(path, author="Otto", device="here") as two,
    ):
        session = one.session("last")
        for window in (one, two):
            window.take_up(session)
        camber = {"typed": "-3,1", "unit": "deg", "si": -3.1}
        one.write(patch("session", session, {"FL.camber": camber}), reason="measured")
        two.write(patch("session", session, {"FL.camber": camber | {"typed": "-2,9", "si": -2.9}}))
    return path


def test_conflicts_are_named_with_both_sides_and_what_stood_before(cli: Cli, log: Path) -> None:
    shown = cli("--log", log, "conflicts").out
    assert shown[4:].startswith("  FL camber  (")
    for words in ("before  ", "a       ", "b       ", "-3,1 deg", "-2,9 deg", "Mara", ": measured"):
        assert words in shown
    [found] = cli("--log", log, "conflicts", "--json").json
    assert (found["name"], found["path"]) == (shown[:4], "FL.camber")
    assert [version["version"] for version in found["versions"]] == ["a", "b"]


@pytest.mark.parametrize(("given", "typed"), [(("a",), None), (("--value", "-3.0"), "-3.0")])
def test_a_decision_is_a_revision_with_its_reason(
    cli: Cli, log: Path, given: tuple[str, ...], typed: str | None
) -> None:
    [found] = cli("--log", log, "conflicts", "--json").json
    settled = cli(
        "--log", log, "settle", found["name"], *given, "--why", "gauge read twice", "--json"
    ).json
    assert settled["conflicts"] == 0
    assert settled["value"]["typed"] == (typed or found["versions"][0]["value"]["typed"])
    with Logbook.open(log, read_only=True) as logbook:
        [entry, *_] = logbook.history(found["entity"], "FL.camber")
        assert entry.reason == "gauge read twice"
        assert entry.changes == {} or entry.changes["FL.camber"][1]["typed"]
        assert (logbook.state(found["entity"]) or {})["FL"]["camber"] == settled["value"]
        assert logbook.verify().problems == ()
    assert cli("--log", log, "conflicts").out == "No conflicts.\n"


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("1", "a"), "no conflict 1"),
        (("0", "a"), "no conflict 0"),
        (("", "a"), "no conflict"),
        (("NAME", "c"), "no version"),
        (("NAME",), "name one version"),
        (("NAME", "a", "--value", "3"), "name one version"),
    ],
)
def test_what_cannot_be_settled_says_so(
    cli: Cli, log: Path, given: tuple[object, ...], words: str
) -> None:
    [found] = cli("--log", log, "conflicts", "--json").json
    ran = cli("--log", log, "settle", *(found["name"] if g == "NAME" else g for g in given))
    assert (ran.status, words in ran.err) == (2, True)
    assert len(cli("--log", log, "conflicts", "--json").json) == 1


def test_names_stay_when_another_conflict_is_settled_and_end_with_a_new_side(
    cli: Cli, log: Path
) -> None:
    with (
        Logbook.open(log, author="Mara", device="here") as one,
        Logbook.open(log, author="Otto", device="here") as two,
        Logbook.open(log, author="Ida", device="here") as three,
    ):
        session = one.session("last-1")
        for window in (one, two, three):
            window.take_up(session)
        for window, driver in ((one, "Kim"), (two, "Lou")):
            window.write(patch("session", session, {"driver": driver, "track": driver}))
        shown = cli("--log", log, "conflicts", "--json").json
        assert len(shown) == 3
        first, *others = sorted(shown, key=lambda found: found["path"] == "driver", reverse=True)
        cli("--log", log, "settle", first["name"], "a")
        left = cli("--log", log, "conflicts", "--json").json
        assert {(f["name"], f["path"]) for f in left} == {(f["name"], f["path"]) for f in others}
        again = cli("--log", log, "settle", first["name"], "a")
        assert (again.status, "no conflict" in again.err) == (2, True)
        track = next(found for found in left if found["path"] == "track")
        three.write(patch("session", session, {"track": "Max"}))
    stale = cli("--log", log, "settle", track["name"], "b")
    assert (stale.status, "no conflict" in stale.err) == (2, True)
    assert len(cli("--log", log, "conflicts", "--json").json) == 2


def test_what_another_window_dropped_is_not_written_on(cli: Cli, log: Path) -> None:
    with (
        Logbook.open(log, device="here") as one,
        Logbook.open(log, device="here") as two,
    ):
        session = one.session("last-1")
        for window in (one, two):
            window.take_up(session)
        two.write(drop("session", session))
        with pytest.raises(Exception, match="not in the logbook"):
            one.write(patch("session", session, {"driver": "Kim"}))


def test_a_session_as_of_a_time(cli: Cli, samples_log: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    with Logbook.open(path, author="Mara") as logbook:
        session = logbook.session("last")
        before = (logbook.state(session) or {})["driver"]
        time.sleep(0.01)
        then = datetime.now(UTC)
        time.sleep(0.01)
        logbook.write(patch("session", session, {"driver": "Somebody"}))
    local = then.astimezone().replace(tzinfo=None).isoformat()
    for at in (then.isoformat(), local):
        shown = cli("--log", path, "show", "last", "--as-of", at, "--json").json
        assert shown["values"]["driver"] == before
    assert cli("--log", path, "show", "last", "--json").json["values"]["driver"] == "Somebody"
    assert "as recorded by" in cli("--log", path, "show", "last", "--as-of", local).out
    early = cli("--log", path, "show", "last", "--as-of", "1999-01-01")
    assert (early.status, "nothing of this session" in early.err) == (2, True)
    assert cli("--log", path, "show", "last", "--as-of", "noon").status == 2


@pytest.mark.parametrize("given", [("b",), ("--value", "NEW-2")])
def test_a_damper_that_two_laptops_entered_is_decided_upon(
    cli: Cli, tmp_path: Path, given: tuple[str, ...]
) -> None:
    log = tmp_path / "team.trackside"
    with (
        Logbook.open(log, author="Mara", device="here") as here,
        Logbook.open(tmp_path / "theirs", author="Otto", device="there") as there,
    ):
        here.write(put("damper", {"serial": "NEW-1", "model": "Type 1"}))
        there.write(put("damper", {"serial": "new-1", "place": "spares"}))
        here.take(there.lines(), via="bundle")
    shown = cli("--log", log, "conflicts").out
    for words in ("entered twice  (damper NEW-1", "now     a counts, until it is decided",
                  "model: Type 1; place: empty", "place: spares", "Mara", "Otto"):  # fmt: skip
        assert words in shown
    [found] = cli("--log", log, "conflicts", "--json").json
    settled = cli("--log", log, "settle", found["name"], *given, "--why", "asked", "--json").json
    assert settled["conflicts"] == 0
    with Logbook.open(log, read_only=True) as logbook:
        bodies = [body for _, body in logbook.all("damper")]
    if given == ("b",):
        assert bodies == [{"serial": "new-1", "place": "spares", "model": "Type 1"}]
    else:
        assert sorted(body["serial"] for body in bodies) == ["NEW-1", "NEW-2"]
