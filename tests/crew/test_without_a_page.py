"""Backups, names, drafts, writes, the next session: what runs behind the pages."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.analysis.garage import SHED, corner, session
from trackside.analysis.shed import Shed
from trackside.crew import backups, belonging, error_log, walk_round
from trackside.crew.backups import AGAIN_S, BackupRunner
from trackside.crew.corrections import ReasonWanted
from trackside.crew.listener import Listener
from trackside.crew.next_session import cars_at, next_session
from trackside.crew.sheet_file import gas_of, sheet_of
from trackside.crew.signing import Signing
from trackside.crew.swapping import Swap, newest_builds, rebuilt, swapped
from trackside.crew.turning import positions_after
from trackside.crew.workspace import Workspace
from trackside.errors import BadInput, NotEntered, TracksideError, UnknownRecord
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences, data_folder
from trackside.records import Reading, Session


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        yield logbook


def add(logbook: Logbook, kind: str, /, **body: object) -> str:
    write = put(kind, body)
    logbook.write(write)
    return write.entity


# ── what a session belongs to ───────────────────────────────────────────────────────────────────


def test_an_event_or_a_car_answers_to_its_words(logbook: Logbook) -> None:
    may = add(logbook, "event", venue="Harrow Fen", date="2026-05-09")
    june = add(logbook, "event", venue="Harrow Fen", date="2026-06-09")
    seven = add(logbook, "car", name="Coupé", number="7")
    add(logbook, "car", name="Coupé", number="77")
    assert belonging.answering(logbook, "event", "harrow 05-09") == may
    assert belonging.answering(logbook, "event", "06-09 FEN") == june
    assert belonging.answering(logbook, "car", "coupé 7") == seven
    for kind, text, said in (
        ("event", "Harrow", "more than one event answers to “Harrow”"),
        ("event", "Lark", "no event answers to “Lark”, so the session stays where it was"),
        ("event", "  ", "no event answers"),
        ("car", "coupé", "more than one car answers.*: type its name and number"),
        ("event", "Fen", "type the venue and date"),
    ):
        with pytest.raises(UnknownRecord, match=said):
            belonging.answering(logbook, kind, text)
    assert belonging.named(logbook, "event", may) == "Harrow Fen 2026-05-09"
    assert belonging.named(logbook, "event", "") == ""
    assert belonging.all_in_words(logbook, "car") == ["Coupé 7", "Coupé 77"]


# ── the name that signs ─────────────────────────────────────────────────────────────────────────


def test_the_login_name_is_said_until_it_was_seen_with_a_write(logbook: Logbook) -> None:
    first = Signing(logbook, Preferences())
    first.written()
    assert first.to_say() == "ann"
    assert first.to_say() == "ann"
    first.written()
    assert first.to_say() == ""
    assert (data_folder() / "signed-as").read_text("utf-8") == "ann\n"
    assert Signing(logbook, Preferences()).to_say() == ""
    (data_folder() / "signed-as").write_text("ben\n", "utf-8")
    assert Signing(logbook, Preferences()).to_say() == "ann"
    (data_folder() / "signed-as").write_bytes(b"\xff")
    assert Signing(logbook, Preferences()).to_say() == "ann"


def test_an_author_that_the_crew_named_need_not_be_said(logbook: Logbook) -> None:
    assert Signing(logbook, Preferences(author="Ann")).to_say() == ""
    with Logbook.open(Path(logbook.path), read_only=True) as reader:
        assert Signing(reader, Preferences()).to_say() == ""


# ── backups ─────────────────────────────────────────────────────────────────────────────────────


class Kept:
    """Counts backups that are made, and fails when told to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.count, self.fault = 0, ""
        monkeypatch.setattr(backups, "keep_backups", self)

    def __call__(self, _: Logbook) -> list[Path]:
        self.count += 1
        if self.fault:
            raise OSError(self.fault)
        return [Path("made")]


