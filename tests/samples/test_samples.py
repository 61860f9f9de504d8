"""The sample weekends: woven as committed, free of contradictions, and as the story tells them.

What is demanded here (counts, conventions, slips) is the samples' own contract; no source.
"""

from __future__ import annotations

import json
import re
import tomllib
import uuid
from collections import Counter
from typing import Any

import numpy as np
import pytest

from tests.samples.bench import SHEETS
from tests.samples.weave import FOLDER, files
from trackside.analysis.parts import parts_curve
from trackside.analysis.plausible_ranges import value_mark
from trackside.analysis.shed import fit_of
from trackside.records import KINDS, Build, DynoSheet, Session, read_sheet
from trackside.records.fields import ADJUSTERS, CORNER_FIELDS, CORNERS, SESSION_FIELDS
from trackside.units import read

DOCUMENT: dict[str, Any] = json.loads((FOLDER / "weekends.json").read_text("utf-8"))
ENTITIES: list[dict[str, Any]] = DOCUMENT["entities"]
TABLES = tomllib.loads((FOLDER / "dyno" / "sheets.toml").read_text("utf-8"))["sheet"]
NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.])")
SLIPS = {
    "FL.body_temperature": "warm",
    "FR.cold_pressure": "15,5",
    "RL.rebound_bleed": "26",
}
"""What the session with gaps has wrong, on purpose."""


def of_kind(kind: str) -> dict[str, Any]:
    return {e["entity"]: KINDS[kind].checked(e["body"]) for e in ENTITIES if e["kind"] == kind}


SESSIONS: list[Session] = sorted(of_kind("session").values(), key=lambda s: s.start)
BUILDS: dict[tuple[str, str], Build] = {(b.damper, b.version): b for b in of_kind("build").values()}


def sheet_of(table: dict[str, Any]) -> DynoSheet:
    return read_sheet((FOLDER / "dyno" / table["file"]).read_text("utf-8"), table["file"])


def corner_values(session: Session) -> list[tuple[str, str, Any]]:
    return [
        (corner, name, value)
        for corner in CORNERS
        for name in CORNER_FIELDS
        if (value := session.corner(corner).value(name)) is not None
    ]


def slip(session: Session, path: str) -> bool:
    return session is gaps() and path in SLIPS


def gaps() -> Session:
    return next(s for s in SESSIONS if s.start == "2026-10-17 11:30")


class TestFiles:
    @pytest.mark.parametrize("name", sorted(files()))
    def test_woven_as_committed(self, name: str) -> None:
        """The last printed digit may differ: another processor rounds another way."""
        kept, woven = (FOLDER / name).read_text("utf-8"), files()[name]
        assert NUMBER.sub("#", kept) == NUMBER.sub("#", woven)
        for one, other in zip(NUMBER.findall(kept), NUMBER.findall(woven), strict=True):
            last_digit = 10.0 ** -len(one.partition(".")[2])
            assert abs(float(one) - float(other)) <= 1.001 * last_digit

    def test_nothing_beside_them(self) -> None:
        found = {p.relative_to(FOLDER).as_posix() for p in FOLDER.rglob("*") if p.is_file()}
        assert found == {*files(), "README.md"}

    def test_every_body_is_its_record(self) -> None:
        for entry in ENTITIES:
            assert KINDS[entry["kind"]].checked(entry["body"]).body() == entry["body"]

    def test_identities(self) -> None:
        """RFC 9562, section 5.7: version 7, variant 10, milliseconds since 1970 in front."""
        for entry in ENTITIES:
            made = uuid.UUID(entry["entity"])
            assert made.version == 7
            assert made.variant == uuid.RFC_4122
            assert 1776384000000 < made.int >> 80 < 1792800000000  # 17 April, 24 October 2026
        assert len({entry["entity"][-6:] for entry in ENTITIES}) == len(ENTITIES)

    def test_times_in_utc(self) -> None:
        stamps = [entry["recorded_at"] for entry in ENTITIES]
        assert all(len(stamp) == 24 and stamp.endswith("Z") for stamp in stamps)
        assert stamps == sorted(stamps)


