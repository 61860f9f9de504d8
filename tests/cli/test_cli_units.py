"""Every command in the crew's units, JSON in SI, and charts in what the crew chose to draw with."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from tests.bench.recordings import HERTZ, table, written
from tests.foreign import strays
from tests.running import SHEETS, Cli
from trackside.logbook import Logbook, patch
from trackside.preferences import Preferences, config_folder, load
from trackside.records import Reading

LOOKS = (
    ("show", "last"),
    ("sheet", "last"),
    ("debrief", "last"),
    ("changes",),
    ("curve", "last", "FL"),
    ("clicks", "last", "RR"),
    ("axles", "last"),
    ("road", "last", "--against", "last-2", "--class", "B", "--speed", "120"),
    ("revalve", "TW-2241"),
    ("trend", "FL", "--direction", "bump"),
    ("find", "cold"),
    ("history", "last"),
    ("dyno", "fit", SHEETS / "FP-0611-A.csv", "--at", "6", "--speeds", "5,100"),
)
"""Each command that tells a quantity; `dyno runs` below."""
TYPED = re.compile(
    r"\d+ mm, hole \d|40 mm forward|Track 16 °C"  # what people wrote
    r"|[−-]?[\d.,]+ ?\S+ (?=\([−-]?\d[\d.,]* \S)"  # as it was typed, the crew's unit behind it
    r"|(?<=\d) in the noise"
    r"|at \d+ (?:km/h|mph)"  # the car's own speed: never in the unit of a rod's
    r"|\(m/s\)/(?:√N|N\^1\.5|N)"  # coefficients of the model mix two quantities
)
CHOSEN = {
    "imperial": 'preset = "imperial"',
    "mixed": 'preset = "mixed"',
    "each": '[units]\nforce = "kgf"\ntemperature = "K"\nspeed = "m/s"\npressure = "kPa"',
}


def prefer(text: str) -> Preferences:
    """Write the preferences file."""
    config_folder().mkdir(parents=True, exist_ok=True)
    (config_folder() / "preferences.toml").write_text(text, "utf-8")
    return load()


@pytest.fixture
def recordings(tmp_path: Path) -> list[Path]:
    return [
        written(tmp_path / f"run{n}.csv", table(hertz, 500)) for n, hertz in enumerate(HERTZ[1:3])
    ]


@pytest.mark.parametrize("chosen", CHOSEN)
def test_no_command_tells_a_figure_in_another_unit(
    on_samples: Cli, recordings: list[Path], chosen: str
) -> None:
    preferences, found = prefer(CHOSEN[chosen]), {}
    for look in (*LOOKS, ("dyno", "runs", *recordings)):
        ran = on_samples(*look)
        assert ran.status == 0, ran.err
        if stray := strays(TYPED.sub("", ran.out), preferences):
            found[" ".join(map(str, look[:2]))] = stray
    assert not found


def test_show_tells_each_value_in_the_crews_unit(on_samples: Cli) -> None:
    """The samples' front left ran 15.2 bar = 220.5 psi, 150 N/mm = 857 lbf/in, 58 mm = 2.283 in
    (1 psi = 6894.757 Pa, 1 lbf/in = 175.1268 N/m: as tests/test_units.py checks them)."""
    prefer(CHOSEN["imperial"])
    told = on_samples("show", "last").out
    for words in ("air 52 °F", "220.5 psi", "857 lbf/in", "2.283 in", "16.4 US gal"):
        assert words in told
    prefer(CHOSEN["mixed"])
    told = on_samples("show", "last").out
    for words in ("air 11 °C", "220.5 psi", "857 lbf/in", "58.0 mm", "62.0 L"):
        assert words in told


def test_json_is_the_same_whatever_the_crew_reads(on_samples: Cli, recordings: list[Path]) -> None:
    looks = (*LOOKS, ("find", "air<15"), ("dyno", "runs", *recordings))
    first = [on_samples(*look, "--json").json for look in looks]
    prefer(CHOSEN["imperial"])
    assert [on_samples(*look, "--json").json for look in looks] == first


def test_html_to_print_is_in_the_crews_units_beside_json(on_samples: Cli, tmp_path: Path) -> None:
    prefer(CHOSEN["imperial"])
    page = tmp_path / "sheet.html"
    body = on_samples("sheet", "last", "--html", page, "--json").out
    assert "220.5 psi" in page.read_text("utf-8")
    assert "15.20 bar" in body
    assert "220.5 psi" not in body


def test_a_search_reads_bare_numbers_as_the_crew_writes_them(on_samples: Cli) -> None:
    """The samples' three kept set-ups had 11, 14 and 20 °C: 52, 57 and 68 °F."""
    prefer(CHOSEN["imperial"])
    assert on_samples("find", "air<55").out.count("kept:") == 1
    assert on_samples("find", "fuel>16").out.count("kept:") == 2  # two with 62 L: 16.4 US gal
    assert on_samples("find", "fuel>16 L").out.count("kept:") == 3


def test_a_conflict_tells_each_side_in_the_crews_unit_too(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    """1.55 bar = 22.5 psi, 1.60 bar = 23.2 psi (1 psi = 6894.757 Pa)."""
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    with (
        Logbook.open(log, author="Mara", device="here") as one,
        Logbook.open(log, author="Otto", device="here") as two,
    ):
        session = one.session("last")
        for window in (one, two):
            window.take_up(session)
        for window, typed in ((one, "1,60"), (two, "24 psi")):
            cold = Reading.of_text(typed, "pressure")
            assert cold is not None
            window.write(patch("session", session, {"FL.cold_pressure": cold.body()}))
    prefer(CHOSEN["imperial"])
    told = cli("--log", log, "conflicts").out
    assert "before  1.55 bar (22.5 psi)" in told
    assert "1,60 bar (23.2 psi)" in told
    assert "24 psi  " in told


@pytest.mark.parametrize("drawing", ["braille", "blocks", "ascii"])
def test_charts_are_drawn_with_what_the_crew_chose(
    on_samples: Cli, monkeypatch: pytest.MonkeyPatch, drawing: str
) -> None:
    prefer(f'drawing = "{drawing}"')
    monkeypatch.setattr("trackside.cli.command_context.speaks_unicode", lambda: True)
    for look in (("curve", "last", "FL"), ("trend", "FL"), ("sheet", "last")):
        out = on_samples(*look).out
        kinds = {
            "braille": any("\u2800" < letter < "\u2900" for letter in out),
            "blocks": any(letter in "▀▄█" for letter in out),
        }
        assert kinds == {name: name == drawing for name in kinds}, look


def test_an_output_without_unicode_gets_ascii_whatever_was_chosen(on_samples: Cli) -> None:
    prefer('drawing = "braille"')
    assert not any(letter > "\u2500" for letter in on_samples("curve", "last", "FL").out)
