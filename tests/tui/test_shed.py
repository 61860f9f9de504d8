"""The damper shed: what is told of a damper, strip-downs, and sheets from files."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from textual.widgets import Input, Static, TextArea

from tests.tui.conftest import Drive, screen_text, until
from trackside.analysis.shed import fit_of
from trackside.damper.gas import ZERO_C
from trackside.errors import LogbookFull
from trackside.logbook import dampers, put
from trackside.logbook.column_names import known_columns
from trackside.logbook.dampers import last_ran
from trackside.logbook.samples import samples_folder
from trackside.logbook.unread import Unread
from trackside.reports.bench_words import sheet_lines
from trackside.reports.sheet_picture import sheet_drawing
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.shed import ShedPage
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]


async def _shed(pilot, serial: str = "") -> ShedPage:  # type: ignore[no-untyped-def]
    await pilot.press("b")
    await until(pilot, lambda: isinstance(pilot.app.screen, ShedPage) and pilot.app.focused)
    page = pilot.app.screen
    await until(pilot, lambda: page.places)
    if serial:
        page.wanted = serial
        page.redraw()
        await pilot.pause()
    return page


def _words(page: ShedPage) -> str:
    return str(page.query_one("#words", Static).content)


@pytest.mark.parametrize("key", ["enter", "l", "B"])
async def test_a_shed_that_is_still_being_read_is_not_called_empty(
    season_file: Path, drive: Drive, key: str
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot)
        page.desk.shed, known = None, page.desk.shed
        await pilot.press(key)
        await pilot.pause()
        told = screen_text(pilot.app)
        assert "no damper yet" not in told
        assert "enter the damper" not in told
        page.desk.shed = known


@pytest.mark.parametrize("size", SIZES)
async def test_a_damper_is_told(season_file: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "TW-2241")
        text = _words(page)
        assert text.index("Build B") < text.index("Build A")
        assert "clicks from full" in text
        assert "at 20 °C" in text
        assert "2026-10-18 RL" in screen_text(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_its_sheet_is_fitted_and_drawn(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "RP-0713")
        await pilot.press("tab")
        await until(pilot, lambda: "% rms" in _words(page))
        shed = page.desk.shed
        build = shed.build("RP-0713")
        fit = fit_of(shed.sheet(build), build)
        assert f"{fit.rebound.rms_percent:.1f} % rms" in _words(page)
        await until(pilot, lambda: "┤" in screen_text(pilot.app))
        assert "stack leaves its seat at" in _words(page)


def test_every_sample_sheet_can_be_drawn(samples) -> None:  # type: ignore[no-untyped-def]
    from trackside.analysis.shed import Shed
    from trackside.preferences import Preferences

    shed = Shed.of(samples)
    for sheet in shed.sheets:
        build = shed.build(sheet.damper, sheet.build)
        fit = fit_of(sheet, build)
        drawing = sheet_drawing(sheet, build, fit, 60, 16, Preferences())
        told = "\n".join(line for _, line in sheet_lines(sheet, build, fit, Preferences()))
        assert "nan" not in told
        assert "inf" not in told
        assert [len(line) for line in drawing.plain().split("\n")] == [60] * 16


async def test_a_strip_down_copies_the_build_and_forgets_the_charge(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        old = page.desk.shed.build("RP-0713")
        await pilot.press("B")
        await until(pilot, lambda: isinstance(pilot.app.focused, TextArea))
        assert "Release all gas first" in screen_text(pilot.app)
        await pilot.press(*"new seal", "ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage))
        await until(pilot, lambda: page.desk.shed.build("RP-0713").version == "B")
        new = page.desk.shed.build("RP-0713")
        assert (new.adjusters, new.piston_diameter) == (old.adjusters, old.piston_diameter)
        assert new.gas_pressure is None
        assert new.work == "new seal"
        assert page.desk.shed.sheet(new) is None
        await pilot.press("ctrl+u", "u")
        await until(pilot, lambda: page.desk.shed.build("RP-0713").version == "A")


@pytest.mark.parametrize(
    ("typed", "keys"),
    [("", ["escape"]), ("new seal", ["escape"]), ("", ["ctrl+s"]), ("new", ["tab", "n", "enter"])],
)
async def test_no_build_comes_of_a_strip_down_that_nobody_wrote_down(
    season_file: Path, drive: Drive, typed: str, keys: list[str]
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        await _form(pilot, "B")
        await pilot.press(*typed, *keys)
        await until(pilot, lambda: pilot.app.screen is page)
        await pilot.pause()
        assert len(page.desk.logbook.all("build")) == len(page.desk.shed.builds)
        assert page.desk.logbook.undo() == []


async def _form(pilot, key: str) -> Ask:  # type: ignore[no-untyped-def]
    await pilot.press(key)
    await until(pilot, lambda: isinstance(pilot.app.focused, (Input, TextArea)))
    return pilot.app.screen


@pytest.mark.parametrize(("key", "name"), [("B", "work"), ("l", "path"), ("n", "serial")])
async def test_escape_writes_nothing_and_keeps_the_words_for_the_next_time(
    season_file: Path, drive: Drive, key: str, name: str
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        counts = [len(page.desk.logbook.all(kind)) for kind in ("damper", "build", "sheet")]
        await _form(pilot, key)
        await pilot.press(*"half a word", "escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await pilot.pause()
        kinds = ("damper", "build", "sheet")
        assert [len(page.desk.logbook.all(kind)) for kind in kinds] == counts
        form = await _form(pilot, key)
        assert form.typed()[name] == "half a word"


async def test_a_strip_down_that_the_logbook_refuses_stays_in_its_form(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")

        def refuse(*_: object, **__: object) -> None:
            raise LogbookFull("the disk is full", "make room")

        monkeypatch.setattr(page.desk, "write", refuse)
        await _form(pilot, "B")
        await pilot.press(*"new seal", "ctrl+s")
        await until(pilot, lambda: "the disk is full" in screen_text(pilot.app))
        assert isinstance(pilot.app.screen, Ask)
        assert pilot.app.screen.typed()["work"] == "new seal"


async def test_an_answer_that_is_neither_yes_nor_no_builds_nothing(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        await _form(pilot, "B")
        await pilot.press(*"new seal", "tab", *"hm", "enter")
        await until(pilot, lambda: "“hm” is not on the list" in screen_text(pilot.app))
        await pilot.press("ctrl+s")  # kept all the same: refused
        await until(pilot, lambda: "type yes or no" in screen_text(pilot.app))
        await pilot.press("escape")
        assert len(page.desk.logbook.all("build")) == len(page.desk.shed.builds)
        assert (await _form(pilot, "B")).typed()["work"] == "new seal"


async def test_a_charge_below_absolute_zero_is_a_sentence(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        where = last_ran(desk.logbook)["tw-2241"]
        cold = {"typed": "-300", "unit": "°C", "si": -ZERO_C - 27}
        desk.take(where.session)
        desk.keep_all({f"{where.corner}.gas_temperature": cold})
        page = await _shed(pilot, "TW-2241")
        assert "below absolute zero" in _words(page)
        assert "Build B" in _words(page)


async def test_the_list_outlives_a_session_that_was_undone(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("n")
        await pilot.pause()
        newest = pilot.app.desk.entity
        assert pilot.app.desk.keep_text("status", "done")
        pilot.app.desk.flush()
        await pilot.press("escape")
        page = await _shed(pilot, "RP-0713")
        assert page.places["rp-0713"].session == newest
        page.desk.logbook.undo()
        page.desk.logbook.undo()
        page.query_one("#dampers").refresh()
        page._draw()
        await pilot.press("u", "u")
        await until(pilot, lambda: page.places["rp-0713"].session != newest)
        assert isinstance(pilot.app.screen, ShedPage)


@pytest.mark.parametrize("size", SIZES)
async def test_records_that_cannot_be_read_stand_below_the_dampers(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "RP-0713")
        one = Unread("build", "e", "build “[/b ZZ-1 · C”", "stroke: no number", whole=True)
        sentence = "build “[/b ZZ-1 · C” is left out: stroke: no number"
        page.desk.shed = replace(page.desk.shed, unread=(one,))
        page.redraw()
        await pilot.press("end")
        await pilot.pause()
        assert f"! {sentence}" in screen_text(pilot.app)
        assert sentence in _words(page)
        for key in ("enter", "B", "l"):
            await pilot.press(key)
            await pilot.pause()
            assert pilot.app.screen is page


async def test_a_sheet_that_cannot_be_fitted_is_not_taken_in(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    file = tmp_path / "two.csv"
    file.write_text("position,direction,speed_mm_s,force_N\n0,bump,50,100\n0,bump,100,200\n")
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        many = len(page.desk.shed.sheets)
        await pilot.press("l")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        pilot.app.focused.value = str(file)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "not taken in" in screen_text(pilot.app))
        assert len(page.desk.shed.sheets) == many
        assert (await _form(pilot, "l")).typed()["path"] == str(file)


def test_the_bleed_alone_is_told_as_a_force(samples) -> None:  # type: ignore[no-untyped-def]
    """An orifice of coefficient b passes v at F = (v/b)² (orifice law, derived)."""
    from trackside.analysis.shed import Shed
    from trackside.preferences import Preferences

    shed = Shed.of(samples)
    build = shed.build("SA-3107")
    sheet = shed.sheet(build)
    fit = fit_of(sheet, build)
    bleed = next(p.value for p in fit.bump.parameters if p.name == "bleed at 9")
    lines = [line for _, line in sheet_lines(sheet, build, fit, Preferences())]
    told = next(line for line in lines if line.startswith(" bleed at 9: "))
    assert told.startswith(f" bleed at 9: {(0.05 / bleed) ** 2:.0f} N (")
    assert told.endswith("alone at 50 mm/s")


async def test_the_crew_chooses_which_sheet_counts(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        await pilot.press("C")
        await pilot.pause()
        assert "nothing to choose" in screen_text(pilot.app)
        first = page.desk.shed.sheet(page.desk.shed.build("RP-0713"))
        weak = tuple(row._replace(force=0.9 * row.force) for row in first.rows)
        again = first.model_copy(update={"rows": weak, "date": "2026-11-01", "source": "again.csv"})
        page.desk.write(put("sheet", again.body()))

        def counting() -> str:
            return page.desk.shed.sheet(page.desk.shed.build("RP-0713")).date

        await until(pilot, lambda: counting() == "2026-11-01")
        await until(pilot, lambda: "is lost" in _words(page))
        told = re.search(r"! rebound −([\d.]+) % ±", _words(page))
        assert told
        # force × 0.9 is −10 %; the scatter assumed beforehand is in newtons, not in its share
        assert float(told[1]) == pytest.approx(10.0, abs=0.15)
        assert "of the force is lost" in screen_text(pilot.app)
        assert "again.csv, counts" in _words(page)
        await pilot.press("C")
        await until(pilot, lambda: counting() == first.date)
        await until(pilot, lambda: f"{first.source}, counts" in _words(page))
        entity = dampers.records_of(page.desk.logbook, "RP-0713")["build"]
        assert page.desk.logbook.history(entity)[0].changes.keys() == {"sheet"}
        page.desk.logbook.undo()
        assert not (page.desk.logbook.state(entity) or {}).get("sheet")


async def test_a_sheet_that_lost_force_is_kept_and_says_so(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    """RP-0713's own sheet again with a tenth off every force."""
    first = (samples_folder() / "dyno" / "RP-0713-A.csv").read_text("utf-8").splitlines()
    at = first[0].split(",").index("force_N")
    rows = [line.split(",") for line in first[1:] if line.strip()]
    for row in rows:
        row[at] = f"{0.9 * float(row[at]):.1f}"
    file = tmp_path / "RP-0713-again.csv"
    file.write_text("\n".join([first[0], *(",".join(row) for row in rows)]), "utf-8")
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        many = len(page.desk.shed.sheets)
        await pilot.press("l")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        pilot.app.focused.value = str(file)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "against the first sheet bump −" in screen_text(pilot.app))
        await until(pilot, lambda: len(page.desk.shed.sheets) == many + 1)