class TestReferences:
    def test_sessions_events_cars_and_predecessors(self) -> None:
        sessions, events, cars = of_kind("session"), of_kind("event"), of_kind("car")
        for session in SESSIONS:
            assert session.event in events
            assert session.car in cars
            before = sessions.get(session.based_on)
            assert (before is not None) or not session.based_on
            assert before is None or (before.start < session.start and before.car == session.car)

    @pytest.mark.parametrize("kind", ["note", "change", "kept"])
    def test_words_belong_to_a_session(self, kind: str) -> None:
        sessions = of_kind("session")
        assert all(record.session in sessions for record in of_kind(kind).values())

    def test_notes_are_of_the_driver_who_drove(self) -> None:
        sessions = of_kind("session")
        for note in of_kind("note").values():
            assert note.driver == sessions[note.session].driver

    def test_dampers_and_builds_exist(self) -> None:
        serials = {damper.serial for damper in of_kind("damper").values()}
        assert {serial for serial, _ in BUILDS} == serials
        for session in SESSIONS:
            for corner in CORNERS:
                sheet = session.corner(corner)
                assert (sheet.damper, sheet.build) in BUILDS

    def test_no_damper_is_on_two_corners(self) -> None:
        for session in SESSIONS:
            assert len({session.corner(c).damper for c in CORNERS}) == 4

    def test_nothing_was_run_before_it_was_built(self) -> None:
        for session in SESSIONS:
            for corner in CORNERS:
                sheet = session.corner(corner)
                assert BUILDS[sheet.damper, sheet.build].date < session.start


class TestValues:
    def test_typed_and_si_agree(self) -> None:
        """Read again from the text alone: the reader is checked against pint in its own tests."""
        for session in SESSIONS:
            for corner, name, value in corner_values(session):
                if CORNER_FIELDS[name].quantity and not slip(session, f"{corner}.{name}"):
                    found = read(value.typed, CORNER_FIELDS[name].quantity, value.unit)
                    assert value.si == pytest.approx(found.si)

    def test_only_the_slips_are_implausible(self) -> None:
        marked = {
            (session.start, f"{corner}.{name}")
            for session in SESSIONS
            for corner, name, value in corner_values(session)
            if value_mark(f"{corner}.{name}", value)
        }
        assert marked == {(gaps().start, p) for p in SLIPS if p != "RL.rebound_bleed"}
        for session in SESSIONS:
            for name in SESSION_FIELDS:
                assert value_mark(name, session.value(name)) is None

    def test_slips_stand_as_typed(self) -> None:
        assert {p: gaps().value(p).typed for p in SLIPS} == SLIPS

    def test_positions_can_be_set(self) -> None:
        for session in SESSIONS:
            for corner in CORNERS:
                sheet = session.corner(corner)
                build = BUILDS[sheet.damper, sheet.build]
                for name in ADJUSTERS:
                    position = sheet.value(name)
                    assert (position is not None) == (build.adjuster(name) is not None)
                    if position is not None and not slip(session, f"{corner}.{name}"):
                        assert build.adjuster(name).problem(position.si) == ""
                    elif position is not None:
                        assert build.adjuster(name).problem(position.si)

    def test_best_lap_is_the_least(self) -> None:
        for session in SESSIONS:
            assert session.best_lap.si == pytest.approx(min(session.lap_times), abs=1e-9)
            assert session.laps.si == len(session.lap_times)

    def test_hot_pressures_follow_the_gas_law(self) -> None:
        """p ∝ T at constant volume: the gas temperature it asks for lies between the air and the
        middle of the tread. Absolute pressures with a standard atmosphere (ISO 2533)."""
        for session in SESSIONS:
            for corner in CORNERS:
                sheet = session.corner(corner)
                cold, hot, tread = map(sheet.si, ("cold_pressure", "hot_pressure", "tread_middle"))
                if None in (cold, hot, tread):
                    continue
                air = session.si("air_temperature")
                inside = (air + 273.15) * (hot + 101325) / (cold + 101325) - 273.15
                assert air < inside < tread

    def test_gas_readings_of_october_are_mays_filling(self) -> None:
        """Front left of car 64, never opened: p / T constant within the gauge's 0.1 bar."""
        may, october = (
            next(s for s in SESSIONS if s.start == start)
            for start in ("2026-05-09 09:20", "2026-10-17 10:10")
        )
        ratio = [
            (s.FL.si("gas_pressure") + 101325) / (s.FL.si("gas_temperature") + 273.15)
            for s in (may, october)
        ]
        assert abs(ratio[1] - ratio[0]) * 282 < 0.1e5


