"""Rules of a line each: whose reading goes, which session comes next, what a sheet is called."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from tests.analysis.garage import SHED, corner, session
from tests.crew.test_sheet_adding import BUILD, SERIOUS, SHEET, intake
from trackside.analysis.shed import Shed
from trackside.analysis.sheet_change import SheetChange
from trackside.crew import error_log, moments
from trackside.crew.corrections import Corrections, ReasonWanted
from trackside.crew.deciding import value_typed
from trackside.crew.lap_adding import MOST_BYTES, laps_in_file, put_laps
from trackside.crew.listener import Listener
from trackside.crew.notes import change_body, note_body
from trackside.crew.sheet_adding import SEEN, add_sheet, let_count
from trackside.crew.sheet_file import sheet_of
from trackside.crew.signing import Signing
from trackside.crew.swapping import rebuilt, swapped
from trackside.crew.turning import uneven
from trackside.crew.workspace import Workspace
from trackside.errors import BadInput, BadRecord, TracksideError
from trackside.logbook import Logbook, dampers, put
from trackside.preferences import Preferences
from trackside.records import Adjuster, Reading


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        yield logbook


def add(logbook: Logbook, kind: str, /, **body: object) -> str:
    write = put(kind, body)
    logbook.write(write)
    return write.entity


# ── after an event ──────────────────────────────────────────────────────────────────────────────


def test_an_event_is_over_the_day_after_its_newest_session_or_its_own_day(
    logbook: Logbook,
) -> None:
    event = add(logbook, "event", venue="Harrow Fen", date="2026-05-09")
    for today, over in (("2026-05-08", False), ("2026-05-09", False), ("2026-05-10", True)):
        found = Corrections(logbook, lambda day=today: date.fromisoformat(day))  # type: ignore[misc]
        assert found.last_day(event) == "2026-05-09"
        assert found.is_over(event) == over
    found = Corrections(logbook, lambda: date(2026, 5, 11))
    assert found.last_day("nothing") == ""
    assert not found.is_over("nothing")
    assert not found.is_over("")
    assert found.last_day("") == ""


def test_a_reason_is_asked_for_what_stood_there_once_an_event_is_over(logbook: Logbook) -> None:
    event = add(logbook, "event", venue="Harrow Fen", date="2026-05-09")
    found = Corrections(logbook, lambda: date(2026, 5, 11))
    for nothing in (None, "", ()):
        assert found.reason("s", event, nothing) == ""
    assert found.reason("s", event, "Ann") is None
    found.give("s", "typed wrong")
    assert found.reason("s", event, "Ann") == "typed wrong"
    assert found.reason("t", event, "Ann") is None
    during = Corrections(logbook, lambda: date(2026, 5, 9))
    assert during.reason("s", event, "Ann") == ""


def test_an_event_that_goes_on_is_looked_at_again(logbook: Logbook) -> None:
    event = add(logbook, "event", venue="Harrow Fen", date="2026-05-09")
    found = Corrections(logbook, lambda: date(2026, 5, 10))
    assert found.is_over(event)
    add(logbook, "session", event=event, start="2026-05-10 09:00")
    assert found.is_over(event), "as it was looked up"
    found.look_again()
    assert not found.is_over(event)


def test_the_event_of_the_newest_session_may_be_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    monkeypatch.setattr(moments, "today", lambda: date(2026, 5, 10))
    assert not workspace.event_is_over()
    event = add(workspace.logbook, "event", venue="Harrow Fen", date="2026-05-10")
    entity = add(workspace.logbook, "session", event=event, start="2026-05-10 09:00", driver="Ann")
    assert not workspace.event_is_over()
    workspace.take(entity)
    assert workspace.why("driver") == ""
    monkeypatch.setattr(moments, "today", lambda: date(2026, 5, 11))
    assert workspace.event_is_over()
    with pytest.raises(ReasonWanted):
        workspace.why("driver")
    assert workspace.why("tyre_set") == "", "nothing stood there"
    workspace.close()


# ── the current session ─────────────────────────────────────────────────────────────────────────


def test_a_planned_session_with_something_that_only_a_run_gives_has_run(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    for path, text, status in (
        ("FL.hot_pressure", "1.9", "done"),
        ("lap_times", "1:35.2", "done"),
        ("FL.cold_pressure", "1.5", "planned"),
        ("status", "aborted", "aborted"),
        ("laps", "0", "planned"),
    ):
        workspace.take(add(workspace.logbook, "session", kind="practice", start="2026-05-09 10:20"))
        assert workspace.keep_text(path, text)
        assert workspace.session.status == status
        assert not workspace.keep_text(path, text), "the same is no change"
    assert workspace.flush() == []
    workspace.close()


def test_a_serial_goes_with_the_build_that_it_has_today(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    workspace.take(add(workspace.logbook, "session", kind="practice", start="2026-05-09 10:20"))
    workspace.keep_text("FL.damper", "HARD")
    assert workspace.session.FL.build is None, "no shed, no build"
    later = SHED.builds[0].model_copy(update={"version": "B"})
    workspace.shed = Shed(SHED.dampers, (*SHED.builds, later), SHED.sheets, SHED.cars)
    workspace.keep_text("FR.damper", "hard")
    assert workspace.session.FR.build == "B"
    workspace.keep_text("FR.damper", "NEW")
    assert workspace.session.FR.build is None
    workspace.close()


def test_what_another_window_wrote_is_read_again_once(tmp_path: Path) -> None:
    path = tmp_path / "log.trackside"
    workspace = Workspace(path, Preferences(author="ann"), Listener())
    entity = add(workspace.logbook, "session", kind="practice", start="2026-05-09 10:20")
    workspace.take(entity)
    workspace.catch_up()
    assert not workspace.catch_up()
    other = Workspace(path, Preferences(author="ben"), Listener())
    other.take(entity)
    other.keep_text("driver", "Ben")
    assert other.flush() == []
    other.close()
    assert workspace.catch_up()
    assert workspace.session.driver == "Ben"
    assert not workspace.catch_up()
    older = add(workspace.logbook, "session", kind="practice", start="2026-05-08 10:20")
    assert workspace.take_newest()
    assert workspace.entity == entity
    workspace.take(older)
    workspace.again()
    assert workspace.entity == older
    workspace.close()


def test_the_session_before_is_that_of_the_same_car(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    cars = [add(workspace.logbook, "car", name=name) for name in ("Coupé", "Tourer")]
    for hour, car, driver in ((9, 0, "Ann"), (10, 1, "Ben"), (11, 0, "Cid")):
        entity = add(workspace.logbook, "session", car=cars[car], driver=driver, kind="practice",
                     start=f"2026-05-09 {hour:02d}:00")  # fmt: skip
        workspace.take(entity)
        before = workspace.before.driver if workspace.before else ""
        assert before == ("Ann" if hour == 11 else "")
    bare = add(workspace.logbook, "session", kind="practice", start="2026-05-09 12:00")
    workspace.take(bare)
    assert workspace.before is None
    workspace.close()


# ── sheets ──────────────────────────────────────────────────────────────────────────────────────


def test_a_sheet_is_called_by_its_file_in_the_history() -> None:
    assert add_sheet(intake(SHEET), BUILD).reason == "dyno sheet HARD.csv"
    assert SEEN == "warnings of the dyno sheet seen"


def test_a_sheet_that_lost_force_names_the_directions() -> None:
    def change(direction: str, mean: float) -> SheetChange:
        return SheetChange(direction, (8.0,), None, None, mean, 0.01, None)  # type: ignore[arg-type]

    changes = {d: change(d, mean) for d, mean in (("bump", -0.1), ("rebound", 0.1))}
    judged = intake(SHEET)
    found = add_sheet(type(judged)(SHEET, {}, SHEET, changes), BUILD)  # type: ignore[arg-type]
    assert [one.direction for one in found.lost] == ["bump"]


def test_a_sheet_is_let_count_by_its_builds_record(logbook: Logbook) -> None:
    add(logbook, "damper", serial="HARD")
    build = add(logbook, "build", **BUILD.body())
    names = [add(logbook, "sheet", **one.model_copy(update={"date": f"2026-0{n}-01"}).body())
             for n, one in ((4, SHEET), (5, SERIOUS), (6, SHEET))]  # fmt: skip
    shed = Shed.of(logbook)
    found = shed.build("HARD")
    assert found is not None
    assert dampers.records_of(logbook, "HARD")["build"] == build
    assert let_count(logbook, found, shed, names[2]) == let_count(logbook, found, shed, names[2])
    [write] = let_count(logbook, found, shed, names[0])
    assert (write.entity, write.body) == (build, {"sheet": names[0]})


def test_how_a_sheet_counts_is_said_or_left_to_the_build(tmp_path: Path) -> None:
    answers = {"path": f"{tmp_path}/a.csv", "date": "2026-05-09", "counted": "", "gas": "",
               "charge": "", "zeroed": ""}  # fmt: skip
    rows = "".join(f"{p},bump,{v},{v * 9 - p}\n" for p in (0, 10) for v in (25, 50, 100))
    (tmp_path / "a.csv").write_text(f"position,direction,mm/s,N\n{rows}")
    assert sheet_of(BUILD, answers).counted_from is None
    assert sheet_of(BUILD, {**answers, "counted": " Hard "}).counted_from == "hard"


def test_columns_that_a_person_named_are_known_the_next_time(tmp_path: Path) -> None:
    answers = {"path": f"{tmp_path}/a.csv", "date": "2026-05-09", "counted": "", "gas": "",
               "charge": "", "zeroed": ""}  # fmt: skip
    rows = "".join(f"{p},{v},{v * 9 - p}\n" for p in (0, 10) for v in (25, 50, 100))
    (tmp_path / "a.csv").write_text(f"aaa,bbb,ccc\n{rows}")
    with pytest.raises(TracksideError):
        sheet_of(BUILD, answers)
    said = {"aaa": "position", "bbb": "speed_mm_s", "ccc": "bump_force_N"}
    first = sheet_of(BUILD, answers, said)
    assert sheet_of(BUILD, answers).rows == first.rows
    assert {row.position for row in first.rows} == {0.0, 10.0}


# ── dampers, knobs, notes ───────────────────────────────────────────────────────────────────────


def test_the_count_of_a_damper_that_nobody_knew_stays(logbook: Logbook) -> None:
    """Nothing is known to differ."""
    before = session(corner("NEW", 8, 6))
    after = before.with_value("FL.damper", "HARD")
    assert swapped(before, after, "FL", SHED).cleared == ()
    gas = Reading.of_text("16", "pressure", "bar")
    read = before.with_value("FL.gas_pressure", gas)
    found = swapped(read, read.with_value("FL.damper", "HARD"), "FL", SHED)
    assert found.cleared == ("FL.gas_pressure",)
    assert found.before == ""


def test_another_build_of_the_same_damper_loses_what_was_read_of_the_first() -> None:
    gas = Reading.of_text("16", "pressure", "bar")
    before = session(FL=corner("HARD", 8, 6, build="A", gas_pressure=gas))
    found = swapped(before, before.with_value("FL.build", "B"), "FL", SHED)
    assert "FL.gas_pressure" in found.cleared
    assert found.before == "A"
    assert not found.known
    same = swapped(before, before.with_value("FL.build", "a"), "FL", SHED)
    assert same.cleared == ()


def test_a_damper_in_its_newest_build_is_not_offered_another() -> None:
    later = SHED.builds[0].model_copy(update={"version": "B"})
    shed = Shed(SHED.dampers, (*SHED.builds, later), SHED.sheets, SHED.cars)
    now = session(corner("TWIN"), FL=corner("HARD", build="B"), RR=corner(None))
    assert rebuilt(now, shed) == []
    found = rebuilt(session(corner("TWIN"), RL=corner("HARD", build="A")), shed)
    assert [(one.corner, one.damper, one.carried.version) for one in found] == [("RL", "HARD", "A")]


def knob(counted: str, clicks: int = 20) -> Adjuster:
    return Adjuster(acts_on="bump_bleed", clicks=clicks, counted_from=counted)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("here", "beside", "said"),
    [
        ((8, "hard"), (10, "hard"), "FL 8, FR 10 from hard: uneven by 2 clicks"),
        ((8, "soft"), (7, "soft"), "FL 8, FR 7 from soft: uneven by 1 click"),
        ((8, "hard"), (8, "hard"), ""), ((8, "hard"), (12, "soft"), ""),
        ((8, "soft"), (10, "hard"), "FL 12, FR 10 from hard: uneven by 2 clicks"),
        ((8, "hard"), (10, "soft"), "FL 8, FR 10 from hard: uneven by 2 clicks"),
        ((0.3, "hard"), (0.1 + 0.2, "hard"), ""), ((None, "hard"), (10, "hard"), ""),
        ((8, "hard"), (None, "hard"), ""), ((8, ""), (10, "hard"), ""), ((8, "hard"), (10, ""), ""),
    ],
)  # fmt: skip
def test_two_knobs_of_an_axle_that_stand_differently(
    here: tuple[float | None, str], beside: tuple[float | None, str], said: str
) -> None:
    stands = [(at, count, knob(end) if end else None)
              for at, (count, end) in (("FL", here), ("FR", beside))]  # fmt: skip
    assert uneven(*stands) == said
    other = ("FR", 10.0, knob("hard", 16))
    assert uneven(("FL", 8.0, knob("hard")), other) == "", "of other clicks nothing is compared"


ANSWERS = {"words": "", "phase": "", "turn": "", "balance": "", "rating": ""}


@pytest.mark.parametrize(
    ("name", "typed", "kept"),
    [
        ("balance", "-3", -3), ("balance", "3", 3), ("balance", "-4", None), ("balance", "4", None),
        ("balance", "0", 0), ("rating", "1", 1), ("rating", "10", 10), ("rating", "0", None),
        ("rating", "11", None), ("rating", "7.5", None), ("rating", "good", None),
    ],
)  # fmt: skip
def test_a_scale_has_its_ends(name: str, typed: str, kept: int | None) -> None:
    body, said = note_body({**ANSWERS, "words": "It skips.", name: typed}, "s", "Ann")
    assert body.get(name) == kept
    assert body["words"] == ("It skips." if kept is not None else f"It skips.\n{name} {typed}")
    assert said == (
        "" if kept is not None else f"{name} {typed} could not be read and was left in the words"
    )


def test_a_verdict_and_its_words() -> None:
    answers = {"what": "bar", "reason": " push ", "verdict": "better", "verdict_words": "calm"}
    body = change_body(answers, "s")
    assert (body["verdict"], body["verdict_words"], body["reason"]) == ("better", "calm", "push")
    body = change_body({**answers, "verdict": "so so"}, "s")
    assert body.get("verdict", "") == ""
    assert body["verdict_words"] == "so so calm"


def test_a_decision_of_a_note_is_checked_as_a_note_is() -> None:
    with pytest.raises(BadRecord):
        value_typed("note", "rating", "99", {"session": "s"}, Preferences())
    assert value_typed("note", "rating", "9", {"session": "s"}, Preferences()) == 9
    assert value_typed("note", "balance", "-2", {"session": "s"}, Preferences()) == -2
    assert value_typed("note", "turn", "  ", {"session": "s"}, Preferences()) is None
    with pytest.raises(BadInput, match="this asks whether to keep it or take it off"):
        value_typed("note", "", "x", {}, Preferences())


@pytest.mark.mishaps
def test_the_log_of_errors_names_what_ran() -> None:
    path = error_log.note(ValueError("odd"))
    assert path is not None
    head = path.read_text("utf-8").split("\n")[0].split()
    assert head[0].startswith("20")
    assert head[1::2] == ["trackside", "textual", "Python"]
    assert all(version[0].isdigit() for version in head[2::2])


@pytest.mark.mishaps
def test_an_error_is_written_down_where_no_folder_was_yet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRACKSIDE_DATA", str(tmp_path / "new" / "deeper"))
    for count in (1, 2):
        path = error_log.note(ValueError("odd"))
        assert path == tmp_path / "new" / "deeper" / error_log.NAME
        assert path.read_text("utf-8").count("ValueError: odd") == count


# ── laps of a file, the name that signs ─────────────────────────────────────────────────────────


def test_laps_of_a_file_are_put_into_a_session_once(logbook: Logbook) -> None:
    event = add(logbook, "event", venue="Harrow Fen", date="2026-05-09")
    entity = add(logbook, "session", event=event, kind="practice", start="2026-05-09 09:00")
    laps = (95.2, "in", 94.9)
    assert put_laps(logbook, entity, laps, "a.csv")
    now = logbook.session_record(entity)
    assert now.lap_times == laps
    assert now.status == "done", "a session with laps has run"
    assert logbook.history(entity)[0].reason == "lap times from a.csv"
    assert not put_laps(logbook, entity, laps, "a.csv"), "the same is no change"
    with pytest.raises(BadInput) as refused:
        put_laps(logbook, entity, laps[:1], "b.csv")
    assert refused.value.cause == "this session has 3 lap times already"
    assert refused.value.remedy == "--instead puts these in their place"
    with pytest.raises(BadInput) as refused:  # the event is long over
        put_laps(logbook, entity, laps[:1], "b.csv", instead=True, why=" ")
    assert refused.value.cause == "a correction after the event needs its reason"
    assert refused.value.remedy == "give it with --reason"
    assert put_laps(logbook, entity, laps[:1], "b.csv", instead=True, why="wrong\nfile")
    assert logbook.session_record(entity).lap_times == laps[:1]
    assert logbook.history(entity)[0].reason == "lap times from b.csv: wrong file"


def test_a_session_that_was_aborted_stays_so_with_laps(logbook: Logbook) -> None:
    entity = add(logbook, "session", kind="practice", start="2026-05-09 09:00", status="aborted")
    assert put_laps(logbook, entity, (95.2,), "a.csv")
    assert logbook.session_record(entity).status == "aborted"


def test_laps_are_read_from_a_timing_sheet_and_its_columns_remembered(tmp_path: Path) -> None:
    file = tmp_path / "laps.csv"
    file.write_text("Nr;Zeit\n1;1:35.2\n2;1:34.9\n")
    found = laps_in_file(str(file), {"zeit": "lap_time", "nr": "lap"})
    assert found.laps == (95.2, 94.9)
    again = laps_in_file(str(file))
    assert (again.laps, again.column) == (found.laps, "Zeit")
    assert MOST_BYTES == 8 * 1024 * 1024  # our own, no source
    file.write_bytes(b"x" * (MOST_BYTES + 1))
    with pytest.raises(BadInput, match=r"has 9 MB, which is no file of this kind"):
        laps_in_file(str(file))


def test_the_name_that_signs_is_marked_where_no_folder_was_yet(
    logbook: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for deep in ("new", "new/deeper/still"):
        monkeypatch.setenv("TRACKSIDE_DATA", str(tmp_path / deep))
        for _ in range(2):
            signing = Signing(logbook, Preferences())
            if signing.to_say():
                signing.written()
        assert (tmp_path / deep / "signed-as").read_text("utf-8") == "ann\n"
        assert (tmp_path / deep).stat().st_mode & 0o077 == 0, "for its owner alone"


def test_several_values_are_set_in_one_step_of_undo(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    entity = add(workspace.logbook, "session", kind="practice", start="2026-05-09 10:20")
    workspace.take(entity)
    before = len(workspace.logbook.history(entity))
    workspace.keep_all({"driver": "Ann", "tyre_set": "new"}, reason="as told")
    assert (workspace.session.driver, workspace.session.tyre_set) == ("Ann", "new")
    assert len(workspace.logbook.history(entity)) == before + 1
    assert workspace.logbook.history(entity)[0].reason == "as told"
    workspace.close()