async def _loaded(pilot, file: Path) -> None:  # type: ignore[no-untyped-def]
    await pilot.press("l")
    await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
    pilot.app.focused.value = str(file)
    await pilot.press("ctrl+s")
    await until(pilot, lambda: "before it counts" in screen_text(pilot.app))


def _strong(tmp_path: Path) -> Path:
    """RP-0713's own sheet again with half as much again on every force."""
    first = (samples_folder() / "dyno" / "RP-0713-A.csv").read_text("utf-8").splitlines()
    at = first[0].split(",").index("force_N")
    rows = [line.split(",") for line in first[1:] if line.strip()]
    for row in rows:
        row[at] = f"{1.5 * float(row[at]):.1f}"
    file = tmp_path / "RP-0713-again.csv"
    file.write_text("\n".join([first[0], *(",".join(row) for row in rows)]), "utf-8")
    return file


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("answer", ["count", "keep", "drop", "escape"])
async def test_a_sheet_with_serious_warnings_is_looked_at_before_it_counts(
    season_file: Path, drive: Drive, tmp_path: Path, size: tuple[int, int], answer: str
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "RP-0713")
        many = len(page.desk.shed.sheets)
        await _loaded(pilot, _strong(tmp_path))
        assert "changed by +50 %" in screen_text(pilot.app)
        await pilot.press(*(["escape"] if answer == "escape" else [*answer, "enter"]))
        await until(pilot, lambda: pilot.app.screen is page)
        if answer in ("drop", "escape"):
            await pilot.pause()
            assert len(page.desk.shed.sheets) == many
            assert (await _form(pilot, "l")).typed()["path"].endswith("RP-0713-again.csv")
            return
        await until(pilot, lambda: len(page.desk.shed.sheets) == many + 1)
        build = page.desk.shed.build("RP-0713")
        counts = page.desk.shed.sheet(build).source == "RP-0713-again.csv"
        assert counts is (answer == "count")
        newest = page.desk.shed.sheets_of(build)[-1]
        assert newest.seen_by == (page.desk.logbook.author if answer == "count" else "")
        assert (await _form(pilot, "l")).typed()["path"] == ""


