"""What the records ask, mark and read: each limit, field and heading once, and tables of many
benches read or refused as before."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from tests.records.machines import plain, points, signed, tall, wide
from tests.told import agrees
from trackside.errors import BadInput, BadNumber, BadSheet, TracksideError
from trackside.records import Adjuster, Build, DynoSheet, Note, Reading, Session, read_sheet
from trackside.records.discs import read_discs
from trackside.records.fields import (
    ADJUSTERS,
    CORNER_FIELDS,
    SESSION_FIELDS,
    completed,
    field_of,
    words_for,
)
from trackside.records.figure import si_of
from trackside.records.headings import factor, heading, mapped, named, own_heading
from trackside.records.likeness import alike, likely
from trackside.records.limits import LIMITS, limits_of
from trackside.records.note import BALANCE_WORDS
from trackside.records.numerals import group_mark, looks_like_a_number, number
from trackside.records.ratios import read_ratios
from trackside.records.reading import in_words, same
from trackside.records.session import read_value
from trackside.records.sheet_text import cells, decoded, delimiters
from trackside.records.sheet_warning import SheetWarning
from trackside.records.stops import read_stops


def test_every_field_and_every_limit() -> None:
    told = [str(field) for fields in (CORNER_FIELDS, SESSION_FIELDS) for field in fields.values()]
    told += [f"{name}: {words_for(f'FL.{name}')}" for name in CORNER_FIELDS]
    told += [f"{name}: {low:.6f} {high:.6f}" for name, (low, high) in LIMITS.items()]
    told += [f"{balance}: {words}" for balance, words in BALANCE_WORDS.items()]
    agrees(told, __file__, "fields")


def test_limits_of_a_figure_and_of_a_field_of_the_same_name() -> None:
    assert limits_of("gas_pressure") == (2e5, 40e5)
    assert limits_of("stroke") == LIMITS["stroke"]
    assert limits_of("nothing") == (None, None)


HEADS = (
    "Position", "Clicks", "clicks from hard", "Direction", "Speed [mm/s]", "Velocity (in/s)",
    "Speed m/s", "Force (N)", "Load [lbf]", "Force kgf", "Load daN", "Force (kN)", "Bump force [N]",
    "Rebound Load (lbs)", "Oil temp [°C]", "Temp (°F)", "Temperature K", "Displacement [mm]",
    "Stroke (in)", "Preload clicks", "Compression 8 [N]", "Rebound 12 N", "Time s", "Comment",
    "Peak velocity", "Speed [ft/s]", "Speed [cm/s]", "speed_mm_s", "force_N", "oil_C",
    "deg c", "deg f", "Adjuster", "low speed clicks", "High speed bump", "P 8 comp", "Druck",
)  # fmt: skip


def asked(ask: Callable[[], object]) -> str:
    """What it gives; else why it does not."""
    try:
        return str(ask())
    except (TracksideError, KeyError) as why:
        return f"{type(why).__name__}: {why}"


def test_headings() -> None:
    told = [f"{head}: {asked(lambda head=head: heading(head))}" for head in HEADS]  # type: ignore[misc]
    told += [f"{head}: {asked(lambda head=head: own_heading(head))}" for head in HEADS]  # type: ignore[misc]
    for kind in ("speed", "force", "temperature", "displacement", "position"):
        for unit in ("mm/s", "in/s", "m/s", "N", "lbf", "kN", "°C", "°F", "K", "mm", "in", ""):
            told.append(f"{kind} {unit}: {asked(lambda k=kind, u=unit: factor(k, u))}")  # type: ignore[misc]
    told.append(asked(lambda: mapped(["a=position", "b=speed mm/s", "c=force N"])))
    told += [asked(lambda: mapped(["a"])), asked(lambda: mapped(["a=odd"]))]
    told.append(asked(lambda: named([("a", "position"), ("b", "speed mm/s"), ("c", "no")])))
    agrees(told, __file__, "headings")


HEAD = "position,direction,speed_mm_s,force_N\n"
ROWS = "".join(f"{p},{d},{v},{v * 4 + 10 - p}\n" for d in ("bump", "rebound") for p in (0, 8)
               for v in (25, 50, 100))  # fmt: skip
HEADS_TALL = ("Position", "Direction", "Speed [mm/s]", "Force [N]")


def sheets() -> Iterator[tuple[str, str]]:
    """Name and text."""
    few = points((0, 8))
    yield "own", HEAD + ROWS
    yield "oil", HEAD.replace("\n", ",oil_C\n") + ROWS.replace("\n", ",31\n")
    yield "tall", tall(few, plain(1), ",", HEADS_TALL, (0, 1, 2, 3))
    yield "semicolons", tall(few, plain(1, ","), ";", HEADS_TALL, (3, 2, 1, 0))
    yield "inches", tall(few, plain(3), "\t", ("Clicks", "Dir", "Speed [in/s]", "Load [lbf]"),
                         (0, 1, 2, 3), ("C", "R"), ("A bench", "gas force: no"))  # fmt: skip
    yield "wide", wide(few, plain(1), ";")
    for by in ("speed", "force", "speed force"):
        yield f"signed {by}", signed(few, plain(1), ",", by)
    yield "thousands", tall(few, plain(1, ".", ","), ";", HEADS_TALL, (0, 1, 2, 3))
    yield "hard and soft", HEAD + ROWS.replace("0,bump", "hard,bump").replace("8,bump", "soft,bump")
    yield "gas no", "# gas force: no\n" + HEAD + ROWS
    yield "gas yes", "gas force included: yes\n" + HEAD + ROWS
    yield "remark", HEAD + ROWS + "# measured twice\n"
    yield "preload", HEAD.replace("\n", ",preload\n") + ROWS.replace("\n", ",2\n")
    wrong = {
        "empty": "", "head only": HEAD, "words": HEAD + "8,bump,fast,10\n",
        "direction": HEAD + "8,left,50,10\n", "short": HEAD + "8,bump,50\n",
        "negative": HEAD + "8,bump,-50,10\n", "beyond": HEAD + "8,bump,50000,10\n",
        "nan": HEAD + "8,bump,50,nan\n", "inf": HEAD + "8,bump,50,inf\n",
        "position": HEAD + "-3,bump,50,10\n",
        "no force": "position,direction,speed_mm_s\n8,bump,5\n",
        "no unit": "position,direction,speed,force\n8,bump,50,10\n",
        "twice": HEAD.replace("\n", ",force_N\n") + ROWS.replace("\n", ",3\n"),
        "swapped": "position,direction,force_N,speed_mm_s\n" + ROWS,
        "same": HEAD + "8,bump,50,100\n8,bump,50,200\n8,bump,100,300\n",
        "cut": HEAD + ROWS[:-4], "half": HEAD + ROWS[:-1], "huge": HEAD + "8,bump,50,1e9\n",
        "unknown": "a,b,c,d\n1,2,3,4\n", "two marks": HEAD + "8;bump;1,5;1.5\n",
        "metres": HEAD + ROWS.replace(",25,", ",0.025,").replace(",50,", ",0.05,")
        .replace(",100,", ",0.1,"),
    }  # fmt: skip
    yield from wrong.items()


def summary(sheet: DynoSheet) -> Iterator[str]:
    """A sheet in a few lines."""
    body = sheet.body()
    yield str({name: value for name, value in body.items() if name not in ("rows", "loops")})
    rows = sheet.rows
    for row in (*rows[:3], *rows[-2:]):
        yield "  " + " ".join(f"{v:.4g}" if isinstance(v, float) else str(v) for v in row)
    yield f"  {len(rows)} rows, {sheet.positions('bump')} {sheet.positions('rebound')}"


def test_tables_of_many_benches() -> None:
    told = []
    for name, text in sheets():
        told.append(f"== {name}")
        try:
            told += summary(read_sheet(text, f"{name}.csv"))
        except (BadSheet, BadInput, BadNumber) as why:
            told.append(f"{type(why).__name__}: {why}")
    agrees(told, __file__, "sheets")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"PK\x03\x04abc", "a.csv is a workbook or an archive, not text"),
        (b"%PDF-1", "a.csv is a PDF, not text"),
        (b"\xff\xfea", "a.csv is not whole: its UTF-16 text breaks off"),
        (b"\xef\xbb\xbf\xff", "a.csv is not whole: its UTF-8 text breaks off"),
        (b"a\0b", "a.csv is not text"),
        (b"a\x01\x02\x03b", "a.csv is not text"),
    ],
)
def test_what_is_no_text(content: bytes, said: str) -> None:
    with pytest.raises(BadSheet) as refused:
        decoded(content, "a.csv")
    assert str(refused.value).startswith(said)
    assert "export" in refused.value.remedy


def test_encodings_and_delimiters() -> None:
    word = "Geschwindigkeit; Öl"
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"):
        assert decoded(word.encode(encoding), "a.csv") == word
    assert decoded(b"a\x01\x02b", "a.csv") == "a\x01\x02b"
    assert delimiters("a;b;c,d") == (";", ",", "  ")
    assert delimiters("a b") == ("  ",)
    assert cells("a  b c\td", "  ") == ["a", "b c", "d"]
    assert cells('a,"b,c"', ",") == ["a", "b,c"]
    assert cells("", ",") == []


# ── numbers ─────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("columns", "mark"),
    [
        ([["12.5", "3"]], ""), ([["12,5"]], "."), ([["12.5", "1,200.5"]], ","),
        ([["1.200,5"]], "."), ([["1,200", "350"]], ","), ([["1.250", "350.1"]], ","),
        ([["1.250.000"]], "."), ([["0.125"]], ","), ([["125.125", "90"]], ","),
        ([["1.250", "350"]], "."), ([["12", "words"]], ""), ([["1,250", "125"], ["0.5"]], ","),
    ],
)  # fmt: skip
def test_which_mark_groups_by_thousands(columns: list[list[str]], mark: str) -> None:
    """Either no grouping, or the mark that a decimal one leaves over."""
    found = group_mark(columns)
    assert found == mark or (mark == "" and found == ",")


def test_numbers_that_can_be_read_in_two_ways() -> None:
    for columns, said in (
        ([["1.250", "12"]], "“1.250” can be read in two ways"),
        ([["1.5", "1,5"]], "both . and , are decimal marks in it"),
        ([["1.250"], ["1,250"]], "“1,250” and “1.250” can be read in two ways"),
    ):
        with pytest.raises(BadNumber, match=said):
            group_mark(columns)
    assert group_mark([["1.250"]]) == ""
    assert number("1,250.5", ",") == 1250.5
    assert number("1.250,5", ".") == 1250.5
    assert number("1,250e1", ",") == 12500.0
    assert number(" 12,5 ", "") == 12.5
    with pytest.raises(BadNumber, match="“12,50” is not a number"):
        number("12,50", ",")
    for cell, is_one in (("-1.5e3", True), ("1'250", True), ("12a", False), ("", False)):
        assert looks_like_a_number(cell) == is_one


@pytest.mark.parametrize(
    ("text", "said"),
    [("0.7 0.8", "is not a motion ratio"), ("0:0.7", "must rise"), ("5:0.7 0:0.8", "must rise"),
     ("0:0.7 0:0.8", "must rise"), ("0:0 5:0.7", "above 0 and is at most 3"),
     ("0:0.7 5:3.1", "at most 3"), ("1:0.7 5:0.8", "does not say the ratio at 0")],
)  # fmt: skip
def test_tables_of_a_motion_ratio(text: str, said: str) -> None:
    with pytest.raises(BadNumber, match=said):
        read_ratios(text)
    assert read_ratios("-30:0.70 0:0.72 30:3") == ((-0.03, 0.7), (0.0, 0.72), (0.03, 3.0))


@pytest.mark.parametrize(
    "text",
    ["red", "= 5:400 10:1300", "red = 5:400", "red = 5:400 5:500", "red = 5:400 10:400",
     "red = 0:0 5:400", "red = 40/1.5", "red = 0/1.5/20", "red = 40/-1/20", "red = 40/1/0"],
)  # fmt: skip
def test_what_is_no_bump_stop(text: str) -> None:
    with pytest.raises(BadNumber, match="is not a bump stop"):
        read_stops(text)


def test_bump_stops_by_name() -> None:
    found = read_stops("Red 60 = 5:400 10:1300;\n blue = 40/0/20")
    assert found["red 60"].points == ((0.005, 400.0), (0.01, 1300.0))
    assert found["blue"].three == (40e3, 0.0, 0.02)
    with pytest.raises(BadNumber, match="the bump stop RED is there twice"):
        read_stops("red = 40/0/20; RED = 40/1/20")


@pytest.mark.parametrize(
    ("text", "count"),
    [("27×0.15 ×2, 21×0.10", 3), ("5x0.1", 1), ("4.9x0.1", None), ("100x0.3", 1),
     ("101x0.3", None), ("20x4", 1), ("20x4.1", None), ("20x0", None), ("20x0.1 x60", 60),
     ("20x0.1 x61", None), ("", None), ("20x0.1 odd", None)],
)  # fmt: skip
def test_stacks(text: str, count: int | None) -> None:
    found = read_discs(text)
    assert (len(found) if found else None) == count
    if text == "27×0.15 ×2, 21×0.10":
        assert [d for pair in found or () for d in pair] == pytest.approx(
            [0.027, 0.00015, 0.027, 0.00015, 0.021, 0.0001]
        )


@pytest.mark.parametrize(
    ("one", "other", "is_alike"),
    [("Ann", "ann", True), ("Ann", "Ann", False), ("Ann", "", False), ("Teo", "Toe", True),
     ("Teo", "Teos", True), ("Teo", "Te", True), ("Te", "T", False), ("FP-1", "FP-2", False),
     ("José", "Jose", True), ("Teo", "Taa", False), ("Teo", "Teoss", False), ("ab", "ac", False)],
)  # fmt: skip
def test_names_that_may_be_one(one: str, other: str, is_alike: bool) -> None:
    assert alike(one, other) == is_alike == alike(other, one)
    assert likely(one, [other, other]) == ((other,) if is_alike else ())
    assert likely(one, [other, one]) == ()


# ── a session, a build, what is said ────────────────────────────────────────────────────────────


def test_a_session_ran_when_somebody_said_so_or_something_shows_it() -> None:
    assert not Session().ran
    assert not Session(status="Planned").ran
    assert Session(status="aborted").ran
    assert Session(lap_times=(95.2,)).ran
    assert Session(result="P3").ran
    assert Session().with_value("FL.hot_pressure", Reading.of_si(2e5, "pressure")).ran
    assert not Session().with_value("FL.cold_pressure", Reading.of_si(2e5, "pressure")).ran
    assert not Session().with_value("laps", Reading.of_si(0.0, "count")).ran
    assert Session().with_value("laps", Reading.of_si(3.0, "count")).ran


def test_values_of_a_session_by_their_place() -> None:
    now = Session().with_value("items.Rear bar", "hole 2").with_value("FL.damper", "D1")
    assert now.value("items.Rear bar") == "hole 2"
    assert now.with_value("items.Rear bar", None).items == {}
    assert now.dampers == ("D1",)
    assert now.si("FL.damper") is None
    ready = now.with_value("FL.camber", Reading.of_text("-3", "angle")).with_value("driver", "Ann")
    ready = ready.with_value("tyre_age", Reading.of_si(3.0, "count"))
    body = ready.carried_over()
    assert (body["status"], body["driver"], body["items"]) == (
        "planned",
        "Ann",
        {"Rear bar": "hole 2"},
    )
    assert body["FL"]["damper"] == "D1"
    assert "camber" in body["FL"]
    assert "tyre_age" not in body
    assert ready.with_value("driver", None).driver == Session().driver


def test_words_and_choices() -> None:
    assert completed("q", ("practice", "qualifying")) == "qualifying"
    assert completed("race", ("race", "race two")) == "race"
    assert completed("ra", ("race", "race two")) == "ra"
    assert completed("", ("race",)) == ""
    kind = SESSION_FIELDS["kind"]
    assert read_value(kind, " RACE ") == "race"
    assert read_value(kind, "") is None
    assert field_of("items.Bar").role == "setting"
    assert words_for("odd_place.of") == "odd place.of"
    one, other = Reading.of_text("1 bar", "pressure"), Reading.of_text("100 kPa", "pressure")
    assert same(one, other, "pressure")
    assert not same(one, other, None)
    assert in_words(None, "pressure") == "–"
    assert in_words(one, None) == "1 bar"


def test_a_knob_knows_its_ends() -> None:
    knob = Adjuster(acts_on="bump_bleed", clicks=20, counted_from="hard")
    assert [bool(knob.problem(n)) for n in (-1.0, 0.0, 20.0, 21.0)] == [True, False, False, True]
    both = Adjuster(acts_on="both_bleed", clicks=12, counted_from="soft")
    build = Build(damper="D", version="A", adjusters=(knob,))
    assert build.bleed_adjuster("bump") == knob
    assert build.bleed_adjuster("rebound") is None
    build = Build(damper="D", version="A", adjusters=(both,))
    assert build.bleed_adjuster("rebound") == both
    assert build.adjuster("rebound_bleed") is None


def test_a_sheet_waits_for_eyes_on_a_serious_warning_only() -> None:
    sheet = read_sheet(HEAD + ROWS)
    mild, grave = SheetWarning(name="mild"), SheetWarning(name="grave", serious=True)
    assert not mild.serious
    for warnings, seen, waits in (((), "", False), ((mild,), "", False), ((mild, grave), "", True),
                                  ((grave,), "Ann", False)):  # fmt: skip
        assert sheet.model_copy(update={"warnings": warnings, "seen_by": seen}).waits is waits


@pytest.mark.parametrize(("name", "ends"), [("balance", (-3, 3)), ("rating", (1, 10))])
def test_scales_end(name: str, ends: tuple[int, int]) -> None:
    for value in ends:
        assert getattr(Note.checked({"session": "s", name: value}), name) == value
    for value in (ends[0] - 1, ends[1] + 1):
        with pytest.raises(TracksideError):
            Note.checked({"session": "s", name: value})


def test_each_knob_in_words() -> None:
    told = {name: Adjuster(acts_on=name, clicks=9, counted_from="hard").words for name in ADJUSTERS}  # type: ignore[arg-type]
    assert told == {
        "bump_bleed": "bump",
        "rebound_bleed": "rebound",
        "both_bleed": "bump and rebound",
        "bump_preload": "bump preload",
        "rebound_preload": "rebound preload",
    }


def test_a_recording_is_sent_to_its_own_command() -> None:
    text = "time_s,displacement_mm,force_N\n" + "".join(f"0.{n},{n},{n}\n" for n in range(9))
    with pytest.raises(BadSheet) as refused:
        read_sheet(text, "a.csv")
    assert str(refused.value).startswith(
        "a.csv line 1 is the header of a recording over the stroke"
    )
    assert refused.value.remedy.startswith(
        "trackside dyno runs a.csv --position P reduces it, from"
    )


def test_the_commonest_delimiter_comes_first() -> None:
    assert delimiters("a;b,c,d") == (",", ";", "  ")
    assert delimiters("a;b;c,d") == (";", ",", "  ")


def test_degrees_in_words_and_bare_values_of_a_figure() -> None:
    """A heading's unit by its words: 68 °F is 20 °C by definition."""
    for word, told in (("deg c", 68.0), ("deg f", 20.0)):
        times, offset = factor("oil", word)
        assert 68.0 * times + offset == pytest.approx(told)
    assert si_of({"typed": "2", "si": 2.0}) == 2.0
    assert si_of({"other": 2.0}) == {"other": 2.0}
    assert si_of(3.0) == 3.0
