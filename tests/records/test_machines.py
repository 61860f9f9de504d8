"""What machines export is read without a spreadsheet in between, whatever its dress."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.records.machines import (
    INCH,
    LBF,
    Point,
    plain,
    points,
    quoted,
    shuffled,
    signed,
    tall,
    titled,
    wide,
)
from trackside.errors import BadColumns, BadSheet
from trackside.records import Said, read_sheet, read_sheet_files
from trackside.records.headings import mapped
from trackside.records.sheet_text import decoded

POINTS = points()
WAYS = ("bump", "rebound")
FOREIGN = ("Clicks", "Direction", "Velocity [mm/s]", "Force [N]")


def read(text: str | bytes, tmp_path: Path, **said: object) -> list[Point]:
    """What the reader makes of it, as plain points."""
    path = tmp_path / "bench.txt"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    sheet = read_sheet_files([str(path)], Said(**said))  # type: ignore[arg-type]
    return told(sheet.rows)


def told(rows: object) -> list[Point]:
    return [(r.position, r.direction, r.speed * 1000, r.force) for r in rows]  # type: ignore[attr-defined]


def same(found: list[Point], wanted: list[Point] = POINTS, rel: float = 1e-9) -> bool:
    key = sorted(found), sorted(wanted)
    return len(found) == len(wanted) and all(
        a[:2] == b[:2] and a[2] == pytest.approx(b[2], rel=rel) and a[3] == pytest.approx(b[3], rel)
        for a, b in zip(*key, strict=True)
    )


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_the_columns_may_come_in_any_order(tmp_path: Path, order: tuple[int, ...]) -> None:
    assert same(read(tall(POINTS, plain(1), ";", FOREIGN, order), tmp_path))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1", "utf-16", "utf-16-le",
                                      "utf-16-be", "cp1252"])  # fmt: skip
def test_encodings(tmp_path: Path, encoding: str) -> None:
    top = ["Prüfstand: Dämpfer Nr. 7", ""]
    heads = ("Clicks", "Direction", "Velocity [mm/s]", "Force [N]", "Oil °C")
    text = tall(POINTS, plain(1), "\t", heads, range(4), top=top)
    assert same(read(text.encode(encoding), tmp_path))


@pytest.mark.parametrize(
    ("decimals", "mark", "group", "delimiter"),
    [
        (1, ",", "", ";"), (1, ",", ".", ";"), (1, ".", ",", ";"), (1, ".", ",", ","),
        (1, ",", " ", ";"), (1, ".", "'", "\t"), (1, ",", "\u202f", "\t"), (3, ",", "", ";"),
        (3, ".", "", ","), (2, ",", ".", "|"), (1, ".", "", "  "),
    ],
)  # fmt: skip
def test_decimal_and_thousands_marks(
    tmp_path: Path, decimals: int, mark: str, group: str, delimiter: str
) -> None:
    number = plain(decimals, mark, group)
    assert same(read(tall(POINTS, number, delimiter, FOREIGN, range(4)), tmp_path))


def test_whole_numbers_with_thousands_marks(tmp_path: Path) -> None:
    """2.110 beside 850 is two thousand; nothing in the file has a decimal."""
    whole = [(p, d, v, float(round(f))) for p, d, v, f in POINTS]
    for group in ".,":
        text = tall(whole, plain(0, "", group), ";", FOREIGN, range(4))
        assert same(read(text, tmp_path), whole)


def test_a_number_that_can_be_read_in_two_ways_is_refused(tmp_path: Path) -> None:
    text = ";".join(FOREIGN) + "\n" + "".join(
        f"0;bump;{v};{f}\n" for v, f in ((25, "12.250"), (50, "20"), (75, "31.125"), (100, "44"))
    )  # fmt: skip
    with pytest.raises(BadSheet, match="two ways"):
        read(text, tmp_path)


@pytest.mark.parametrize(
    "heads",
    [
        ("Position", "Dir", "Speed (mm/s)", "Damping Force, N"),
        ("Setting", "Direction", "Vel mm/sec", "Load N"),
        ("pos", "direction", "Rod speed [mm/s]", "Force/N"),
    ],
)
def test_the_words_of_the_trade_are_understood(tmp_path: Path, heads: tuple[str, ...]) -> None:
    assert same(read(tall(POINTS, plain(1), ",", heads, range(4)), tmp_path))


@pytest.mark.parametrize(
    "words", [("Compression", "Extension"), ("COMP", "REB"), ("c", "r"), ("Closing", "Opening")]
)
def test_words_for_directions(tmp_path: Path, words: tuple[str, str]) -> None:
    assert same(read(tall(POINTS, plain(1), ",", FOREIGN, range(4), words), tmp_path))


def test_lines_above_the_header_are_passed_over(tmp_path: Path) -> None:
    top = ["Report of the bench", "Date;2026-11-01;09:30", "", "Stroke;25;mm", "Temp;22,5;C", ""]
    assert same(read(tall(POINTS, plain(1, ","), ";", FOREIGN, range(4), top=top), tmp_path))


def test_units_may_have_a_line_of_their_own(tmp_path: Path) -> None:
    text = tall(POINTS, plain(1), ";", ("Clicks", "Direction", "Velocity", "Force"), range(4))
    head, rest = text.split("\n", 1)
    assert same(read(f"{head}\n;;mm/s;N\n{rest}", tmp_path))


@pytest.mark.parametrize(
    ("heads", "speed", "force"),
    [
        (("Clicks", "Direction", "Velocity (in/sec)", "Force (lbs)"), INCH, LBF),
        (("Clicks", "Direction", "Velocity (m/s)", "Force (kN)"), 1000.0, 1000.0),
        (("Clicks", "Direction", "Velocity (mm/s)", "Force (daN)"), 1.0, 10.0),
        (("Clicks", "Direction", "Velocity (mm/s)", "Force (kg)"), 1.0, 9.80665),
    ],
)
def test_units_of_the_headings(
    tmp_path: Path, heads: tuple[str, ...], speed: float, force: float
) -> None:
    other = [(p, d, v / speed, f / force) for p, d, v, f in POINTS]
    assert same(read(tall(other, plain(6), ";", heads, range(4)), tmp_path), rel=1e-3)


@pytest.mark.parametrize(
    "head", ["{d} {p:g} [N]", "{d} @ {p:g} clicks (N)", "{d}_{p:g}_N", "{p:g} {d} N"]
)
def test_wide_tables(tmp_path: Path, head: str) -> None:
    assert same(read(wide(POINTS, plain(1, ","), ";", head), tmp_path))


def test_a_wide_table_may_lack_cells(tmp_path: Path) -> None:
    fewer = [p for p in POINTS if not (p[0] == 8 and p[2] > 300)]
    assert same(read(wide(fewer, plain(1), ","), tmp_path), fewer)


def test_bump_and_rebound_side_by_side_each_with_its_speed(tmp_path: Path) -> None:
    pairs = zip(*([x for x in POINTS if x[1] == d] for d in ("bump", "rebound")), strict=True)
    lines = ["Clicks;Comp Velocity [mm/s];Comp Force [N];Reb Velocity [mm/s];Reb Force [N]"]
    lines += [f"{b[0]:g};{b[2]};{b[3]};{r[2]};{r[3]}" for b, r in pairs]
    assert same(read("\n".join(lines), tmp_path))


@pytest.mark.parametrize("by", ["speed", "force", "speed and force"])
def test_directions_by_sign(tmp_path: Path, by: str) -> None:
    text = signed(shuffled(POINTS, 3), plain(1), ";", by)
    assert same(read(text, tmp_path))
    turned = read(text, tmp_path, positive="rebound")
    swap = {"bump": "rebound", "rebound": "bump"}
    assert same(turned, [(p, swap[d], v, f) for p, d, v, f in POINTS])
    said = read_sheet(text).warnings
    assert [w.name for w in said] == ["direction_by_sign"]
    assert read_sheet(text, said=Said(positive="bump")).warnings == ()


def test_without_any_sign_the_direction_is_asked_for(tmp_path: Path) -> None:
    with pytest.raises(BadSheet, match="no column direction"):
        read(signed(POINTS, plain(1), ";", ""), tmp_path)


def test_a_table_for_each_direction_in_one_file(tmp_path: Path) -> None:
    assert same(read(titled(POINTS, plain(1, ","), ";"), tmp_path))


def test_a_file_for_each_direction(tmp_path: Path) -> None:
    names = []
    for n, d in enumerate(("bump", "rebound")):
        lines = ["Clicks,Speed [mm/s],Force [N]"]
        lines += [f"{p:g},{v},{f}" for p, way, v, f in POINTS if way == d]
        path = tmp_path / f"7 {('comp', 'rebound')[n]}.csv"
        path.write_text("\n".join(lines))
        names.append(str(path))
    sheet = read_sheet_files(names)
    assert same(told(sheet.rows))
    assert sheet.source == "7 comp.csv + 7 rebound.csv"
    assert [w.name for w in sheet.warnings] == ["direction_by_name"] * 2


def test_a_position_above_the_table_or_said(tmp_path: Path) -> None:
    one = [x for x in POINTS if x[0] == 8]
    heads = ("Clicks", "Direction", "Velocity [mm/s]", "Force [N]")
    text = tall(one, plain(1), ";", heads, (1, 2, 3))
    with pytest.raises(BadSheet, match="line 2 has no position"):
        read(text, tmp_path)
    assert same(read(text, tmp_path, position="8"), one)
    for title in ("Position: 8", "Clicks;8", "8 clicks", "Setting = 8 clicks"):
        assert same(read(f"Bench\n{title}\n\n{text}", tmp_path), one), title


@pytest.mark.parametrize(
    ("word", "far", "ends", "counts"),
    [
        ("F", None, (None, None), 0),
        ("full hard", None, ("hard", None), 0),
        ("hard", None, ("soft", 20.0), 20),
        (None, "soft", ("hard", 20.0), 20),
        (None, "full soft", ("soft", None), 0),
    ],
)
def test_the_ends_of_an_adjuster_in_words(
    tmp_path: Path, word: str | None, far: str | None, ends: tuple[str | None, float | None],
    counts: float,
) -> None:  # fmt: skip
    at = 0 if word else 16
    named = {at: word or far}
    inner = [x for x in POINTS if x[0] != 16 - at]
    rows = [";".join(FOREIGN)]
    rows += [f"{named.get(p, f'{p:g} clicks')};{d};{v};{f}" for p, d, v, f in inner]
    found = read("\n".join(rows), tmp_path, ends=dict.fromkeys(WAYS, ends))
    assert same(found, [(counts if p == at else p, d, v, f) for p, d, v, f in inner])


def test_hard_beside_a_nought_is_the_far_end(tmp_path: Path) -> None:
    rows = [";".join(FOREIGN)]
    rows += [f"{'hard' if p == 16 else f'{p:g}'};{d};{v};{f}" for p, d, v, f in POINTS]
    with pytest.raises(BadSheet, match=r"far end.*--clicks"):
        read("\n".join(rows), tmp_path)
    found = read("\n".join(rows), tmp_path, ends=dict.fromkeys(WAYS, (None, 16.0)))
    assert same(found)


# ── names of one's own ──────────────────────────────────────────────────────────────────────────

ODD = ("Stellung", "Zug/Druck", "v", "Kraft")
ODD_TEXT = tall(POINTS, plain(1, ","), ";", ODD, (3, 0, 2, 1))
SAID = mapped(["Stellung=position; Zug/Druck=direction", "v=speed_mm_s", "Kraft=force_N"])


def test_names_of_ones_own_are_asked_for_and_then_known(tmp_path: Path) -> None:
    with pytest.raises(BadColumns, match=r"line 1 has no column.*--columns") as caught:
        read(ODD_TEXT, tmp_path)
    assert caught.value.columns == ("Kraft", "Stellung", "v", "Zug/Druck")
    assert same(read(ODD_TEXT, tmp_path, columns=SAID))
    assert same(read(ODD_TEXT, tmp_path, known=({"other": "position"}, SAID)))


def test_lines_padded_to_the_width_of_the_table_are_no_header(tmp_path: Path) -> None:
    """A spreadsheet pads what is above the header with empty cells."""
    above = ["Stand 7;;;", "Date;2026-03-14;;", "Operator;Ann;;"]
    text = "\n".join([*above, ODD_TEXT])
    with pytest.raises(BadColumns, match="line 4 has no column") as caught:
        read(text, tmp_path)
    assert caught.value.columns == ("Kraft", "Stellung", "v", "Zug/Druck")
    assert same(read(text, tmp_path, columns=SAID))


def test_a_known_table_is_one_that_has_all_of_its_names(tmp_path: Path) -> None:
    other = ODD_TEXT.replace("Kraft", "Last")
    with pytest.raises(BadColumns):
        read(other, tmp_path, known=(SAID,))


def test_a_unit_that_is_missing_is_asked_for(tmp_path: Path) -> None:
    text = tall(POINTS, plain(1), ";", ("Clicks", "Direction", "Velocity", "Force [N]"), range(4))
    with pytest.raises(BadColumns, match="“Velocity” has no unit"):
        read(text, tmp_path)
    assert same(read(text, tmp_path, columns=mapped(["Velocity=speed_mm_s"])))


def test_every_column_of_a_wide_table_may_be_said_at_once(tmp_path: Path) -> None:
    text = wide(POINTS, plain(1), ";", "{d} {p:g}")
    with pytest.raises(BadColumns, match="has no unit"):
        read(text, tmp_path)
    assert same(read(text, tmp_path, columns=mapped(["*=force_N"])))


def test_a_column_may_be_left_out(tmp_path: Path) -> None:
    text = wide(POINTS, plain(1), ";").replace("bump 0 [N]", "Force spread [N]")
    kept = [x for x in POINTS if x[:2] != (0, "bump")]
    found = read(text, tmp_path, columns=mapped(["Force spread [N]=ignore"]))
    assert same(found, kept)


# ── what is no table of peak speeds ─────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    "header",
    [
        "Crank angle (deg);Displacement (mm);Force (N)",
        "Time (s);Displacement (mm);Velocity (mm/s);Load (N)",
        "time_s,displacement_mm,force_N",
        "Stroke [mm];Force [N]",
        "Position (mm);Force (N)",
    ],
)
def test_a_loop_over_the_stroke_is_recognised(tmp_path: Path, header: str) -> None:
    delimiter = ";" if ";" in header else ","
    row = delimiter.join("1" for _ in header.split(delimiter))
    with pytest.raises(BadSheet, match=r"line 1 .*recording.*dyno runs bench\.txt"):
        read("\n".join([header, *[row] * 50]), tmp_path)


def test_a_trace_over_the_stroke_is_recognised_by_its_many_points(tmp_path: Path) -> None:
    lines = ["Clicks,Velocity [mm/s],Force [N]"]
    lines += [f"8,{v / 3:.2f},{v}" for v in range(-300, 300)]
    with pytest.raises(BadSheet, match=r"recording.*dyno runs"):
        read("\n".join(lines), tmp_path)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("8;bump;50", "line 3 has 3 cells"),
        ("8;bump;50;1;2", "line 3 has 5 cells"),
        ("8;sideways;50;100", "line 3: direction “sideways”"),
        ("8;bump;fast;100", "line 3: speed “fast” is not a number"),
        ("8;bump;50;", "line 3: force"),
        ("half way;bump;50;100", "line 3: position"),
        (";bump;50;100", "line 3 has no position"),
        ("8;bump;50;1e999", "line 3: force"),
    ],
)
def test_every_refusal_names_file_and_line(tmp_path: Path, line: str, told: str) -> None:
    text = tall(POINTS, plain(1), ";", FOREIGN, range(4)).splitlines()
    with pytest.raises(BadSheet, match=r"bench\.txt") as caught:
        read("\n".join([*text[:2], line, *text[2:]]), tmp_path)
    assert told in str(caught.value)
    assert caught.value.remedy


@given(data=st.data())
def test_any_dress_reads_the_same(data: st.DataObject, tmp_path_factory: object) -> None:
    """Delimiter, marks, order of columns and of rows, encoding, lines above: all at once."""
    delimiter = data.draw(st.sampled_from([";", "\t", "|", ","]))
    mark, group = data.draw(
        st.sampled_from([(".", ""), (",", ""), (".", ","), (",", "."), (",", " "), (".", "'")])
    )
    decimals = data.draw(st.integers(1, 4))
    encoding = data.draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]))
    rows = shuffled(POINTS, data.draw(st.integers(0, 99)))
    order = data.draw(st.permutations(range(4)))
    top = data.draw(st.lists(st.sampled_from(["", "Bench", "Operator: é", "Run;7;9"]), max_size=4))
    text = tall(rows, plain(decimals, mark, group), delimiter, FOREIGN, order, top=top)
    path = tmp_path_factory.mktemp("dress")  # type: ignore[attr-defined]
    assert same(read(text.encode(encoding), path))


@given(st.binary(max_size=400))
def test_no_bytes_do_more_than_be_refused(content: bytes) -> None:
    for head in (b"", b"Clicks;Direction;Speed [mm/s];Force [N]\n", b"\xff\xfe"):
        assert "odd.csv" in (_refused(head + content) or "odd.csv")


def _refused(content: bytes) -> str:
    """Why it was refused; empty where it was not."""
    try:
        read_sheet(decoded(content, "odd.csv"), "odd.csv")
    except BadSheet as error:
        return error.cause
    return ""


@given(st.text(max_size=300))
def test_no_text_does_more_than_be_refused(text: str) -> None:
    for head in ("", "position,direction,speed_mm_s,force_N\n", "Speed [mm/s];C 8 [N];R 8 [N]\n"):
        assert "odd.csv" in (_refused((head + text).encode("utf-8", "replace")) or "odd.csv")


def test_a_cell_with_the_delimiter_is_quoted() -> None:
    assert quoted("1,5", ",") == '"1,5"'


@pytest.mark.parametrize(
    ("header", "told"),
    [
        ("position,direction,speed,force", '“speed” has no unit: --columns "speed=speed_mm_s"'),
        ("position,direction,speed_mm_s,force", '“force” has no unit: --columns "force=force_N"'),
        ("position,direction,force,speed_mm_s", '“force” has no unit: --columns "force=force_N"'),
    ],
)
def test_a_column_without_unit_is_named_with_its_own_remedy(
    header: str, told: str, tmp_path: Path
) -> None:
    with pytest.raises(BadSheet) as refused:
        read(f"{header}\n0,bump,50,200\n", tmp_path)
    assert refused.value.remedy.startswith(told)