async def test_a_sheet_added_beside_a_chosen_one_is_said_not_to_count(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    """As on the command line: the crew hears that the newest sheet is not the one that counts."""
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        shed = page.desk.shed
        [(name, _)] = shed.named_sheets(shed.build("RP-0713"))
        entity = dampers.records_of(page.desk.logbook, "RP-0713")["build"]
        page.desk.amend("build", entity, {"sheet": name})
        await until(pilot, lambda: page.desk.shed.build("RP-0713").sheet == name)
        await _loaded(pilot, _strong(tmp_path))
        await pilot.press(*"count", "enter")
        await until(
            pilot, lambda: "was chosen to count" in " ".join(screen_text(pilot.app).split())
        )
        assert page.desk.shed.sheet(page.desk.shed.build("RP-0713")).source == "RP-0713-A.csv"


async def test_a_sheet_that_waits_is_signed_for_in_the_shed(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        await _loaded(pilot, _strong(tmp_path))
        await pilot.press(*"keep", "enter")
        await until(pilot, lambda: "does not count until" in screen_text(pilot.app))
        await pilot.press("tab", "C")
        await until(pilot, lambda: "before it counts" in screen_text(pilot.app))
        await pilot.press(*"count", "enter")

        def counting() -> str:
            return page.desk.shed.sheet(page.desk.shed.build("RP-0713")).source

        await until(pilot, lambda: counting() == "RP-0713-again.csv")
        await pilot.press("u", "u")
        await until(pilot, lambda: counting() == "RP-0713-A.csv")


@pytest.mark.parametrize("size", SIZES)
async def test_the_columns_of_a_machine_are_asked_for_once(
    season_file: Path, drive: Drive, tmp_path: Path, size: tuple[int, int]
) -> None:
    """SA-3107's own sheet under names that nobody knows, with semicolons and decimal commas."""
    lines = (samples_folder() / "dyno" / "SA-3107-A.csv").read_text("utf-8").splitlines()
    names = {"position": "Stellung", "direction": "Zug/Druck", "speed_mm_s": "v", "force_N": "F"}
    head = ";".join(names.get(name, name) for name in lines[0].split(","))
    rows = [
        line.replace(".", "§").replace(",", ";").replace("§", ",") for line in lines[1:] if line
    ]
    file = tmp_path / "bench.txt"
    file.write_text("\n".join(["Prüfstand", head, *rows]), "latin-1")
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "SA-3107")
        many = len(page.desk.shed.sheets)
        await _form(pilot, "l")
        pilot.app.focused.value = str(file)
        await pilot.press("tab", "tab", "tab", *"no", "ctrl+s")
        await until(pilot, lambda: "Columns of" in screen_text(pilot.app))
        assert "line 2 has no column speed_mm_s, force_N" in screen_text(pilot.app)
        typed = pilot.app.screen.typed()
        assert list(typed.values())[:4] == ["", "", "", ""]
        await pilot.press(*"po", "tab", *"dir", "tab", *"speed_mm", "tab", *"force_N", "ctrl+s")
        await until(pilot, lambda: "already" in screen_text(pilot.app))
        [machine] = known_columns()
        assert machine == {
            "stellung": "position", "zug/druck": "direction", "v": "speed_mm_s", "f": "force_N",
            "oil_c": "oil_C",
        }  # fmt: skip
        assert len(page.desk.shed.sheets) == many, "it is the sheet that the damper has"


@pytest.mark.parametrize("size", SIZES)
async def test_a_foreign_table_asks_for_its_gas(
    season_file: Path, drive: Drive, tmp_path: Path, size: tuple[int, int]
) -> None:
    lines = (samples_folder() / "dyno" / "SA-3107-A.csv").read_text("utf-8").splitlines()
    lines[0] = lines[0].replace("speed_mm_s", "Speed (mm/s)").replace("force_N", "Force (N)")
    at = lines[0].split(",").index("Force (N)")
    rows = [line.split(",") for line in lines[1:] if line]
    for row in rows:
        row[at] = f"{0.98 * float(row[at]):.1f}"
    file = tmp_path / "bench.txt"
    file.write_text("\n".join([lines[0], *(",".join(row) for row in rows)]))
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "SA-3107")
        many = len(page.desk.shed.sheets)
        await _form(pilot, "l")
        pilot.app.focused.value = str(file)
        await pilot.press("ctrl+s")
        asked = "does not say whether gas force is still in"
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask) and asked in _flat(pilot))
        assert pilot.app.screen.typed()["path"] == str(file)
        await pilot.press("tab", "tab", "tab", *"no", "ctrl+s")
        await until(pilot, lambda: len(page.desk.shed.sheets) == many + 1)
        assert page.desk.shed.sheets_of(page.desk.shed.build("SA-3107"))[-1].gas_in is False


def _flat(pilot) -> str:  # type: ignore[no-untyped-def]
    """The screen as one line: a sentence may be folded."""
    return " ".join(screen_text(pilot.app).replace("▌", " ").replace("▐", " ").split())
