"""Backups by themselves: what is made, what goes, and that a bad one never costs a good one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import LogbookDamaged, LogbookFull
from trackside.logbook import Logbook, put, rotation
from trackside.logbook.backups_beside import Backup, backups, backups_of
from trackside.logbook.rotation import AT_ONCE, _let_go, keep_backups, superfluous

START = datetime(2026, 5, 9, 8, 0, tzinfo=UTC)


def note(words: str):
    return put("note", {"words": words})


def test_a_start_that_finds_something_new_makes_one(logbook: Logbook, path: Path) -> None:
    logbook.write(note("one"))
    first = keep_backups(logbook)
    assert first is not None
    assert first.parent == backups_of(path)
    assert keep_backups(logbook) is None
    logbook.write(note("two"))
    second = keep_backups(logbook)
    assert [backup.path for backup in backups(first.parent)] == [second, first]
    with Logbook.open(first) as older:
        assert older.verify()[:2] == (1, ())


def test_the_name_says_the_event(logbook: Logbook) -> None:
    event = put("event", {"venue": "Harrow Fen"})
    logbook.write(event, put("session", {"event": event.entity, "start": "2026-05-09 10:00"}))
    made = keep_backups(logbook, moment=START)
    assert made is not None
    assert made.name == f"000001-2026-05-09-080000-{event.entity[-6:]}.trackside"
    assert backups(made.parent)[0].event == event.entity[-6:]


def test_thirty_days_of_starts_are_thinned(logbook: Logbook, path: Path) -> None:
    for day in range(30):
        for hour in range(2):
            logbook.write(note(f"{day} {hour}"))
            keep_backups(logbook, moment=START + timedelta(days=day, hours=hour))
    left = backups(backups_of(path))
    assert [backup.number for backup in left[:10]] == list(range(60, 50, -1))
    assert len({backup.day for backup in left}) == 14
    assert len(left) == 10 + 9  # five days have two among the last ten
    for backup in left:
        with Logbook.open(backup.path, read_only=True) as copy:
            assert copy.verify()[:2] == (backup.number, ())


@given(
    st.lists(st.tuples(st.integers(0, 40), st.sampled_from(["", "aaaaaa", "bbbbbb"])), max_size=80)
)
def test_what_is_promised_is_kept(made: list[tuple[int, str]]) -> None:
    newest_first = [
        Backup(Path(str(number)), number, f"2026-05-{day:02d}", event)
        for number, (day, event) in reversed(list(enumerate(made)))
    ]
    gone = superfluous(newest_first)
    left = [backup for backup in newest_first if backup not in gone]
    assert left[:10] == newest_first[:10]
    assert {backup.event for backup in left} == {backup.event for backup in newest_first} or (
        {backup.event for backup in newest_first} - {backup.event for backup in left} == {""}
    )
    for event in {backup.event for backup in newest_first} - {""}:
        assert next(b for b in newest_first if b.event == event) in left
    days = {backup.day for backup in newest_first}
    assert len({backup.day for backup in left}) >= min(14, len(days))


@given(
    st.lists(st.tuples(st.integers(0, 40), st.sampled_from(["", "aaaaaa", "bbbbbb"])), max_size=80),
    st.integers(0, 40),
)
def test_what_is_kept_fits_into_its_room(made: list[tuple[int, str]], room: int) -> None:
    newest_first = [
        Backup(Path(str(number)), number, f"2026-05-{day:02d}", event)
        for number, (day, event) in reversed(list(enumerate(made)))
    ]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(rotation, "_size", lambda _: 1)
        gone = superfluous(newest_first, room)
    promised = [one for one in newest_first if one not in superfluous(newest_first)]
    left = [one for one in newest_first if one not in gone]
    assert set(left) <= set(promised)
    assert len(left) == min(len(promised), max(room, rotation.ALWAYS))
    assert left[: rotation.ALWAYS] == newest_first[: rotation.ALWAYS]
    assert left[: min(10, room)] == newest_first[: min(10, room)]


def test_no_backup_takes_the_room_that_saves_need(
    logbook: Logbook, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    free = [0]
    monkeypatch.setattr("shutil.disk_usage", lambda _: SimpleNamespace(free=free[0]))
    logbook.write(note("one"))
    with pytest.raises(LogbookFull, match=r"would leave less than \d+ MB free"):
        keep_backups(logbook)
    assert not backups_of(path).exists()
    logbook.write(note("saves go on"))
    free[0] = 10**9
    assert keep_backups(logbook)


def test_a_clock_that_steps_back_costs_nothing(logbook: Logbook, path: Path) -> None:
    for number in range(12):
        logbook.write(note(str(number)))
        keep_backups(logbook, moment=START if number < 11 else datetime(1970, 1, 1, tzinfo=UTC))
    newest = backups(backups_of(path))[0]
    assert (newest.number, newest.day) == (12, "1970-01-01")


def test_a_damaged_logbook_pushes_no_good_backup_out(path: Path) -> None:
    with Logbook.open(path) as logbook:
        logbook.write(note("rebound two clicks harder"))
        keep_backups(logbook)
    content = path.read_bytes().replace(b"two clicks harder", b"six clicks harder")
    path.write_bytes(content)
    with Logbook.open(path) as logbook:
        logbook.write(note("more"))
        with pytest.raises(LogbookDamaged, match="would not be sound"):
            keep_backups(logbook)
    assert len(backups(backups_of(path))) == 1
    assert len(list(backups_of(path).iterdir())) == 1


def test_other_files_in_the_folder_are_left_alone(logbook: Logbook, path: Path) -> None:
    folder = backups_of(path)
    folder.mkdir()
    (folder / "mine.trackside").write_text("precious")
    for number in range(30):
        logbook.write(note(str(number)))
        keep_backups(logbook, moment=START)
    assert (folder / "mine.trackside").read_text() == "precious"
    assert len(backups(folder)) == 10


def test_a_mirror_of_hard_links_stays_whole(tmp_path: Path) -> None:
    """`cp -al` is how many keep a second set; thinning takes the name, not what others hold."""
    path = tmp_path / "000001.trackside"
    path.write_bytes(b"x" * (3 * AT_ONCE))
    mirror = path.with_name("mirror")
    mirror.hardlink_to(path)
    _let_go(path)
    assert not path.exists()
    assert mirror.stat().st_size == 3 * AT_ONCE
