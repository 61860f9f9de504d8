"""The pit board's rows: read a page at a time, and the same as if all were read at once."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.tui.conftest import Drive, screen_text, until
from trackside.errors import LogbookError
from trackside.logbook import Logbook, SessionLine, patch, put
from trackside.preferences import Preferences
from trackside.tui.app import build
from trackside.tui.board_row import unfinished
from trackside.tui.listing import PAGE, UNPROVED, Heading, Listing, waiting
from trackside.tui.messages import NoticesChanged
from trackside.tui.screens.board import Board
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.ledger import Ledger

VENUES = ["Averholme", "Östra Fjärd", "Kiln Lane"]


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "team.trackside", author="Olle", device="d") as logbook:
        yield logbook


def _season(logbook: Logbook, each: int = 2 * PAGE + 7) -> None:
    events = [
        put("event", {"venue": venue, "date": f"2026-0{n + 4}-11"})
        for n, venue in enumerate(VENUES)
    ]
    statuses = ("planned", "done", "aborted", "done")
    logbook.write(
        *events,
        put("event", {"venue": "Nordhamn", "date": "2026-09-01"}),
        *(
            put("session", {
                "event": event.entity, "kind": "practice", "driver": f"Driver {k % 3}",
                "start": f"{event.body['date']} {8 + k // 60:02d}:{k % 60:02d}",
                "status": statuses[k % 4],
            })
            for event in events
            for k in range(each)
        ),
    )  # fmt: skip


def _at_once(logbook: Logbook) -> list[SessionLine | Heading]:
    """Every line in one reading, grouped by event."""
    rows: list[SessionLine | Heading] = []
    groups: dict[str, list[SessionLine]] = {}
    for line in logbook.session_lines():
        groups.setdefault(line.event, []).append(line)
    for event, lines in groups.items():
        rows += [Heading(f"{lines[0].venue}  {lines[0].event_date}", event), *lines]
    return rows


def test_the_rows_are_those_of_one_reading(logbook: Logbook) -> None:
    _season(logbook)
    listing, whole = Listing(logbook), _at_once(logbook)
    assert list(listing)[1:] == whole  # below the event that waits for its first session
    assert listing.sessions == sum(isinstance(row, SessionLine) for row in whole)
    assert listing.sessions > 0
    for n in range(1, len(listing), 13):
        row = listing[n]
        if isinstance(row, SessionLine):
            assert listing.place(row.entity) == n


def test_what_is_unfinished_is_counted_as_the_board_says_it(logbook: Logbook) -> None:
    _season(logbook, each=9)
    listing = Listing(logbook)
    said = [
        row
        for row in listing
        if isinstance(row, SessionLine) and row.status != "aborted" and unfinished(row)
    ]
    planned = [row for row in said if not row.ran]
    assert planned, "a planned run lacks nothing yet"
    assert listing.unfinished == len(said) - len(planned) == 12


async def test_the_board_counts_what_its_lines_say_is_open(season_file: Path, drive: Drive) -> None:
    with Logbook.open(season_file, author="Olle", device="d") as logbook:
        [*entities] = (line.entity for line in logbook.session_lines(limit=3))
        none = {"typed": "0", "unit": "s", "si": 0.0}
        logbook.write(patch("session", entities[0], {"best_lap": none, "lap_times": None}))
        logbook.write(patch("session", entities[1], {"status": "aborted"}))
        logbook.write(patch("session", entities[2], {"best_lap": None, "lap_times": None}))
    async with drive(season_file, (120, 40)) as pilot:
        board = pilot.app.screen
        assert isinstance(board, Board)
        lines = [row for row in board.rows if isinstance(row, SessionLine)]
        told = [set(unfinished(line)) - {"aborted"} for line in lines]
        count = sum(map(bool, told))
        assert count >= 2
        assert told[[line.entity for line in lines].index(entities[0])] == {"no best lap"}
        said = f"{count} lack something (right column)"
        await until(pilot, lambda: said in screen_text(board.app))  # type: ignore[arg-type]


def test_an_event_without_a_session_waits_on_top(logbook: Logbook) -> None:
    _season(logbook, each=3)
    first = Listing(logbook)[0]
    assert isinstance(first, Heading)
    assert first.text == "Nordhamn  2026-09-01  no session yet: n opens one"
    assert Listing(logbook).place(first.event) == 0
    assert [row.event for row in waiting(logbook, ["NORD"])] == [first.event]
    assert waiting(logbook, ["nord", "south"]) == []


def test_a_session_that_is_not_listed_has_no_place(logbook: Logbook) -> None:
    _season(logbook, each=3)
    assert Listing(logbook).place("nothing") is None
    assert Listing(logbook).place("") is None


def test_an_empty_logbook_has_no_rows(logbook: Logbook) -> None:
    listing = Listing(logbook)
    assert (len(listing), listing.sessions, listing.unfinished) == (0, 0, 0)
    with pytest.raises(IndexError):
        listing[0]


async def test_whoever_leaves_the_board_before_it_stands_has_estimates_all_the_same(
    season_file: Path,
) -> None:
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        app.action_page("clicks")
        await until(pilot, lambda: app.desk.shed is not None)


async def test_the_list_is_read_again_only_when_the_logbook_has_grown(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        board = pilot.app.screen
        rows = board.rows
        await pilot.press("r", "p")
        assert board.rows is rows
        pilot.app.desk.logbook.write(put("event", {"venue": "Nordhamn", "date": "2026-09-01"}))
        await pilot.press("r", "p")
        assert board.rows is not rows
        assert isinstance(board.rows[0], Heading)
        assert "Nordhamn" in board.rows[0].text


@pytest.mark.parametrize("down", [3, 10], ids=["a session", "a heading"])
async def test_the_cursor_stays_where_it_was_put(
    season_file: Path, drive: Drive, down: int
) -> None:
    async with drive(season_file) as pilot:
        board = pilot.app.screen
        assert isinstance(board, Board)
        ledger = board.query_one(Ledger)
        await pilot.press(*["down"] * down)
        row = board.rows[ledger.cursor]
        assert isinstance(row, Heading) == (down == 10)
        pilot.app.post_message(NoticesChanged())  # a backup was made
        await pilot.pause()
        assert board.rows[ledger.cursor] == row
        await pilot.press("home", "down", "down", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        await pilot.press("n", "p")
        await until(pilot, lambda: pilot.app.screen is board)
        found = board.rows[ledger.cursor]
        assert isinstance(found, SessionLine)
        assert found.entity == board.desk.entity, "the current session, once another was taken"


async def test_what_follows_the_first_paint_does_not_wait_for_a_list_that_cannot_be_read(
    season_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreadable(*_: object) -> Listing:
        raise LogbookError("the list cannot be read", "verify the logbook")

    monkeypatch.setattr("trackside.tui.screens.board.Listing", unreadable)
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        assert any("pages.tcss" in str(source) for source in app.stylesheet.source)


async def test_a_list_that_another_window_shortened_meanwhile_takes_a_late_key(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        board = pilot.app.screen
        assert isinstance(board, Board)
        ledger = board.query_one(Ledger)
        count = ledger.count
        board.wanted = "tourer"
        board.show()
        await until(pilot, lambda: len(board.rows) < count)
        ledger.post_message(Ledger.Chosen(count - 1))
        await pilot.pause()
        assert pilot.app.screen is board


def test_a_line_that_no_revision_has_says_so(logbook: Logbook, tmp_path: Path) -> None:
    _season(logbook, 3)
    whole = list(Listing(logbook))
    logbook.close()
    with sqlite3.connect(tmp_path / "team.trackside") as sql:
        sql.execute("UPDATE session_line SET entity = 'x' || entity WHERE id % 2")
    sql.close()
    with Logbook.open(tmp_path / "team.trackside", device="d") as again:
        rows = list(Listing(again))
        assert len(rows) == len(whole)
        assert UNPROVED in {row.text for row in rows if isinstance(row, Heading)}
        assert {row for row in rows if isinstance(row, SessionLine)} < set(whole)
        assert again.unread.of()