class TestSheets:
    def test_one_sheet_for_each_that_was_measured(self) -> None:
        assert {table["file"] for table in TABLES} == {f"{name}.csv" for name in SHEETS}
        assert {(t["damper"], t["build"]) for t in TABLES} <= set(BUILDS)

    @pytest.mark.parametrize("table", TABLES, ids=lambda t: t["file"])
    def test_five_positions_both_directions(self, table: dict[str, Any]) -> None:
        sheet = sheet_of(table)
        build = BUILDS[table["damper"], table["build"]]
        for direction in ("bump", "rebound"):
            positions = sheet.positions(direction)
            assert len(positions) == 5
            assert positions[0] == 0
            assert positions[-1] == build.bleed_adjuster(direction).clicks
            assert len({row.speed for row in sheet.of_direction(direction)}) == 10

    @pytest.mark.parametrize("table", TABLES, ids=lambda t: t["file"])
    def test_forces_are_of_the_class(self, table: dict[str, Any]) -> None:
        """At 100 mm/s, hard to soft: bump 250 to 900 N, rebound 450 to 1600 N (common practice,
        no source); and the hard end is the harder one."""
        sheet = sheet_of(table)
        for direction, low, high in (("bump", 250, 900), ("rebound", 450, 1600)):
            at_100 = [r for r in sheet.of_direction(direction) if abs(r.speed - 0.1) < 1e-4]
            gas = SHEETS[f"{table['damper']}-{table['build']}"].unit.gas_force * table["gas_in"]
            sign = -1 if direction == "bump" else 1
            forces = {row.position: row.force + sign * gas for row in at_100}
            assert all(low < force < high for force in forces.values())
            ends = forces[min(forces)], forces[max(forces)]
            assert (ends[0] > ends[1]) == (table["counted_from"] == "hard")

    @pytest.mark.parametrize("table", TABLES, ids=lambda t: t["file"])
    def test_parts_that_were_measured_make_nearly_what_the_bench_says(
        self, table: dict[str, Any]
    ) -> None:
        build = BUILDS[table["damper"], table["build"]]
        if build.bump_parts is None or table["gas_in"]:
            pytest.skip("its parts were not measured, or gas force is in the sheet")
        for direction in ("bump", "rebound"):
            fit = getattr(fit_of(sheet_of(table), build), direction)
            at, speeds = fit.positions, np.array([0.05, 0.1, 0.2])
            bench = np.array([fit.force(p, speeds) for p in at])
            parts = np.array([parts_curve(build, direction).force(p, speeds) for p in at])
            assert np.sqrt(np.mean(np.log(parts / bench) ** 2)) < 0.15

    def test_they_differ_as_in_life(self) -> None:
        assert Counter(t["counted_from"] for t in TABLES) == {"hard": 5, "soft": 6}
        assert {sheet_of(t).rebound_sign for t in TABLES} == {1, -1}
        assert {t["gas_in"] for t in TABLES} == {True, False}
        assert all(("gas_pressure_Pa" in t) == t["gas_in"] for t in TABLES)
        headers = {
            (FOLDER / "dyno" / t["file"]).read_text("utf-8").partition("\n")[0] for t in TABLES
        }
        assert any("speed_in_s,force_lbf,oil_F" in header for header in headers)


