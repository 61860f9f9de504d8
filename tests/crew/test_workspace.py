"""What a crew does with the current session, without a screen."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from trackside.analysis.shed import Shed
from trackside.crew import moments
from trackside.crew.corrections import ReasonWanted
from trackside.crew.listener import Listener
from trackside.crew.mirroring import mirrored
from trackside.crew.swapping import Swap, newest_builds, rebuilt
from trackside.crew.workspace import Workspace
from trackside.errors import NotEntered, TracksideError
from trackside.logbook import Logbook, dampers
from trackside.preferences import Preferences
from trackside.records import Reading, Session
from trackside.reports.swapped import swap_said


class Heard(Listener):
    """Remembers what it is told."""

    def __init__(self) -> None:
        self.saved_at: list[str] = []
        self.refused_at: list[tuple[str, TracksideError]] = []
        self.swaps: list[Swap] = []
        self.shed_changes = 0
        self.clock = 0

    def saved(self, path: str) -> None:
        self.saved_at.append(path)

    def refused(self, path: str, error: TracksideError) -> None:
        self.refused_at.append((path, error))

    def shed_changed(self) -> None:
        self.shed_changes += 1

    def swapped(self, swap: Swap) -> None:
        self.swaps.append(swap)

    def clock_is_behind(self) -> None:
        self.clock += 1


@pytest.fixture
def heard() -> Heard:
    return Heard()


@pytest.fixture
def workspace(
    samples_log: Path, tmp_path: Path, heard: Heard, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Workspace]:
    """The sample season while its last event goes on, its newest session current."""
    monkeypatch.setattr(moments, "today", lambda: date(2026, 5, 9))
    path = tmp_path / "season.trackside"
    shutil.copy(samples_log, path)
    workspace = Workspace(path, Preferences(author="tester"), heard)
    workspace.take_newest()
    workspace.shed = Shed.of(workspace.logbook)
    yield workspace
    workspace.close()
    assert not heard.refused_at


def test_a_value_is_saved_as_typed_and_said_when_it_is_committed(
    workspace: Workspace, heard: Heard
) -> None:
    assert workspace.keep_text("FL.cold_pressure", "27,5 psi")
    assert workspace.text.shown(workspace.session, "FL.cold_pressure") == "27,5 psi"
    assert workspace.flush() == []
    assert "FL.cold_pressure" in heard.saved_at
    kept = workspace.logbook.session_record(workspace.entity).value("FL.cold_pressure")
    assert isinstance(kept, Reading)
    assert kept.typed == "27,5 psi"
    assert kept.si == pytest.approx(27.5 * 6894.757, rel=1e-6)  # psi in Pa, NIST SP 811
    assert not workspace.keep_text("FL.cold_pressure", "27,5 psi")


def test_one_click_harder_counts_as_the_adjuster_counts(workspace: Workspace) -> None:
    """Harder is a lower count from full hard and a higher one from full soft."""
    for corner in ("FL", "FR", "RL", "RR"):
        path = f"{corner}.rebound_bleed"
        build = workspace.shed and workspace.shed.build_at(workspace.session, corner)
        adjuster = build.adjuster("rebound_bleed") if build else None
        before = workspace.session.value(path)
        assert adjuster is not None
        assert isinstance(before, Reading)
        assert workspace.turn([path], 1) == {}
        after = workspace.session.value(path)
        assert isinstance(after, Reading)
        one = -1 if adjuster.counted_from == "hard" else 1
        assert (after.si, before.si) == ((before.si or 0) + one, before.si)


def test_an_adjuster_at_its_end_turns_no_further(workspace: Workspace) -> None:
    build = workspace.shed and workspace.shed.build_at(workspace.session, "FL")
    adjuster = build.adjuster("rebound_bleed") if build else None
    assert adjuster is not None
    end = 0 if adjuster.counted_from == "hard" else adjuster.clicks
    workspace.keep_text("FL.rebound_bleed", str(end))
    troubles = workspace.turn(["FL.rebound_bleed", "FR.rebound_bleed"], 1)
    assert list(troubles) == ["FL.rebound_bleed"]
    assert workspace.session.si("FL.rebound_bleed") == end


def test_the_next_session_carries_settings_and_no_reading(workspace: Workspace) -> None:
    before, entity = workspace.session, workspace.entity
    workspace.new_session()
    after = workspace.session
    assert after.based_on == entity
    assert after.si("number") == (before.si("number") or 0) + 1
    assert after.value("FL.rebound_bleed") == before.value("FL.rebound_bleed")
    for read in ("FL.gas_pressure", "FL.hot_pressure", "FL.tread_inner", "FL.cold_pressure"):
        assert after.value(read) is None
    assert not after.ran


def test_a_correction_after_the_event_waits_for_its_reason(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(moments, "today", lambda: date(2026, 11, 1))
    workspace.corrections.look_again()
    path = "FL.rebound_bleed"
    was = workspace.session.value(path)
    assert was is not None
    with pytest.raises(ReasonWanted) as wanted:
        workspace.keep_text(path, "11")
    assert workspace.session.value(path) == was
    assert workspace.half_typed[path] == "11"
    workspace.corrections.give(workspace.entity, "read the log again")
    assert wanted.value.again is not None
    wanted.value.again()
    assert workspace.flush() == []
    [entry, *_] = workspace.logbook.history(workspace.entity, path)
    assert entry.reason == "read the log again"


def test_another_damper_clears_what_was_read_of_the_first(
    workspace: Workspace, heard: Heard
) -> None:
    """A session that has not run: the gas of the damper that came off is not the new one's."""
    workspace.new_session()
    workspace.keep_text("FL.gas_pressure", "14.8")
    workspace.keep_text("FL.damper", workspace.session.corner("RR").damper or "")
    [swap] = heard.swaps
    assert swap.corner == "FL"
    assert "gas_pressure" in swap.read
    assert workspace.session.value("FL.gas_pressure") is None
    said = swap_said(swap, workspace.preferences)
    assert said.startswith("FL cleared: ")
    assert "14.8" in said
    assert said.endswith("read of the other one)")