def test_a_backup_is_made_at_the_start_at_another_event_and_after_one_that_failed(
    logbook: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept, done = Kept(monkeypatch), []
    runner = BackupRunner(logbook, lambda: done.append(1))

    def look(event: str, over: bool = False) -> int:
        runner.look(event, lambda: over)
        while runner.is_busy:
            time.sleep(0.01)
        return kept.count

    assert look("other") == 0  # the first one is not begun yet
    assert runner.begin()
    while runner.is_busy:
        time.sleep(0.01)
    assert (kept.count, done) == (1, [1])
    assert not runner.is_busy
    at = runner._event
    assert look(at or "") == 1
    assert look("another") == 2
    assert look("another", over=True) == 2  # the last look was just now
    runner._last_look -= AGAIN_S + 1
    assert look("another") == 2  # nothing failed, and the event goes on
    runner._last_look -= AGAIN_S + 1
    assert look("another", over=True) == 3
    kept.fault = "no room."
    runner._last_look -= AGAIN_S + 1
    assert look("another", over=True) == 4
    assert runner.sentence() == "No backup: no room; none was ever made."
    runner._last_look -= AGAIN_S + 1
    assert look("another") == 5
    kept.fault = ""
    runner._last_look -= AGAIN_S + 1
    assert look("another") == 6
    assert runner.sentence() == ""


def test_while_one_is_being_made_no_other_is_begun(
    logbook: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept, wait = Kept(monkeypatch), threading.Event()
    runner = BackupRunner(logbook, lambda: wait.wait(10))  # what is done when one is made
    assert runner.begin() is True
    assert runner.is_busy
    assert runner.begin() is False
    wait.set()
    while runner.is_busy:
        time.sleep(0.01)
    assert kept.count == 1
    assert runner.begin() is True
    while runner.is_busy:
        time.sleep(0.01)
    assert kept.count == 2


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(0, "0 min"), (59 * 60, "59 min"), (3 * 3600, "3 h"), (47.4 * 3600, "47 h"),
     (48.4 * 3600, "2 days"), (96 * 3600, "4 days"), (-500, "0 min")],
)  # fmt: skip
def test_the_age_of_the_last_good_one(
    logbook: Logbook, monkeypatch: pytest.MonkeyPatch, seconds: float, said: str
) -> None:
    runner = BackupRunner(logbook, lambda: None)
    runner.trouble = "why"
    monkeypatch.setattr(backups, "made_at", lambda _: time.time() - seconds)
    assert runner.sentence() == f"No backup: why; the last good one is {said} old."
    runner.trouble, runner.differs = "", "so it is."
    assert runner.sentence().startswith("The logbook is damaged: so it is. Leave, and look")


# ── the next session ────────────────────────────────────────────────────────────────────────────


def test_the_next_session_goes_on_from_the_one_in_hand_or_the_cars_newest(logbook: Logbook) -> None:
    with pytest.raises(NotEntered):
        next_session(logbook, None)
    event = add(logbook, "event", venue="Harrow Fen", date="2026-05-09")
    with pytest.raises(NotEntered):
        next_session(logbook, None)
    car, other = add(logbook, "car", name="Coupé"), add(logbook, "car", name="Tourer")
    first = next_session(logbook, None)
    assert (first["kind"], first["number"]["si"], first["status"]) == ("practice", 1.0, "planned")
    assert (first["event"], first["car"]) == (event, other)
    assert first["start"][:2] == "20"
    number = Reading.of_si(4.0, "count").body()
    body = {"event": event, "car": car, "kind": "race", "number": number, "driver": "Ann"}
    entity = add(logbook, "session", **body)
    held = (entity, logbook.session_record(entity))
    following = next_session(logbook, held)
    assert (following["based_on"], following["number"]["si"]) == (entity, 5.0)
    assert (following["car"], following["driver"]) == (car, "Ann")
    elsewhere = add(logbook, "event", venue="Larkmere", date="2026-06-09")
    assert next_session(logbook, held, event=elsewhere)["number"]["si"] == 1.0
    assert next_session(logbook, held, event=event)["number"]["si"] == 5.0
    assert next_session(logbook, None, car=car)["based_on"] == entity
    assert "based_on" not in next_session(logbook, held, car=other)
    assert next_session(logbook, held, event, other)["car"] == other