class TestStory:
    def test_two_events_eighteen_sessions_two_of_three_runs(self) -> None:
        assert len(of_kind("event")) == 2
        assert len(of_kind("car")) == 2
        assert len(SESSIONS) == 24
        named = Counter((s.event, s.car, s.kind, s.si("number")) for s in SESSIONS)
        assert len(named) == 18
        assert sorted(named.values())[-4:] == [2, 2, 3, 3]
        assert Counter(s.status for s in SESSIONS) == {"done": 23, "aborted": 1}
        assert Counter(s.surface for s in SESSIONS)["wet"] == 1
        assert len({s.driver for s in SESSIONS}) == 3

    def test_both_conventions_and_every_kind_of_knob(self) -> None:
        knobs = [knob for build in BUILDS.values() for knob in build.adjusters]
        assert {knob.counted_from for knob in knobs} == {"hard", "soft"}
        assert {knob.acts_on for knob in knobs} == {
            "both_bleed", "bump_bleed", "rebound_bleed", "bump_preload",
        }  # fmt: skip

    def test_texts_vary(self) -> None:
        typed = {
            value.typed
            for session in SESSIONS
            for _, name, value in corner_values(session)
            if CORNER_FIELDS[name].quantity
        }
        assert {"1,45", "1.45", "230 psi", "62C", "75F", "740 lb/in"} <= typed

    def test_october_was_colder(self) -> None:
        def air(month: str) -> list[float]:
            return [s.si("air_temperature") for s in SESSIONS if s.start.startswith(month)]

        assert max(air("2026-10")) < min(air("2026-05"))

    def test_a_revalve_between_the_events_and_two_without_sheets(self) -> None:
        measured = {(t["damper"], t["build"]) for t in TABLES}
        assert {("TW-2241", "A"), ("TW-2241", "B")} <= measured
        bare = {key: bool(BUILDS[key].shop_rules) for key in set(BUILDS) - measured}
        assert bare == {("SA-3112", "A"): True, ("FP-0625", "U"): False}

    def test_the_winner_comes_back_on_another_damper(self) -> None:
        sessions = of_kind("session")
        (kept,) = (k for k in of_kind("kept").values() if sessions[k.session].result == "won")
        won = sessions[kept.session]
        back = next(s for s in SESSIONS if s.based_on == kept.session)
        assert won.event != back.event
        assert [won.corner(c).damper == back.corner(c).damper for c in CORNERS] == [
            True, False, True, True,
        ]  # fmt: skip

    @pytest.mark.parametrize(("direction", "was", "now"), [("rebound", 8, 10), ("bump", 10, 8)])
    def test_its_clicks_give_the_nearest_curve(self, direction: str, was: int, now: int) -> None:
        """Against every other click of FP-0619 on the bench without scatter, 25 to 250 mm/s."""
        speeds = np.array([25, 50, 100, 150, 250]) * 1e-3
        old, new = SHEETS["FP-0612-A"].unit, SHEETS["FP-0619-C"].unit
        wanted = old.force(direction, was, speeds, preload=3)
        miss = [
            np.linalg.norm(new.force(direction, new.clicks - count, speeds, preload=2) - wanted)
            for count in range(new.clicks + 1)
        ]
        assert int(np.argmin(miss)) == now

    def test_the_last_outing_against_the_one_before(self) -> None:
        last = SESSIONS[-1]
        before = [s for s in SESSIONS[:-1] if s.driver == last.driver][-1]
        changed = {
            f"{corner}.{name}": (before.corner(corner).si(name), last.corner(corner).si(name))
            for corner in CORNERS
            for name in ADJUSTERS
            if before.corner(corner).si(name) != last.corner(corner).si(name)
        }
        assert changed == {"FL.rebound_bleed": (8, 6), "FR.rebound_bleed": (10, 12)}
        assert SESSIONS[-3].driver != last.driver  # somebody else drove the car in between
        me = next(e for e, s in of_kind("session").items() if s == last)
        assert any(note.session == me for note in of_kind("note").values())

    @pytest.mark.parametrize(("serial", "hard"), [("FP-0611-A", (8, 6)), ("FP-0619-C", (6, 4))])
    def test_two_clicks_are_worth_what_the_readme_says(
        self, serial: str, hard: tuple[int, int]
    ) -> None:
        """About 100 N at 50 mm/s and about 30 N at 100 mm/s, on the bench without scatter."""
        speeds = np.array([50, 100]) * 1e-3
        before, after = (SHEETS[serial].unit.force("rebound", p, speeds) for p in hard)
        assert after - before == pytest.approx([100, 30], rel=0.4)