def test_a_corner_without_a_damper_has_none_and_another_build_is_no_other_damper(
    workspace: Workspace, heard: Heard
) -> None:
    workspace.new_session()
    serial = workspace.session.corner("FL").damper or ""
    was = workspace.session.corner("FL").build
    workspace.write(dampers.strip_down(workspace.logbook, serial, "new seals"))
    workspace.shed = Shed.of(workspace.logbook)
    newest = workspace.shed.build(serial)
    assert newest is not None
    workspace.keep_text("FL.gas_pressure", "14.8")
    workspace.keep("FL.build", newest.version)
    workspace.keep("FL.damper", None)
    said = [swap_said(swap, workspace.preferences) for swap in heard.swaps]
    assert said[0].endswith(f"(read of build {was})")
    assert said[1].endswith("(no damper there now)")


def test_of_a_damper_that_nobody_knows_no_count_is_known(
    workspace: Workspace, heard: Heard
) -> None:
    workspace.new_session()
    workspace.keep("FL.damper", "NOT-THERE")
    assert workspace.session.value("FL.rebound_bleed") is None
    [swap] = heard.swaps
    assert "NOT-THERE is not in the damper shed" in swap_said(swap, workspace.preferences)


def test_after_a_strip_down_the_newest_build_is_offered(workspace: Workspace) -> None:
    serial = workspace.session.corner("FL").damper or ""
    workspace.write(dampers.strip_down(workspace.logbook, serial, "new seals"))
    shed = Shed.of(workspace.logbook)
    carried = Session.checked(workspace.next_session())
    [found] = rebuilt(carried, shed)
    assert (found.corner, found.damper) == ("FL", serial)
    values, swaps = newest_builds([found], carried, shed)
    assert values["FL.build"] == found.newest.version
    assert swaps == []  # a copy of the build before: its counts hold, and nothing was read


def test_the_shed_is_said_to_have_changed(workspace: Workspace, heard: Heard) -> None:
    workspace.amend("car", workspace.session.car, {"name": "Another"})
    assert heard.shed_changes == 1
    workspace.amend("event", workspace.session.event, {"venue": "Elsewhere"})
    assert heard.shed_changes == 1


def test_an_empty_logbook_says_what_is_entered_first(tmp_path: Path) -> None:
    path = tmp_path / "new.trackside"
    Logbook.open(path).close()
    workspace = Workspace(path, Preferences(author="tester"), Listener())
    try:
        with pytest.raises(NotEntered, match="there is no event yet") as missing:
            workspace.new_session()
        assert missing.value.kind == "event"
    finally:
        workspace.close()


def test_a_clock_that_was_set_back_gives_no_time(workspace: Workspace, heard: Heard) -> None:
    workspace.keep_text("driver", "Somebody")
    workspace.flush()
    workspace.logbook._clock = lambda: datetime(2001, 9, 9, tzinfo=UTC)  # type: ignore[method-assign]
    workspace.new_session()
    assert workspace.session.start == ""
    assert heard.clock == 1


def test_the_other_side_of_an_axle_is_set_in_one_step_of_undo(workspace: Workspace) -> None:
    before = workspace.session
    workspace.keep_text("FL.camber", "-3.3")
    workspace.keep_text("FR.camber", "-1.1")
    assert workspace.flush() == []
    found = mirrored(workspace.session, "FL", workspace.shed or Shed())
    assert found.overwrites.keys() >= {"camber"}
    workspace.set_alike(found)
    assert workspace.flush() == []
    assert workspace.is_settled
    assert workspace.session.FR.si("camber") == workspace.session.FL.si("camber")
    assert workspace.logbook.history(workspace.entity)[0].reason == "FR set like FL"
    workspace.logbook.undo()
    workspace.again()
    assert workspace.session.si("FR.camber") == pytest.approx(-1.1 * 3.14159 / 180, rel=1e-3)
    assert before.FR.camber != workspace.session.FR.camber


def test_another_event_is_named_by_its_words(workspace: Workspace) -> None:
    here = workspace.text.belongs("event", workspace.session.event)
    assert not workspace.keep_text("event", here), "where it is"
    other = next(
        entity for entity, _ in workspace.logbook.all("event") if entity != workspace.session.event
    )
    assert workspace.keep_text("event", workspace.text.belongs("event", other))
    assert workspace.session.event == other
    assert workspace.flush() == []


def test_what_was_last_read_is_looked_up_once_with_its_temperature(workspace: Workspace) -> None:
    assert workspace.last_read("lap_times") is None
    assert workspace.last_read("items.Nothing") is None
    found = workspace.last_read("FL.gas_pressure")
    assert found is not None
    last, taken = found
    assert last.corner == "FL"
    assert last.si is not None
    assert taken is None or taken.si is not None
    assert workspace.last_readings is workspace.last_readings
    assert workspace.jobs is workspace.jobs
    assert workspace.verdicts is workspace.verdicts
