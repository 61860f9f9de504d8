"""The debrief's page: whose outing it speaks of, in which order, and nothing that nobody knows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.analysis.garage import PREFERENCES, SHED, corner, session
from trackside.analysis.debrief import OutLap
from trackside.logbook import Logbook, put
from trackside.records import Change, Reading, Session
from trackside.reports.debriefing import debrief_page, out_lap_words, reasons_said, sections
from trackside.reports.document import Section
from trackside.reports.text import text


class Season:
    """Two cars, and whoever drives them."""

    def __init__(self, logbook: Logbook) -> None:
        self.logbook = logbook
        self.car = self.add("car", name="Coupé")
        self.other = self.add("car", name="Tourer")
        self.event = self.add("event", venue="Larkmere", date="2026-05-09")

    def add(self, kind: str, /, **body: Any) -> str:
        write = put(kind, body)
        self.logbook.write(write)
        return write.entity

    def run(self, hour: int, driver: str, as_set: Session | None = None, **more: Any) -> str:
        start = f"2026-05-09 {hour:02d}:00"
        body = {**(as_set or session()).body(), "event": self.event, "car": self.car}
        return self.add("session", **{**body, "start": start, "driver": driver, "status": "done",
                                      **more})  # fmt: skip

    def page(self, entity: str) -> list[Section]:
        found = self.logbook.record(entity)
        assert isinstance(found, Session)
        return sections(self.logbook, entity, found, SHED, PREFERENCES)


def words(page: list[Section], title: str = "") -> str:
    return "\n".join(
        said.text for section in page if section.title.startswith(title) for said in section.said
    )


def titles(page: list[Section]) -> list[str]:
    return [section.title for section in page]


@pytest.fixture
def season() -> Iterator[Season]:
    with Logbook.open(":memory:", device="test") as logbook:
        yield Season(logbook)


HARDER = session(corner(rebound=5))


# ── whose outing ────────────────────────────────────────────────────────────────────────────────


def test_a_driver_who_never_drove_has_no_earlier_outing_and_hears_of_the_cars(
    season: Season,
) -> None:
    season.run(9, "Ann")
    page = season.page(season.run(10, "Ben", HARDER))
    assert page[0].title.startswith("Changed since the car last ran: ")
    assert page[0].title.endswith("(Ann)")
    assert "Ben has no earlier outing in this logbook." in words(page)
    assert "all four rebound: 3 clicks harder" in words(page)
    assert "You said last time" not in titles(page)


def test_the_first_outing_of_all_has_nothing_to_compare_with(season: Season) -> None:
    page = season.page(season.run(9, "Ann"))
    assert words(page) == "Ann has no earlier outing in this logbook: nothing to compare with."


def test_an_outing_in_another_car_is_called_that(season: Season) -> None:
    tourer = season.run(9, "Ann", car=season.other)
    season.add("note", session=tourer, driver="Ann", words="It floats.")
    page = season.page(season.run(10, "Ann"))
    said = words(page)
    assert "no earlier outing in this logbook." not in said
    assert "Your last outing was in another car: Tourer, practice, Larkmere" in said
    assert "This car has no earlier outing in this logbook" in said
    assert "It floats." in words(page, "You said last time, in another car")


def test_another_car_in_between_is_named_and_the_cars_own_outing_compared(season: Season) -> None:
    first = season.run(9, "Ann")
    season.add("note", session=first, driver="Ann", words="It skips.")
    season.run(10, "Ann", car=season.other)
    page = season.page(season.run(11, "Ann", HARDER))
    assert "Changed since your last outing: practice, Larkmere, 2026-05-09 09:00" in titles(page)
    assert "In between you drove another car: Tourer" in words(page)
    assert "3 clicks harder" in words(page)


def test_a_driver_who_shares_the_car_hears_what_changed_since_it_last_ran(season: Season) -> None:
    season.run(9, "Ann")
    season.run(10, "Ben", session(corner(rebound=6)))
    page = season.page(season.run(11, "Ann", HARDER))
    assert "3 clicks harder" in words(page, "Changed since your last outing")
    since_car = words(page, "Changed since the car last ran: practice, Larkmere, 2026-05-09 10:00")
    assert "1 click harder (6 to 5" in since_car


def test_a_session_that_did_not_run_is_not_what_the_car_last_ran(season: Season) -> None:
    season.run(9, "Ann")
    season.run(10, "Ben", status="planned")
    page = season.page(season.run(11, "Ann", HARDER))
    assert not any(title.startswith("Changed since the car last ran") for title in titles(page))


@pytest.mark.parametrize("slip", ["ann marlow", "Ann Marlo", "Anm Marlow"])
def test_a_driver_whose_name_may_be_a_slip_is_asked_about(season: Season, slip: str) -> None:
    season.run(9, "Ann Marlow")
    page = season.page(season.run(10, slip))
    [asked] = [said for said in page[0].said if said.kind == "caution"]
    assert asked.text.startswith(f"Is “{slip}” the driver “Ann Marlow”?")


def test_two_drivers_of_almost_one_name_are_asked_about_once_only(season: Season) -> None:
    season.run(9, "Ann")
    assert "Is “Anna” the driver “Ann”?" in words(season.page(season.run(10, "Anna")))
    assert "Is “" not in words(season.page(season.run(11, "Anna")))
    assert "Is “Ann" not in words(season.page(season.run(12, "Ann")))


# ── the order, and the first screen ─────────────────────────────────────────────────────────────


def all_over(driver: str, season: Season) -> str:
    """Everything changed: swaps, springs, alignment, pressures, items."""
    changed = session(
        corner("TWIN", 8, 4, **{
            name: Reading.of_text(typed, quantity)
            for name, typed, quantity in (
                ("spring_rate", "90", "spring rate"), ("camber", "-3", "angle"),
                ("toe", "2", "toe"), ("ride_height", "60", "length"),
                ("hot_target", "1.9", "pressure"),
            )
        }),
        items={"Rear wing": "4°", "Rear bar": "hole 2", "Brake bias": "56 % front"},
    )  # fmt: skip
    return season.run(10, driver, changed)


def test_changed_why_feel_said_then_the_rest(season: Season) -> None:
    first = season.run(9, "Ann")
    season.add("note", session=first, driver="Ann", words="It skips.")
    season.add("change", session=first, reason="More grip.", verdict="better")
    now = all_over("Ann", season)
    season.add("change", session=now, reason="The front slides in 7.")
    season.add("note", session=now, driver="Ann", words="Better.")
    assert [title.partition(":")[0] for title in titles(season.page(now))] == [
        "Changed since your last outing",
        "Why it was changed, and the verdict",
        "What you may feel",
        "You said last time",
        "Force change at the damper",
        "Also changed",
        "How the last change worked",
        "You said about this outing",
    ]


def test_the_reason_is_on_the_first_screen_whatever_was_changed(season: Season) -> None:
    """At 80×24 the page has 20 lines; on paper one more of heading, and no blank lines after
    titles, so the line is looked for among the first 18."""
    season.run(9, "Ann")
    now = all_over("Ann", season)
    season.add("change", session=now, reason="The front slides in 7.")
    lines = text(debrief_page(season.logbook, now, SHED, PREFERENCES), 76)
    assert any("The front slides in 7." in line for line in lines[:18])
    page = season.page(now)
    also = words(page, "Also changed").splitlines()
    assert f"and {len(also)} more, further down" in words(page)
    for named in ("Rear wing", "Rear bar", "Brake bias", "camber", "toe", "target", "spring"):
        assert named in words(page[:1]) + "\n".join(also)


def test_a_change_without_a_reason_says_so_and_no_change_does_not(season: Season) -> None:
    season.run(9, "Ann")
    assert "No reason is written down." in words(season.page(season.run(10, "Ann", HARDER)))
    assert "No reason" not in words(season.page(season.run(11, "Ann", HARDER)))


# ── forces ──────────────────────────────────────────────────────────────────────────────────────


def test_the_force_is_said_at_low_and_at_high_speed_in_newton_and_percent(season: Season) -> None:
    season.run(9, "Ann")
    page = season.page(season.run(10, "Ann", session(FL=corner(rebound=3))))
    [line] = [s.text for s in page[0].said if s.text.startswith("FL rebound: +")]
    parts = line.partition(": ")[2].split("; ")
    assert {part.rpartition(", ")[2] for part in parts} == {"low speed", "high speed"}
    assert all(" N (" in part and " %) at " in part for part in parts)
    worth = words(page, "Force change at the damper")
    assert "95 % band" in worth
    assert "too small" not in worth


def test_too_small_to_tell_is_said_where_a_band_says_so_and_not_known_where_none_does(
    season: Season,
) -> None:
    season.run(9, "Ann")
    page = season.page(season.run(10, "Ann", session(
        FL=corner("TWIN", 12, 12), RR=corner("BARE", 3, 3)
    )))  # fmt: skip
    worth = words(page, "Force change at the damper").splitlines()
    small = [line for line in worth if line.startswith("too small to tell")]
    unknown = [line for line in worth if "not known" in line]
    assert small == ["too small to tell from the bench's own scatter: FL bump, FL rebound"]
    assert [line.partition(":")[0] for line in unknown] == ["RR bump, RR rebound"]
    assert "no dyno sheet and no shop rule" in unknown[0]
    caution = [said.text for said in page[0].said if said.kind == "caution"]
    assert caution == ["take a cautious out-lap: another damper or build at FL and RR"]


def test_an_axle_that_this_change_made_unlike_is_pointed_out(season: Season) -> None:
    season.run(9, "Ann")
    season.run(10, "Ann", session(FR=corner(rebound=3)))
    now = season.run(11, "Ann", session(FR=corner(rebound=3)))
    made = next(s for s in season.logbook.session_lines() if s.start.endswith("10:00")).entity
    for entity, kind in ((made, "caution"), (now, "plain")):
        said = [
            s for section in season.page(entity) for s in section.said if "left to right" in s.text
        ]
        assert [s.kind for s in said] == [kind]
        assert said[0].text.startswith("front rebound differs left to right: right ")
        assert "95 % band" in said[0].text


# ── then and now ────────────────────────────────────────────────────────────────────────────────


def test_what_was_only_read_again_is_one_line_in_the_rest(season: Season) -> None:
    def on_a_day(gas: str, at: str, cold: str) -> Session:
        return session(corner(
            gas_pressure=Reading.of_text(gas, "pressure"),
            gas_temperature=Reading.of_text(at, "temperature"),
            cold_pressure=Reading.of_text(cold, "pressure"),
        ), air_temperature=Reading.of_text(at, "temperature"))  # fmt: skip

    season.run(9, "Ann", on_a_day("16", "24", "1.45"))
    page = season.page(season.run(10, "Ann", on_a_day("15.14", "9", "1.326")))
    assert "Nothing was changed on the car." in words(page[:1])
    then_and_now = words(page, "Then and now").splitlines()
    read_again = [line for line in then_and_now if "same filling" in line]
    assert len(read_again) == 1
    assert "cold" in read_again[0]
    assert "gas" not in words([s for s in page if s.title != "Then and now"])


def test_lost_gas_is_a_caution_and_said_once(season: Season) -> None:
    def charged(gas: str) -> Session:
        return session(corner(
            gas_pressure=Reading.of_text(gas, "pressure"),
            gas_temperature=Reading.of_text("20", "temperature"),
            build="A",
        ))  # fmt: skip

    season.run(9, "Ann", charged("16"))
    page = season.page(season.run(10, "Ann", charged("12")))
    said = [s for section in page for s in section.said if "gas" in s.text]
    assert [s.kind for s in said] == ["caution"] * 4
    assert all("less than the" in s.text for s in said)


def test_what_moved_a_force_most_clearly_is_said_first_and_what_moves_none_last(
    season: Season,
) -> None:
    season.run(9, "Ann")
    camber = Reading.of_text("-2", "angle")
    now = session(
        FL=corner(rebound=7, camber=camber), FR=corner(), RL=corner(), RR=corner(rebound=1)
    )
    page = season.page(season.run(10, "Ann", now))
    told = [said.text for said in page[0].said]
    assert told[0].startswith("RR rebound: 7 clicks harder")
    assert told[1].startswith("FL rebound: 1 click harder")
    assert told[2].startswith("FL camber: ")


@pytest.mark.parametrize(
    ("names", "said"),
    [(("FL",), "FL"), (("FL", "FR"), "FL and FR"), (("FL", "FR", "RR"), "FL, FR and RR")],
)
def test_an_out_lap_names_its_corners_by_what_is_not_known_of_them(
    names: tuple[str, ...], said: str
) -> None:
    assert out_lap_words(OutLap(large=names, swapped=(), unknown=())) == (
        f"take a cautious out-lap: large step at {said}"
    )
    assert out_lap_words(OutLap(large=(), swapped=names, unknown=("RL",))) == (
        f"take a cautious out-lap: another damper or build at {said}; a change of unknown force at "
        "RL"
    )


def test_a_change_that_nobody_judged_is_said_to_have_no_verdict() -> None:
    judged = Change(session="s", what="bar", verdict="better")
    open_ones = [Change(session="s", what="bar"), Change(session="s", reason="loose")]
    nothing = Change(session="s")
    told = [said.text for said in reasons_said([judged, *open_ones, nothing], asks=True)]
    assert told == ["bar", "→ better", "bar", "→ no verdict yet", "loose", "→ no verdict yet"]
    assert [said.text for said in reasons_said(open_ones)] == ["bar", "loose"]
