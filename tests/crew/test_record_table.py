"""Dampers and cars from a spreadsheet: by heading, all rows or none, never over what is here."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from trackside.analysis.shed import Shed
from trackside.crew.forms import entries
from trackside.crew.record_columns import called, named_columns, ours_of
from trackside.crew.record_table import TakenRows, take_rows
from trackside.errors import BadInput
from trackside.logbook import Logbook, put
from trackside.logbook.column_names import known_columns
from trackside.preferences import Preferences
from trackside.reports.table_words import (
    all_refused_words,
    count_words,
    differs_words,
    measured_words,
    refused_words,
    unknown_words,
)

PREFERENCES = Preferences()
DAMPERS = """Team list
Serial;Model;Rod (mm);Piston ⌀;Rebound clicks;Rebound counted from;Bump full hard (N);Bump at speed
QA-1;Quad;14,5;46;24;hard;900;100
QA-2;Quad;0.5 in;46;24;full soft;;
"""
CARS = """Name,Number,Wheelbase (m),Front spring (lbf/in),FL motion ratio,RL scales
Formula,7,2.9,800,-30:0.70 0:0.72 30:0.76,240
"""


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        yield logbook


def take(logbook: Logbook, text: str, form: str = "damper", **more: Any) -> TakenRows:
    taken = take_rows(logbook, form, text, "list.csv", PREFERENCES, **more)
    if taken.writes:
        logbook.write(*taken.writes)
    return taken


def test_dampers_by_their_headings(logbook: Logbook) -> None:
    taken = take(logbook, DAMPERS)
    assert count_words(taken) == "2 dampers entered (QA-1, QA-2)"
    shed = Shed.of(logbook)
    first, second = shed.build("QA-1"), shed.build("QA-2")
    assert first is not None
    assert second is not None
    assert [d.model for d in shed.dampers] == ["Quad"] * 2
    assert (first.rod_diameter, second.rod_diameter) == (0.0145, pytest.approx(0.0127))
    assert first.piston_diameter == 0.046
    knobs = [(k.acts_on, k.clicks, k.counted_from) for b in (first, second) for k in b.adjusters]
    assert knobs == [("rebound_bleed", 24, "hard"), ("rebound_bleed", 24, "soft")]
    [rule] = first.shop_rules
    assert (rule.direction, rule.full_hard_force, rule.reference_speed) == ("bump", 900, 0.1)
    assert second.shop_rules == ()
    assert first.gas_pressure is None
    build = logbook.all("build")[0][1]
    assert build["rod_diameter"]["typed"] == "14,5 mm"
    logbook.undo()
    assert logbook.current_states() == []


def test_cars_by_their_headings_an_axle_at_once(logbook: Logbook) -> None:
    assert count_words(take(logbook, CARS, "car")) == "1 car entered (Formula)"
    car = next(iter(Shed.of(logbook).cars.values()))
    assert (car.name, car.number, car.wheelbase) == ("Formula", "7", 2.9)
    assert car.FL.spring_rate == car.FR.spring_rate == pytest.approx(800 * 175.126835, rel=1e-6)
    assert (car.RL.spring_rate, car.RL.mass) == (None, 240)
    assert len(car.FL.motion_table) == 3
    again = take(logbook, CARS, "car")
    assert (again.writes, count_words(again)) == ([], "no cars entered, 1 here already")


@pytest.mark.parametrize("change", [("\t", ";"), ("|", ";")])
def test_a_second_time_adds_nothing_however_it_is_parted(
    logbook: Logbook, change: tuple[str, str]
) -> None:
    take(logbook, DAMPERS)
    before = logbook.extent()
    again = take(logbook, DAMPERS.replace(change[1], change[0]))
    assert (again.writes, again.same) == ([], ["QA-1", "QA-2"])
    assert take(logbook, DAMPERS.replace("14,5", "14.50").replace("46;", "46 mm;")).writes == []
    assert logbook.extent() == before


def test_what_is_here_stays_unless_that_is_asked_for(logbook: Logbook) -> None:
    take(logbook, DAMPERS)
    other = DAMPERS.replace("14,5", "15").replace("full soft", "hard").replace("Quad", "Other", 1)
    before = logbook.extent()
    taken = take(logbook, other)
    assert (taken.writes, logbook.extent()) == ([], before)
    assert count_words(taken) == "no dampers entered, 2 here otherwise: left as they are"
    assert differs_words(taken) == [
        "QA-1: model Quad here, Other in the table; rod ⌀ 14,5 mm here, 15 mm in the table",
        "QA-2: rebound counted soft here, hard in the table",
    ]
    taken = take(logbook, other, instead=True)
    assert count_words(taken) == "no dampers entered, 2 put right (QA-1, QA-2)"
    assert take(logbook, other).same == ["QA-1", "QA-2"]
    logbook.undo()
    assert take(logbook, DAMPERS).same == ["QA-1", "QA-2"]


def test_a_row_about_another_build_is_left_even_where_asked_for(logbook: Logbook) -> None:
    take(logbook, DAMPERS)
    before = logbook.extent()
    taken = take(logbook, "serial;build;rod (mm)\nqa-1;C;12\n", instead=True)
    assert logbook.extent() == before
    assert differs_words(taken) == ["qa-1: build A here, C in the table"]
    assert count_words(taken) == "no dampers entered, 1 here otherwise: left as it is"


@pytest.mark.parametrize(
    ("cells", "diameter"), [(("46", "50"), 0.046), (("46 mm", "–"), 0.046), (("1.8 in",), 0.04572)]
)
def test_a_piston_that_is_a_length_is_its_diameter(
    logbook: Logbook, cells: tuple[str, ...], diameter: float
) -> None:
    rows = "".join(f"QC-{n};{cell};14\n" for n, cell in enumerate(cells))
    taken = take(logbook, f"Serial;Piston;Rod\n{rows}")
    build = Shed.of(logbook).build("QC-0")
    assert build is not None
    assert build.piston_diameter == pytest.approx(diameter)
    assert build.piston == ""
    assert measured_words(taken) == (
        "“Piston” is taken as the piston's diameter: it holds lengths alone"
    )


@pytest.mark.parametrize(
    ("table", "name"),
    [
        ("Serial;Piston\nQC-0;46\nQC-1;digressive 3\n", "46"),
        ("Serial;Piston\nQC-0;3\n", "3"),
        ("Serial;Piston;Piston ⌀\nQC-0;46;44\n", "46"),
    ],
)
def test_a_piston_that_may_be_a_name_is_one(logbook: Logbook, table: str, name: str) -> None:
    assert measured_words(take(logbook, table)) == ""
    build = Shed.of(logbook).build("QC-0")
    assert build is not None
    assert build.piston == name


def test_what_a_person_said_a_column_is_it_stays(logbook: Logbook) -> None:
    said = {"piston": "piston"}
    assert measured_words(take(logbook, "Serial;Piston\nQC-0;46\n", columns=said)) == ""


def test_a_rod_as_thick_as_the_piston_on_record_says_so(logbook: Logbook) -> None:
    take(logbook, "Serial;Piston ⌀\nQC-0;36\n")
    taken = take(logbook, "Serial;Rod\nQC-0;40\n", instead=True)
    assert taken.refused[0].why.startswith(
        "rod ⌀ “40”: the rod is as thick as the piston: rod 40 mm, piston 36 mm; the piston is on "
        "record already"
    )


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("QB-2;Quad;x;46;24;hard;;", "line 4, QB-2: rod ⌀ “x”: “x” is not a number"),
        (
            "QB-2;Quad;14;46;24;;;",
            "line 4, QB-2: rebound clicks “24”: not saved yet: say also from",
        ),
        (
            "QB-2;Quad;60;46;;;;",
            "the rod is as thick as the piston: rod 60 mm, piston 46 mm; the rod is “60 mm” under "
            "“Rod (mm)”",
        ),
        (";Quad;14;46;24;hard;;", "line 4: it names nothing"),
        ("qb-1;Quad;14;46;24;hard;;", "line 4, qb-1: qb-1 is on line 3 already"),
        ("QB-2;Quad;14;46;24;hard;;;5", "line 4, QB-2: 9 cells under 8 headings"),
        ("QB-2;Quad;14;46;24.5;hard;;", "“24.5” is not a whole number"),
    ],
)
def test_one_bad_row_and_nothing_is_written(logbook: Logbook, row: str, why: str) -> None:
    good = DAMPERS.splitlines()[1].join(["Team list\n", "\nQB-1;Quad;14;46;24;hard;;\n"])
    taken = take(logbook, good + row + "\nQB-3;Quad;14;46;24;hard;;\n")
    assert taken.writes == []
    assert logbook.current_states() == []
    [refused] = taken.refused
    told = refused_words(refused)
    assert why in told
    assert all_refused_words(taken)[:20] == told[:20]


def test_a_name_of_its_own_is_said_once(logbook: Logbook) -> None:
    table = "Nummer;Stange (mm);Farbe\nQC-1;14;rot\n"
    with pytest.raises(BadInput, match="no column of the serial that is known"):
        take(logbook, table)
    said = named_columns(["Nummer=serial; stange (mm)=rod diameter"], "damper")
    taken = take(logbook, table, columns=said)
    assert unknown_words(taken) == "left out, not known: “Farbe”; --columns says what they are"
    assert logbook.all("build")[0][1]["rod_diameter"]["si"] == 0.014
    assert known_columns("damper-columns")[0] == said
    assert take(logbook, table.replace("QC-1", "QC-2")).added == ["QC-2"]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "list.csv is empty"),
        ("a;b\n1;2\n", "its first line is “a;b”"),
        ("serial;rod (bar)\nx;1\n", "the column “rod (bar)”: “bar” is not a unit of length"),
        ("serial;damper\nx;y\n", "“serial” and “damper” are both the same column"),
    ],
)
def test_a_table_that_is_none_says_so(logbook: Logbook, text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why.replace("(", r"\(").replace(")", r"\)")):
        take(logbook, text)
    with pytest.raises(BadInput, match="does not say what a column is"):
        named_columns(["Nr=what"], "damper")


@pytest.mark.parametrize("form", ["damper", "car"])
def test_every_entry_of_the_form_goes_by_a_heading_of_its_own(form: str) -> None:
    known = ours_of(form)
    assert {entry.key for entry in known.values()} == set(entries(form))
    names = [called(entry) for entry in entries(form).values()]
    assert len(set(names)) == len(names)


def test_a_piston_in_mm_is_its_diameter_and_else_its_words(logbook: Logbook) -> None:
    take(logbook, "serial;piston;piston (mm)\nQD-1;digressive;46\n")
    build = logbook.all("build")[0][1]
    assert (build["piston"], build["piston_diameter"]["si"]) == ("digressive", 0.046)


def test_hundreds_of_rows_are_looked_up_at_once(logbook: Logbook) -> None:
    rows = "".join(f"R-{n};Quad\n" for n in range(300))
    assert len(take(logbook, f"serial;model\n{rows}").added) == 300
    assert len(take(logbook, f"serial;model\n{rows}").same) == 300
    with pytest.raises(BadInput, match="has 1001 rows"):
        take(logbook, "serial\n" + "".join(f"S-{n}\n" for n in range(1001)))


def test_a_damper_without_a_build_gets_its_first(logbook: Logbook) -> None:
    """Its build was never entered, or taken off: what the table says of it is not lost."""
    logbook.write(put("damper", {"serial": "QA-1", "model": "Quad"}))
    assert take(logbook, "Serial;Model\nQA-1;Quad\n").same == ["QA-1"]
    assert logbook.all("build") == []
    taken = take(logbook, "Serial;Model;Rod (mm)\nQA-1;Quad;14.5\n")
    assert (taken.added, taken.same) == (["QA-1"], [])
    [(_, build)] = logbook.all("build")
    assert (build["damper"], build["version"]) == ("QA-1", "A")
    assert build["rod_diameter"]["typed"] == "14.5 mm"
    assert [body["serial"] for _, body in logbook.all("damper")] == ["QA-1"]
    assert take(logbook, "Serial;Model;Rod (mm)\nQA-1;Quad;14.5\n").same == ["QA-1"]
