"""Records in cells: each value kept when left, one undo; what cannot be read stays and is told."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len
from textual import events

from tests.tui.conftest import Drive, screen_text, until
from trackside.crew.cell_text import MOMENTS, change, describe_value, spread, text_of
from trackside.crew.forms import FORMS, entries
from trackside.errors import BadInput, BadNumber, LogbookFull
from trackside.logbook import Logbook, dampers, drop, patch
from trackside.preferences import PRESETS, Preferences
from trackside.records import Build, Car
from trackside.reports.mark_words import figure_problem
from trackside.tui.screens.record import LABEL_WIDTH, RecordPage
from trackside.tui.screens.shed import ShedPage

SIZES = [(80, 24), (120, 40)]
METRIC = Preferences()


def _change(key: str, text: str, body: dict, form: str = "damper") -> dict:
    entry = entries(form)[key]
    return change(entry.kind, body, {entry: text}, METRIC)


@pytest.fixture
def build() -> dict:
    knob = {"acts_on": "bump_bleed", "clicks": 20, "counted_from": "hard", "step": 1.0}
    return {"damper": "X-1", "version": "A", "adjusters": [knob]}


def test_text_of_a_number_reads_back_as_the_same_number(build: dict) -> None:
    entry = entries("damper")["build.piston_diameter"]
    patch = _change(entry.key, "46.02", build)
    kept = {"typed": "46.02", "unit": "mm", "si": pytest.approx(0.04602)}
    assert patch == {"piston_diameter": kept}
    shown = text_of(entry, build | patch, METRIC)
    assert shown == "46.02"
    assert entry.label_in(METRIC) == "Piston ⌀ mm"
    assert describe_value("build", entry.path, patch["piston_diameter"], METRIC) == "46.02 mm"
    assert _change(entry.key, shown, build) == patch


@pytest.mark.parametrize(
    ("typed", "metric", "inches"),
    [("46,0", "46,0", "1.81102"), ("1.811 in", "1.811 in", "1.811 in")],
)
def test_a_figure_stays_as_it_was_typed(build: dict, typed: str, metric: str, inches: str) -> None:
    entry = entries("damper")["build.piston_diameter"]
    body = build | _change(entry.key, typed, build)
    assert text_of(entry, body, METRIC) == metric
    # inch: 25.4 mm by definition
    assert text_of(entry, body, Preferences(units={"length": "in"})) == inches
    assert Build.checked(body).piston_diameter == pytest.approx(0.046, rel=1e-3)


def test_a_figure_of_an_earlier_version_is_read_and_shown(build: dict) -> None:
    entry, body = entries("damper")["build.gas_pressure"], build | {"gas_pressure": 16e5}
    assert text_of(entry, body, METRIC) == "16"
    assert describe_value("build", entry.path, 16e5, METRIC) == "16 bar"
    assert Build.checked(body).gas_pressure == 16e5


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("build.gas_pressure", "16000", "16000.00 bar is outside 2.00 to 40.00 bar"),
        ("build.piston_diameter", "0.8", "0.8 mm is outside 15.0 to 80.0 mm"),
        ("build.gas_pressure", "16", ""),
        ("build.piston_diameter", "46", ""),
    ],
)
def test_what_cannot_be_right_is_kept_and_marked(
    build: dict, key: str, text: str, said: str
) -> None:
    entry = entries("damper")[key]
    body = build | _change(key, text, build)
    assert text_of(entry, body, METRIC) == text
    found = figure_problem(entry, body, METRIC)
    assert found.startswith(said) if said else found == ""


def test_figures_that_do_not_go_together_are_marked(build: dict) -> None:
    by_key = entries("damper")
    thick = build | {"oil_viscosity_40": 15e-6, "oil_viscosity_100": 40e-6}
    assert "swapped" in figure_problem(by_key["build.oil_viscosity_100"], thick, METRIC)
    car = {"name": "n", "FL": {"mass": 40.0, "unsprung_mass": 300.0}}
    assert "150.0 kg" in figure_problem(entries("car")["car.FL.unsprung_mass"], car, METRIC)
    car = {"name": "n", "FL": {"mass": 40.0, "unsprung_mass": 50.0}}
    assert "swapped" in figure_problem(entries("car")["car.FL.unsprung_mass"], car, METRIC)


def test_a_motion_ratio_is_a_number_or_a_table() -> None:
    entry, car = entries("car")["car.FL.motion_ratio"], {"name": "n"}
    table = "−30:0.70 0:0,72 30:0.76"
    patch = change("car", car, {entry: table}, METRIC)
    assert patch == {"FL.motion_ratio": {"typed": table, "unit": "", "si": 0.72}}
    body = car | {"FL": {"motion_ratio": patch["FL.motion_ratio"]}}
    assert text_of(entry, body, METRIC) == table
    corner = Car.checked(body).FL
    assert corner.motion_ratio == 0.72
    assert corner.motion_table == ((-0.03, 0.7), (0.0, 0.72), (0.03, 0.76))
    for wrong, why in (("10:0.7 30:0.8", "at 0"), ("0:0.7 0:0.8", "rise"), ("0:0.7 x", "not a")):
        with pytest.raises(BadNumber, match=why):
            change("car", car, {entry: wrong}, METRIC)


def test_a_knob_is_kept_whole(build: dict) -> None:
    with pytest.raises(BadInput, match="hard or soft"):
        _change("build.adjusters.rebound_bleed.clicks", "16", build)
    by_key = entries("damper")
    texts = {
        by_key["build.adjusters.rebound_bleed.clicks"]: "16",
        by_key["build.adjusters.rebound_bleed.counted_from"]: "s",
    }
    adjusters = change("build", build, texts, METRIC)["adjusters"]
    assert {"acts_on": "rebound_bleed", "clicks": 16, "counted_from": "soft"} in adjusters
    assert len(adjusters) == 2
    assert _change("build.adjusters.bump_bleed.clicks", "", build) == {"adjusters": []}


@pytest.mark.parametrize(
    ("key", "text", "why"),
    [
        ("build.adjusters.bump_bleed.clicks", "20.5", "whole number"),
        ("build.adjusters.bump_bleed.counted_from", "left", "hard or soft"),
        ("build.piston_diameter", "46 bar", "not a unit of length"),
        ("build.stroke", "-3", "not above 0:"),
        ("build.version", "", "cannot be empty"),
        ("build.date", "9 May", "like 2026-05-09"),
        ("build.adjusters.bump_bleed.share_per_click", "140", "not below 1:"),
    ],
)
def test_what_cannot_be_is_told(build: dict, key: str, text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        _change(key, text, build)


def test_a_shared_knob_beside_a_single_one_is_refused(build: dict) -> None:
    by_key = entries("damper")
    at = "build.adjusters.both_bleed"
    texts = {by_key[f"{at}.clicks"]: "12", by_key[f"{at}.counted_from"]: "hard"}
    with pytest.raises(BadInput, match="both directions"):
        change("build", build, texts, METRIC)


def test_every_entry_is_a_field_of_its_record() -> None:
    """A full body of every form passes its record's own checks, entry by entry."""
    sample = {"count": "12", "clicks": "1", "ratio": "0.8", "share": "8", None: "words"}
    for form, parts in FORMS.items():
        for section in (s for sections in parts.values() for s in sections):
            base = {
                "event": {"venue": "v", "date": "2026-05-09"},
                "car": {"name": "n"},
                "damper": {"serial": "s"},
                "build": {"damper": "s", "version": "A"},
                "weighing": {},
                "weather": {},
                "counter": {"part": "engine"},
                "tyre_set": {"name": "S1"},
                "strip_down": {"damper": "s"},
                "box_part": {"sort": "disc"},
            }[section.entries[0].kind]
            texts = {e: _text_for(e, sample) for e in section.entries}
            for group in dict.fromkeys(e.group for e in texts):
                some = {e: t for e, t in texts.items() if e.group == group}
                patch = change(section.entries[0].kind, base, some, METRIC)
                kept = spread(base | _nested(patch))
                assert all(e.path in kept for e in some), (form, group)