# ── a dyno sheet from a file ────────────────────────────────────────────────────────────────────

ANSWERS = {"path": "", "date": "", "counted": "", "gas": "", "charge": "", "zeroed": ""}


def test_what_is_said_of_the_gas() -> None:
    said = gas_of({**ANSWERS, "gas": " No ", "charge": "14", "zeroed": "empty"}, "bar")
    assert (said.free, said.pressure, said.zeroed) == (True, 14e5, "empty")
    said = gas_of({**ANSWERS, "gas": "yes", "zeroed": "damper"}, "bar")
    assert (said.free, said.pressure, said.zeroed) == (False, None, "damper")
    assert gas_of(ANSWERS, "bar").free is None
    with pytest.raises(BadInput, match="“maybe” is not known here: type no or yes"):
        gas_of({**ANSWERS, "gas": "maybe"}, "bar")


def test_a_sheet_of_one_file_or_of_two(tmp_path: Path) -> None:
    build = SHED.builds[0]
    for direction in ("bump", "rebound"):
        rows = "".join(f"{p},{direction},{v},{v * 9 - p}\n" for p in (0, 10) for v in (25, 50, 100))
        (tmp_path / f"{direction}.csv").write_text(f"position,direction,mm/s,N\n{rows}")
    both = f"'{tmp_path}/bump.csv' ; {tmp_path}/rebound.csv;"
    sheet = sheet_of(build, {**ANSWERS, "path": both, "date": "2026-05-09", "counted": "Soft"})
    assert (sheet.damper, sheet.build, sheet.date) == ("HARD", "A", "2026-05-09")
    assert (len(sheet.rows), sheet.counted_from) == (12, "soft")
    plain = sheet_of(build, {**ANSWERS, "path": f"{tmp_path}/bump.csv"})
    assert len(plain.date) == len("2026-05-09")
    assert len(plain.rows) == 6
    for wrong in ({"counted": "left"}, {"date": "May"}, {"path": " "}):
        with pytest.raises(TracksideError):
            sheet_of(build, {**ANSWERS, "path": both, **wrong})


# ── another damper, a strip-down, a knob ────────────────────────────────────────────────────────


def test_what_another_damper_makes_unknown() -> None:
    gas = Reading.of_text("16", "pressure", "bar")
    before = session(corner("HARD", 8, 6, gas_pressure=gas))

    def to(damper: str | None) -> Swap:
        return swapped(before, before.with_value("FL.damper", damper), "FL", SHED)

    assert to("SOFT").cleared == ("FL.bump_bleed", "FL.rebound_bleed", "FL.gas_pressure")
    assert to("SOFT").counts["bump_bleed"] == SHED.builds[2].adjuster("bump_bleed")
    assert to("SOFT").known
    assert to("RULE").cleared == ("FL.gas_pressure",)  # as many clicks from the same end
    assert to("TWIN").cleared == ("FL.bump_bleed", "FL.rebound_bleed", "FL.gas_pressure")
    assert not to("NEW").known
    assert to(None).damper == ""
    assert to("hard").cleared == ()
    ran = before.with_value("status", "done")
    assert swapped(ran, ran.with_value("FL.damper", "RULE"), "FL", SHED).cleared == ()
    bare = before.with_value("FL.damper", None)
    assert swapped(bare, before, "FL", SHED).cleared == ()
    ringed = before.with_value("FL.bump_preload", Reading.of_si(2.0, "clicks"))
    there = swapped(ringed, ringed.with_value("FL.damper", "RULE"), "FL", SHED)
    assert "FL.bump_preload" not in there.cleared  # neither has such a knob: nothing differs


def test_after_a_strip_down_the_session_is_offered_the_newest_build() -> None:
    later = SHED.builds[0].model_copy(update={"version": "B"})
    shed = Shed(SHED.dampers, (*SHED.builds, later), SHED.sheets, SHED.cars)
    gas = Reading.of_text("16", "pressure", "bar")
    now = session(corner("TWIN"), FL=corner("HARD", build="A", gas_pressure=gas))
    found = rebuilt(now, shed)
    assert [(one.corner, one.newest.version) for one in found] == [("FL", "B")]
    values, swaps = newest_builds(found, now, shed)
    assert values == {"FL.build": "B", "FL.gas_pressure": None}
    assert [(swap.corner, swap.before) for swap in swaps] == [("FL", "A")]


