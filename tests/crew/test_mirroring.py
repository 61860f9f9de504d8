"""One corner set like its pair: settings go across, readings, dampers and builds never."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.analysis.shed import Shed
from trackside.crew.mirroring import GOES_ACROSS, mirrored, put_across
from trackside.errors import BadInput
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Adjuster, Build, CornerSheet, Reading, Session
from trackside.records.fields import ADJUSTERS, CORNER_FIELDS, CORNERS, OTHER_SIDE
from trackside.reports.mirror_words import UNLIKE, done_words

PREFERENCES = Preferences()


def knob(clicks: int = 20, counted: str = "hard", step: float = 1) -> Adjuster:
    return Adjuster(acts_on="rebound_bleed", clicks=clicks, counted_from=counted, step=step)


def shed(*builds: Build) -> Shed:
    return Shed(builds=builds)


def pair(mine: Adjuster | None, theirs: Adjuster | None, **other: Any) -> Shed:
    builds = [
        Build(damper=serial, version="A", adjusters=(one,) if one else ())
        for serial, one in (("L", mine), ("R", theirs))
    ]
    return shed(builds[0], builds[1].model_copy(update=other))


def reading(si: float, quantity: str = "clicks") -> dict[str, Any]:
    return Reading.of_si(si, quantity).body()


def session(**corners: dict[str, Any]) -> Session:
    return Session.checked(corners)


EVERY = {
    name: f"words of {name}"
    if field.quantity is None
    else reading(1.0 if field.quantity == "clicks" else field.low or 0.0, field.quantity)
    for name, field in CORNER_FIELDS.items()
}


@pytest.mark.parametrize("corner", CORNERS)
def test_settings_and_targets_go_across_and_nothing_that_was_read(corner: str) -> None:
    found = mirrored(session(**{corner: EVERY}), corner, shed())
    assert found.to == OTHER_SIDE[corner]
    roles = {CORNER_FIELDS[name].role for name in found.values}
    assert roles == {"setting", "target"}
    carried = {name for name, field in CORNER_FIELDS.items() if field.carried}
    assert set(found.values) == carried - {"damper", "build"} == set(GOES_ACROSS)
    assert not found.overwrites
    after = session(**{corner: EVERY})
    for path, value in found.by_path.items():
        after = after.with_value(path, value)
    assert not mirrored(after, corner, shed()).values
    assert not mirrored(after, found.to, shed()).values  # and back
    assert after.corner(corner) == session(**{corner: EVERY}).corner(corner)


def test_the_sign_of_camber_toe_and_caster_is_that_of_the_wheel() -> None:
    fields = {"camber": reading(-0.05, "angle"), "toe": reading(-0.001, "toe"),
              "caster": reading(0.1, "angle")}  # fmt: skip
    found = mirrored(session(FL=fields), "FL", shed())
    assert {name: value.body() for name, value in found.values.items()} == fields  # type: ignore[union-attr]


@given(
    st.integers(0, 20), st.sampled_from(["hard", "soft"]), st.sampled_from(["hard", "soft"])
)  # fmt: skip
def test_a_count_goes_across_from_the_same_end(count: int, mine: str, theirs: str) -> None:
    run = session(FL={"damper": "L", "rebound_bleed": reading(count)}, FR={"damper": "R"})
    dampers = pair(knob(20, mine), knob(20, theirs))
    value = mirrored(run, "FL", dampers).values["rebound_bleed"]
    assert isinstance(value, Reading)
    assert value.si == (count if mine == theirs else 20 - count)
    back = run.with_value("FR.rebound_bleed", value)
    assert "rebound_bleed" not in mirrored(back, "FR", dampers).values


@pytest.mark.parametrize(
    ("mine", "theirs", "why"),
    [
        (knob(20), knob(24), "24 clicks there, 20 here"),
        (knob(20), None, "FR has no such adjuster on record"),
        (None, knob(20), "FL has no such adjuster on record"),
        (knob(20, step=0.5), knob(20), "the rebound adjuster steps by 1; 7.5 is between"),
        (knob(20, step=0.5), knob(20, "soft"), "the rebound adjuster steps by 1; 12.5 is between"),
    ],
)
def test_a_count_that_means_something_else_there_stays(
    mine: Adjuster | None, theirs: Adjuster | None, why: str
) -> None:
    run = session(FL={"damper": "L", "rebound_bleed": reading(7.5)},
                  FR={"damper": "R", "rebound_bleed": reading(3)})  # fmt: skip
    found = mirrored(run, "FL", pair(mine, theirs))
    assert (dict(found.values), dict(found.left)) == ({}, {"rebound_bleed": why})
    told = done_words(found, PREFERENCES)
    assert told == f"nothing set at FR · rebound left: {why}"


def test_nothing_is_called_alike_where_nothing_was_compared() -> None:
    run = session(FL={"damper": "L", "rebound_bleed": reading(7)})
    found = mirrored(run, "FL", shed(pair(knob(), None).builds[0]))
    assert done_words(found, PREFERENCES) == (
        "nothing set at FR · rebound left: FR has no damper on record: enter its serial"
    )
    empty = mirrored(session(FL={"damper": "L"}), "FL", shed())
    told = done_words(empty, PREFERENCES)
    assert told == "FL has no settings yet: nothing set at FR"
    same = session(FL={"camber": reading(-0.05, "angle")}, FR={"camber": reading(-0.05, "angle")})
    assert done_words(mirrored(same, "FL", shed()), PREFERENCES) == "FR is like FL already"


def test_a_count_that_cannot_be_read_stays_and_the_unknown_empties_nothing() -> None:
    run = session(FL={"rebound_bleed": {"typed": "8?"}}, FR={"camber": reading(-0.05, "angle")})
    found = mirrored(run, "FL", shed())
    assert (dict(found.values), dict(found.left)) == ({}, {"rebound_bleed": "“8?” is no count"})


def test_dampers_that_are_not_built_alike_are_named() -> None:
    run = session(FL={"damper": "L", "rebound_bleed": reading(7)}, FR={"damper": "R"})
    assert not mirrored(run, "FL", pair(knob(), knob())).unlike
    found = mirrored(run, "FL", pair(knob(), knob(), piston="other"))
    assert done_words(found, PREFERENCES, "u") == (
        f"FR set like FL: rebound – → 7 · {UNLIKE} · u takes it back"
    )


def test_many_changes_are_counted() -> None:
    found = mirrored(session(RL=EVERY), "RL", shed())
    told = done_words(found, PREFERENCES, "u")
    assert told.startswith("RR set like RL: bump – → 1, rebound – → 1, ")
    assert f" and {len(found.values) - 6} more · u takes them back" in told
    assert set(ADJUSTERS) <= set(found.values)


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        yield logbook


def test_what_stands_there_is_not_replaced_unasked(logbook: Logbook) -> None:
    event = put("event", {"venue": "Fen", "date": "2026-05-09"})
    camber = {"FL": {"camber": reading(-0.05, "angle")}, "FR": {"camber": reading(-0.04, "angle")}}
    run = put("session", {"event": event.entity, **camber})
    logbook.write(event, run)
    before = logbook.extent()
    found = mirrored(logbook.session_record(run.entity), "FL", Shed())
    with pytest.raises(BadInput, match=r"FR has other values already: camber: --instead"):
        put_across(logbook, run.entity, found)
    with pytest.raises(BadInput, match="needs its reason"):
        put_across(logbook, run.entity, found, instead=True)
    assert logbook.extent() == before
    put_across(logbook, run.entity, found, instead=True, why="as the sheet says")
    state = logbook.state(run.entity)
    assert state is not None
    assert state["FR"] == state["FL"]
    assert logbook.history(run.entity)[0].reason == "FR set like FL: as the sheet says"
    logbook.undo()
    assert logbook.state(run.entity) == {"event": event.entity, **camber}


def test_after_an_event_only_what_is_replaced_needs_a_reason(logbook: Logbook) -> None:
    event = put("event", {"venue": "Fen", "date": "2026-05-09"})
    run = put("session", {"event": event.entity, "FL": {"camber": reading(-0.05, "angle")}})
    other = put("session", {"FR": {"camber": reading(-0.04, "angle")}, **run.body, "event": ""})
    logbook.write(event, run, other)
    put_across(logbook, run.entity, mirrored(logbook.session_record(run.entity), "FL", Shed()))
    assert logbook.history(run.entity)[0].reason == "FR set like FL"
    found = mirrored(logbook.session_record(other.entity), "FL", Shed())
    assert list(found.overwrites) == ["camber"]
    put_across(logbook, other.entity, found, instead=True, why="  ")
    assert logbook.history(other.entity)[0].reason == "FR set like FL", "that event goes on"
    before = logbook.extent()
    put_across(logbook, run.entity, mirrored(logbook.session_record(run.entity), "FL", Shed()))
    assert logbook.extent() == before, "nothing differs"


def test_a_reason_of_blanks_is_none(logbook: Logbook) -> None:
    event = put("event", {"venue": "Fen", "date": "2026-05-09"})
    camber = {"FL": {"camber": reading(-0.05, "angle")}, "FR": {"camber": reading(-0.04, "angle")}}
    run = put("session", {"event": event.entity, **camber})
    logbook.write(event, run)
    found = mirrored(logbook.session_record(run.entity), "FL", Shed())
    with pytest.raises(BadInput) as refused:
        put_across(logbook, run.entity, found, instead=True, why="  ")
    assert refused.value.cause == "a correction after the event needs its reason"
    assert refused.value.remedy == "give it with --reason"


def test_unlike_dampers_matter_to_clicks_alone() -> None:
    run = session(FL={"damper": "L", "camber": reading(-0.05, "angle")}, FR={"damper": "R"})
    found = mirrored(run, "FL", pair(knob(), knob(), piston="other"))
    assert list(found.values) == ["camber"]
    assert not found.unlike


def test_what_cannot_be_right_does_not_go_across() -> None:
    """The limits are our own, no source."""
    odd = {
        "camber": Reading.of_text("-80", "angle", "°"),
        "toe": Reading.of_text("sideways", "toe", "mm"),
        "spring_rate": Reading.of_text("60", "spring rate", "N/mm"),
    }
    found = mirrored(Session(FL=CornerSheet(**odd)), "FL", Shed())
    assert list(found.values) == ["spring_rate"]
    assert found.left == dict.fromkeys(("camber", "toe"), "cannot be right at FL")
    assert "camber left: cannot be right at FL" in done_words(found, Preferences())