def _text_for(entry, sample: dict) -> str:  # type: ignore[no-untyped-def]
    if entry.choices:
        return entry.choices[0]
    if entry.path in ("date", "last_day", *MOMENTS):
        return "2026-05-09"
    if entry.path == "stops":
        return "red = 40/1.5/20"
    return sample.get(entry.quantity, "20")


def _nested(patch: dict) -> dict:
    body: dict = {}
    for path, value in patch.items():
        head, _, name = path.partition(".")
        if name:
            body.setdefault(head, {})[name] = value
        else:
            body[head] = value
    return body


@pytest.mark.parametrize("preset", sorted(PRESETS))
@pytest.mark.parametrize("form", sorted(FORMS))
def test_every_label_has_room_for_its_unit(form: str, preset: str) -> None:
    """A column between label and value; beside each other at 80 columns, in any crew's units."""
    preferences = Preferences(preset=preset)
    for entry in entries(form).values():
        label = entry.label_in(preferences)
        assert cell_len(label) < LABEL_WIDTH, label
        if entry.quantity in ("mass", "length", "spring rate", "pressure", "force", "speed"):
            unit = entry.unit or preferences.unit(entry.quantity)
            assert label.endswith(f" {unit}")


# ── the page ────────────────────────────────────────────────────────────────────────────────────