@pytest.mark.parametrize(
    ("path", "harder", "after", "trouble"),
    [
        ("FL.bump_bleed", 2.0, 6.0, ""),  # from full hard
        ("FR.bump_bleed", 2.0, 10.0, ""),  # from full soft
        ("FL.bump_bleed", -2.0, 10.0, ""),
        ("FL.rebound_bleed", 1.0, None, "FL rebound is at its stop"),
        ("RL.bump_bleed", 1.0, None, "the position at RL is not known: type the count first"),
        ("RR.bump_bleed", 1.0, None, "RR has no such adjuster on record: type the count, or"),
        ("FL.bump_preload", 1.0, None, "FL has no such adjuster on record"),
    ],
)  # fmt: skip
def test_a_knob_turned(path: str, harder: float, after: float | None, trouble: str) -> None:
    now: Session = session(
        FL=corner("HARD", 8, 0), FR=corner("TWIN", 8, 8), RL=corner("HARD", None, 8),
        RR=corner("NEW", 8, 8),
    )  # fmt: skip
    values, troubles = positions_after(now, SHED, [path], harder)
    assert {p: r.si for p, r in values.items()} == ({} if after is None else {path: after})
    assert set(troubles) == ({path} if trouble else set())
    assert all(said.startswith(trouble) for said in troubles.values())


def test_a_click_of_half_a_count_turns_half_a_count() -> None:
    bump, rebound = SHED.builds[0].adjusters
    half = SHED.builds[0].model_copy(
        update={"adjusters": (bump.model_copy(update={"step": 0.5}), rebound)}
    )
    shed = replace(SHED, builds=(half,))
    now = session(corner(half.damper, 8, 8))
    values, _ = positions_after(now, shed, ["FL.bump_bleed"], 2.0)
    assert values["FL.bump_bleed"].si == 7.0  # from full hard


def test_a_knob_beyond_its_end_says_so() -> None:
    _, troubles = positions_after(session(corner("HARD", 30, 8)), SHED, ["FL.bump_bleed"], 1.0)
    assert "stop" not in troubles["FL.bump_bleed"]
    _, troubles = positions_after(session(), None, ["FL.bump_bleed"], 1.0)
    assert "no such adjuster" in troubles["FL.bump_bleed"]


# ── the log of errors, the walk round, sentences ────────────────────────────────────────────────


@pytest.mark.mishaps
def test_a_long_log_of_errors_is_begun_again(monkeypatch: pytest.MonkeyPatch) -> None:
    assert error_log.MOST == 1_000_000, "our own choice: a file that a mail takes"
    monkeypatch.setattr(error_log, "MOST", 100)
    try:
        raise ValueError("odd")
    except ValueError as error:
        first = error_log.note(error)
        assert first == data_folder() / "errors.log"
        assert "ValueError: odd" in first.read_text("utf-8")
        kind, file, line = error_log.place_of(error)
        assert (kind, Path(file).name, line > 0) == ("ValueError", Path(__file__).name, True)
        error_log.note(error)
    assert first.read_text("utf-8").count("ValueError: odd") == 1
    assert (data_folder() / "errors.log.1").read_text("utf-8").count("ValueError: odd") == 1
    assert error_log.place_of(ValueError()) == ("ValueError", "", 0)


@pytest.mark.parametrize(
    ("path", "text", "whole"),
    [
        ("FL.tread_inner", "88", True), ("FL.tread_inner", "8", False),
        ("FL.tread_inner", "16", False), ("FL.tread_inner", "17", True),
        ("FL.tread_inner", "8a", False), ("FL.tread_inner", "", False),
        ("FL.hot_pressure", "19", False), ("tyre_set", "88", False),
    ],
)  # fmt: skip
def test_a_value_of_the_walk_is_whole_where_no_digit_can_follow(
    path: str, text: str, whole: bool
) -> None:
    assert walk_round.is_whole(path, text, Preferences()) is whole


