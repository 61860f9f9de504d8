"""Corner weights in words."""

from __future__ import annotations

from pathlib import Path

from tests.analysis.test_weighing import LEVEL, litres, one
from trackside.analysis.weighing import Weighed, changed_since
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.reports.beside_run import beside_lines
from trackside.reports.weighing_words import (
    balance_of_body,
    last_weighing_words,
    since_words,
    weighing_lines,
    weighing_row,
)

METRIC, IMPERIAL = Preferences(), Preferences(preset="imperial")
WAS = one("a", "2026-05-07", driver="in", fuel=litres(20))
NOW = one("b", "2026-05-08 14:00", driver="out", where="level plates", words="new ballast", FL=291)


def test_a_row_has_shares_and_the_diagonal() -> None:
    assert weighing_row(WAS, METRIC) == (
        "2026-05-07", "in", "20.0 L", "1186.0 kg", "49.0 %", "50.4 %", "50.0 %",
    )  # fmt: skip
    assert weighing_row(WAS, IMPERIAL)[3] == "2614.7 lb"  # 1186 kg / 0.45359237


def test_all_about_one() -> None:
    assert list(weighing_lines([NOW, WAS], NOW, METRIC)) == [
        "read 2026-05-08 14:00, driver out, fuel not said",
        "FL 291.0, FR 288.0 kg",
        "RL 305.0, RR 300.0 kg",
        "scales: level plates",
        "1184.0 kg in all · front 48.9 %, rear 51.1 % · left 50.3 %, right 49.7 % · "
        "cross (FR + RL) 50.1 %",
        "since 2026-05-07: FL −2.0, FR 0.0, RL 0.0, RR 0.0, in all −2.0 kg",
        "front −0.1, left −0.1, cross +0.1 points",
        "not the same load for sure: driver in one time, out the other; fuel on board not said, or "
        "not in one unit",
        "new ballast",
    ]


def test_the_same_load_raises_no_doubt() -> None:
    change = changed_since(WAS, one("b", "2026-05-08", driver="in", fuel=litres(20)))
    assert change is not None
    assert list(since_words(change, "2026-05-07", METRIC)) == [
        "since 2026-05-07: FL 0.0, FR 0.0, RL 0.0, RR 0.0, in all 0.0 kg",
        "front 0.0, left 0.0, cross 0.0 points",
    ]


def test_a_scale_that_is_not_read_gives_no_share() -> None:
    from tests.analysis.test_weighing import weighing

    short = Weighed("s", weighing("2026-05-08", FL=293, FR=288, RL=305), None)
    assert "1 of the four scales not read: no shares" in list(
        weighing_lines([short], short, METRIC)
    )
    half = Weighed("s", weighing("2026-05-08", FL=293, RL=305), None)
    assert "2 of the four scales not read: no shares" in list(weighing_lines([half], half, METRIC))
    assert weighing_row(short, METRIC)[3:] == ("–",) * 4
    assert balance_of_body({c: {"mass": kg} for c, kg in LEVEL.items() if c != "RR"}, METRIC) == ""
    assert balance_of_body({"FL": {"mass": "x"}}, METRIC) == ""
    assert "cross (FR + RL) 50.0 %" in balance_of_body(
        {c: {"mass": kg} for c, kg in LEVEL.items()}, METRIC
    )


def test_beside_a_run_it_is_said_when_it_was_read(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        car = put("car", {"name": "7"})
        body = {"car": car.entity, "at": "2026-05-07 18:00", "driver": "in"}
        logbook.write(car, put("weighing", body | {c: {"mass": kg} for c, kg in LEVEL.items()}))
        event = put("event", {"venue": "v", "date": "2026-05-06"})
        runs = [
            put("session", {"event": event.entity, "car": one, "start": start})
            for one, start in (
                (car.entity, "2026-05-08 10:00"),
                (car.entity, "2026-05-07 10:00"),
                ("", "2026-05-08 10:00"),
                (car.entity, ""),  # on the day of its event, two days before
            )
        ]
        logbook.write(event, *runs)
        [line], *none = (
            beside_lines(logbook, one.entity, logbook.session_record(one.entity), METRIC)
            for one in runs
        )
    assert none == [[], [], []]
    assert line.startswith(
        "corner weights: last read 2026-05-07 18:00, driver in, fuel not said; FL 293.0, FR 288.0"
    )
    assert next(iter(last_weighing_words(WAS, METRIC))) == (
        "last read 2026-05-07, driver in, fuel 20.0 L"
    )