async def _damper(pilot, serial: str) -> RecordPage:  # type: ignore[no-untyped-def]
    await pilot.press("b")
    await until(pilot, lambda: isinstance(pilot.app.screen, ShedPage) and pilot.app.focused)
    page = pilot.app.screen
    page.wanted = serial
    page.redraw()
    await pilot.pause()
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage) and pilot.app.focused)
    await pilot.pause()
    return pilot.app.screen


@pytest.mark.parametrize("size", SIZES)
async def test_every_cell_is_on_the_screen(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _damper(pilot, "RP-0713")
        for part in FORMS["damper"]:
            assert page.part == part
            text = screen_text(pilot.app)
            for path in page.grid.paths:
                assert page.grid.cell(path).label in text
            assert page.grid.size.height >= max(page.grid.places.line_of.values()) + 1
            await pilot.press("tab")
            await pilot.pause()


async def test_a_value_is_kept_when_left_and_taken_back_by_one_undo(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await _damper(pilot, "RP-0713")
        entity = page.view.form["build"]
        before = page.desk.logbook.state(entity)
        page.grid.go("build.stroke")
        await pilot.press(*"4 in", "enter")
        await pilot.pause()
        # inch: 25.4 mm by definition
        assert page.desk.logbook.state(entity)["stroke"]["typed"] == "4 in"
        await until(pilot, lambda: page.desk.shed.build("RP-0713").stroke == pytest.approx(0.1016))
        await pilot.press("ctrl+u", "u")
        await pilot.pause()
        assert page.desk.logbook.state(entity) == before
        await until(pilot, lambda: page.desk.shed.build("RP-0713").stroke == before["stroke"])
        await pilot.pause()
        assert "stroke: 4 in → 120 mm" in screen_text(pilot.app)


async def test_unreadable_text_stays_and_replaces_nothing(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _damper(pilot, "RP-0713")
        entity = page.view.form["build"]
        before = page.desk.logbook.state(entity)
        page.grid.go("build.stroke")
        await pilot.press(*"12 bar", "enter")
        await pilot.pause()
        text = screen_text(pilot.app)
        assert "12 bar" in text
        assert "•" in text
        page.grid.go("build.stroke")
        await pilot.pause()
        assert "not a unit of length" in screen_text(pilot.app)
        assert page.desk.logbook.state(entity) == before
        await pilot.press("escape")
        again = await _damper(pilot, "RP-0713")
        assert again._shown("build.stroke").text == "12 bar"


@pytest.mark.parametrize("size", SIZES)
async def test_a_car_says_the_units_of_its_figures(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _car(pilot)
        text = screen_text(pilot.app)
        for label in ("Wheelbase mm", "Scales kg", "Spring N/mm", "Stop gap mm"):
            assert label in text
        entity = page.view.form["car"]
        page.grid.go("car.wheelbase")
        await pilot.press(*"2710", "enter")
        await pilot.pause()
        assert page.desk.logbook.state(entity)["wheelbase"]["si"] == pytest.approx(2.71)
        line = next(li for li in screen_text(pilot.app).split("\n") if "Wheelbase mm" in li)
        assert line.split("Wheelbase mm")[1].split()[0] == "2710"


async def _car(pilot) -> RecordPage:  # type: ignore[no-untyped-def]
    car = pilot.app.desk.session.car
    pilot.app.screen.open_record({"car": car})
    await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage) and pilot.app.focused)
    await pilot.pause()
    return pilot.app.screen


async def test_a_car_that_was_undone_is_said(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _car(pilot)
        page.desk.logbook.write(drop("car", page.view.form["car"]))
        page.redraw()
        for key in ("ctrl+n", "pagedown", "tab", "enter"):
            await pilot.press(key)
            await pilot.pause()
            assert pilot.app.screen is page
            assert "no longer in the logbook" in screen_text(pilot.app)


async def test_a_damper_that_was_undone_is_said(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        desk.write(*dampers.new_damper(desk.logbook, "Q-77"))
        await until(pilot, lambda: desk.shed.damper("Q-77"))
        page = await _damper(pilot, "Q-77")
        await pilot.press("ctrl+u", "u")
        await until(pilot, lambda: not desk.shed.damper("Q-77"))
        for key in ("pagedown", "pageup", "tab"):
            await pilot.press(key)
            await pilot.pause()
            assert pilot.app.screen is page
            assert "no longer in the logbook" in screen_text(pilot.app)


async def test_what_is_typed_for_a_record_that_goes_meanwhile_stands_till_it_is_back(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await _car(pilot)
        car = page.view.form["car"]
        page.grid.go("car.words")
        await pilot.press("enter", *"new harness")
        page.desk.logbook.write(drop("car", car))
        page.bodies = {}
        page.leave()
        page.desk.logbook.undo()
        page.redraw()
        assert page._shown("car.words").text.endswith("new harness")


async def test_a_serial_that_sessions_name_is_not_changed(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _damper(pilot, "RP-0713")
        page.grid.go("damper.serial")
        await pilot.press("enter", "x", "enter")
        await pilot.pause()
        page.grid.go("damper.serial")
        await pilot.pause()
        assert "sessions name RP-0713" in screen_text(pilot.app)
        assert page.desk.logbook.state(page.view.form["damper"])["serial"] == "RP-0713"


async def test_a_serial_put_right_takes_its_builds_along(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        desk.write(*dampers.new_damper(desk.logbook, "Q-77"))
        await until(pilot, lambda: desk.shed.damper("Q-77"))
        page = await _damper(pilot, "Q-77")
        page.grid.go("damper.serial")
        await pilot.press("enter", "end", "8", "enter")
        await until(pilot, lambda: desk.shed.damper("Q-778"))
        assert desk.shed.build("Q-778").version == "A"
        assert "Q-778" in screen_text(pilot.app)
        await pilot.press("ctrl+u", "u")
        await until(pilot, lambda: desk.shed.damper("Q-77"))
        assert desk.shed.build("Q-77").version == "A"


async def test_a_retry_by_itself_that_fails_for_the_same_says_nothing(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        desk.write(*dampers.new_damper(desk.logbook, "Q-77"))
        await until(pilot, lambda: desk.shed.damper("Q-77"))
        page = await _damper(pilot, "Q-77")
        page.grid.go("damper.serial")

        def write(*_: object, **__: object) -> None:
            raise LogbookFull("the disk is full", "make room")

        with monkeypatch.context() as patched:
            patched.setattr(desk.logbook, "write", write)
            await pilot.press("enter", "end", "8", "enter")
            said = page.view.news
            assert "the disk is full" in said[0]
            page.again()
            assert page.view.news == said
        page.again()
        assert desk.logbook.state(page.view.form["damper"])["serial"] == "Q-778"


async def test_an_event_without_a_session_waits_on_the_board(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("e")
        await until(pilot, lambda: getattr(pilot.app.screen, "grid", None) is not None)
        await until(pilot, lambda: pilot.app.screen.grid.buffer is not None)
        await pilot.press(*"Skerrow", "enter", "escape")
        await until(pilot, lambda: "Skerrow" in screen_text(pilot.app))
        await pilot.press("n", "enter")  # of the car that ran last
        await until(pilot, lambda: pilot.app.desk.line().venue == "Skerrow")
        assert pilot.app.desk.line().number == "1"


async def test_a_heading_takes_nothing_up_that_the_cells_do_not_show(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await _car(pilot)
        entity, logbook = page.view.form["car"], page.desk.logbook
        pilot.app.watching.is_typing = lambda: True  # type: ignore[attr-defined,method-assign]
        with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
            other.write(patch("car", entity, {"name": "Cleo"}))
        page.subject()
        page.desk.amend("car", entity, {"name": "Ben"})
        assert page.desk.flush() == []
        assert [(one.entity, one.path) for one in logbook.open_conflicts()] == [(entity, "name")]


async def test_what_cannot_be_read_is_told_of_its_own_cell(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _damper(pilot, "RP-0402")
        page.turn_part(2)
        await pilot.pause()
        at = "build.shop_rules.bump"
        page.grid.go(f"{at}.full_hard_force")
        await pilot.press(*"abc", "enter")
        assert "Full hard: “abc” is not a number" in screen_text(pilot.app)
        page.grid.go(f"{at}.share_per_click")
        await pilot.press(*"4.5", "enter")
        page.grid.go(f"{at}.share_per_click")
        await pilot.pause()
        told = " ".join(screen_text(pilot.app).split())
        assert "A click: not saved yet: put Full hard right first" in told
        page.grid.go(f"{at}.full_hard_force")
        await pilot.pause()
        assert "Full hard: “abc” is not a number" in screen_text(pilot.app)


async def test_a_count_of_clicks_that_no_knob_has_is_marked(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        logbook = pilot.app.desk.logbook
        every = [dampers.records_of(logbook, b["serial"]) for _, b in logbook.all("damper")]
        records = next(
            r
            for r in every
            for knob in (logbook.state(r.get("build", "")) or {}).get("adjusters", ())
            if knob["acts_on"] == "bump_bleed"
        )
        pilot.app.screen.open_record(records)
        await pilot.pause()
        await pilot.press("tab")
        page, at = pilot.app.screen, "build.adjusters.bump_bleed.clicks"
        page.grid.go(at)
        for typed, mark in (("1818", "!"), ("18", "")):
            pilot.app.post_message(events.Paste(typed))
            await pilot.press("enter")
            page.grid.go(at)
            page.desk.flush()
            await pilot.pause()
            assert page._shown(at).text == typed
            assert page._shown(at).mark == mark
            print(screen_text(pilot.app))
            said = "1818 is outside 1 to 60: right unit, right field?" in screen_text(pilot.app)
            assert said == bool(mark)