def test_the_walk_goes_corner_by_corner() -> None:
    told = walk_round.paths(Preferences(walk_round=("RR", "FL", "FR", "RL")))
    assert told[:5] == (
        "RR.tread_inner", "RR.tread_middle", "RR.tread_outer", "RR.hot_pressure", "FL.tread_inner",
    )  # fmt: skip


def test_a_correction_says_what_it_waits_for() -> None:
    assert str(ReasonWanted("driver")) == (
        "not saved, and still in the cell: a correction after the event needs its reason: Enter on "
        "the cell asks again."
    )


def test_without_a_session_a_workspace_says_where_one_is(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    assert not workspace.has_session
    assert not workspace.take_newest()
    with pytest.raises(UnknownRecord, match="there is no current session: open one on the pit"):
        _ = workspace.session
    with pytest.raises(UnknownRecord, match="no longer in the logbook: undo brings it back"):
        workspace.take("nothing")
    entity = add(workspace.logbook, "session", kind="practice", start="2026-05-09 10:20")
    workspace.take(entity)
    assert workspace.keep_text("driver", "Ann")
    assert not workspace.keep_text("driver", "Ann")
    workspace.close()
    with Logbook.open(tmp_path / "log.trackside", read_only=True) as logbook:
        assert logbook.session_record(entity).driver == "Ann"  # kept before the file was let go


def test_what_was_half_typed_is_there_again(tmp_path: Path) -> None:
    path = tmp_path / "log.trackside"
    first = Workspace(path, Preferences(author="ann"), Listener())
    entity = add(first.logbook, "session", kind="practice")
    first.take(entity)
    first.hold("driver", "An")
    first.hold_form("note", {"words": "It sk", "turn": ""})
    assert first.drafts.flush() == []
    assert first.held("note") == {"words": "It sk"}
    assert first.held("reason") == {}
    first.close()
    again = Workspace(path, Preferences(author="ann"), Listener())
    again.take(entity)
    assert again.half_typed == {"driver": "An"}
    assert again.held("note") == {"words": "It sk"}
    again.hold("driver", "")
    assert again.half_typed == {}
    again.close()


def test_what_is_under_way_is_kept_before_the_file_is_let_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    asked: list[str] = []
    monkeypatch.setattr(workspace, "flush", lambda: asked.append("flush"))
    workspace.close()
    assert asked == ["flush"]
    assert workspace.car_name() == ""


def test_the_car_in_hand_has_its_number(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="ann"), Listener())
    seven = add(workspace.logbook, "car", name="Coupé", number="7")
    bare = add(workspace.logbook, "car", name="Tourer")
    for car, told in ((seven, "Coupé #7"), (bare, "Tourer"), ("none", "")):
        workspace.take(add(workspace.logbook, "session", kind="practice", car=car))
        workspace.shed = Shed.of(workspace.logbook)
        assert workspace.car_name() == told
    workspace.close()


# ── whose session is next ───────────────────────────────────────────────────────────────────────


def test_the_car_that_ran_last_is_asked_for_first_then_those_there_then_the_others(
    logbook: Logbook,
) -> None:
    first, second, third = (put("car", {"name": name}) for name in ("A", "B\nb", "C"))
    logbook.write(first, second, third)
    assert cars_at(logbook, "e") == [
        (third.entity, "C"), (second.entity, "B b"), (first.entity, "A")
    ]  # fmt: skip
    logbook.write(put("session", {"car": second.entity, "start": "2026-05-09 10:00"}))
    assert [name for _, name in cars_at(logbook, "e")] == ["B b", "C", "A"]
    there = {"event": "e", "start": "2026-05-08 10:00"}
    logbook.write(put("session", {**there, "car": first.entity}), put("session", there))
    assert [name for _, name in cars_at(logbook, "e")] == ["A", "B b", "C"]
    logbook.write(put("car", {"number": "7"}))
    assert cars_at(logbook, "e")[-2][1] == "", "a car without a name"
