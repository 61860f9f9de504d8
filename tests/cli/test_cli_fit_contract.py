"""What `dyno fit --json` promises: every number has its unit, and people read the same figures."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from tests.cli.contract import check_estimate
from tests.running import SHEETS, Cli

UNITS = ("_N", "_mm_s", "_percent", "_C")
WITHOUT = {
    "position": "clicks, as the sheet counts",
    "positions": "clicks, as the sheet counts",
    "preload_position": "clicks, as the sheet counts",
    "clicks_from_hard": "clicks",
    "rows": "how many",
    "value": "as `unit` beside it says",
    "low": "as `unit` beside it says",
    "high": "as `unit` beside it says",
}
TOP = {
    "source", "rows", "counted_from", "count_from_stated", "preload_counted_from", "gas_force_N",
    "directions", "estimates", "changes", "sisters", "warnings", "sheet_warnings",
}  # fmt: skip
DIRECTION = {
    "parameters", "residuals", "rms_percent", "rms_N", "positions", "oil_C", "hardly_told",
    "best_run",
}  # fmt: skip
RUN = {"position", "direction", "speed_mm_s", "speeds_mm_s", "bands_narrower_percent"}
RESIDUAL = {"position", "direction", "speed_mm_s", "force_N", "fitted_N", "residual_N"}
PARAMETERS = {
    "bleed": "(m/s)/√N", "crack": "N", "opening": "(m/s)/N^1.5", "port": "(m/s)/√N", "knee": "N",
    "leak": "(m/s)/N", "friction": "N",
}  # fmt: skip

SHEET = SHEETS / "RP-0713-A.csv"


@pytest.fixture(scope="module")
def asked() -> tuple[object, ...]:
    return ("dyno", "fit", SHEET, "--at", 5, "--at", 22, "--speeds", "50,200", "--gas-force", 12)


def numbers(document: Any, key: str = "") -> Iterator[tuple[str, dict[str, Any] | None]]:
    """The key of every number, and the object that it stands in."""
    if isinstance(document, dict):
        for name, value in document.items():
            for found, inside in numbers(value, name):
                yield found, inside or document
    elif isinstance(document, list):
        for value in document:
            yield from numbers(value, key)
    elif isinstance(document, (int, float)) and not isinstance(document, bool):
        yield key, None


def test_every_number_has_its_unit(cli: Cli, asked: tuple[object, ...]) -> None:
    for key, inside in numbers(cli(*asked, "--json").json):
        assert key.endswith(UNITS) or key in WITHOUT, key
        if key in ("value", "low", "high"):
            assert inside is not None
            assert inside["unit"]


def test_all_of_it_is_there(cli: Cli, asked: tuple[object, ...]) -> None:
    found = cli(*asked, "--json").json
    assert set(found) == TOP
    assert found["gas_force_N"] == 12
    assert found["preload_counted_from"] in ("hard", "soft")
    assert cli("dyno", "fit", SHEETS / "FP-0611-A.csv", "--json").json["gas_force_N"] is None
    for name, body in found["directions"].items():
        assert set(body) == DIRECTION
        assert set(body["best_run"]) == RUN
        assert body["best_run"]["direction"] == name
        assert 0 < body["best_run"]["bands_narrower_percent"] < 100
        assert len(body["residuals"]) == sum(r["direction"] == name for r in body["residuals"])
        assert all(set(residual) == RESIDUAL for residual in body["residuals"])
        units = {p["name"].partition(" at ")[0]: p["unit"] for p in body["parameters"]}
        assert units == PARAMETERS
        assert set(body["hardly_told"]) <= set(PARAMETERS)
        bleeds = [p["name"] for p in body["parameters"] if p["name"].startswith("bleed")]
        assert bleeds == [f"bleed at {p:g}" for p in body["positions"]]
    for estimate in found["estimates"]:
        check_estimate(estimate)
    assert sum(len(b["residuals"]) for b in found["directions"].values()) == found["rows"]


def test_people_read_the_same_figures(cli: Cli, asked: tuple[object, ...]) -> None:
    told, found = cli(*asked).out, cli(*asked, "--json").json
    for name, body in found["directions"].items():
        part = told.partition(f"\n{name}: the fit misses by ")[2]
        assert part.startswith(f"{body['rms_percent']:.1f} % rms ({body['rms_N']:.0f} N)")
        worst = max(body["residuals"], key=lambda residual: abs(residual["residual_N"]))
        assert f"at most {worst['residual_N']:.0f} N at position {worst['position']:g}" in part
        for p in body["parameters"]:
            cells = (
                p["name"],
                f"{p['value']:.4g}",
                f"{p['low']:.3g} to {p['high']:.3g}",
                p["unit"],
            )
            assert re.search(r"\s+".join(map(re.escape, cells)), part), cells
        if body["hardly_told"]:
            assert f"this sheet barely pins down: {', '.join(body['hardly_told'])}\n" in part
        run = body["best_run"]
        assert (
            f"one run more, at position {run['position']:g} and "
            f"{', '.join(f'{speed:.0f}' for speed in sorted(run['speeds_mm_s']))} mm/s" in part
        )
        assert run["speed_mm_s"] == run["speeds_mm_s"][0]
        assert f"(by about {run['bands_narrower_percent']:.0f}%)" in part
    for e in found["estimates"]:
        ring = f", preload {e['preload_position']:g}" if "preload_position" in e else ""
        part = told.partition(f"\n{e['direction']}: ")[2]
        part = part.partition(f"position {e['position']:g}{ring}, {e['basis']}: N at mm/s\n")[2]
        lines = part.splitlines()[: len(e["force_N"])]
        for line, speed, force in zip(lines, e["speed_mm_s"], e["force_N"], strict=True):
            assert line.split()[:2] == [f"{speed:.0f}", f"{force:.0f}"]
    said = [line[2:] for line in told.splitlines() if line.startswith("! ")]
    assert said == found["warnings"]
    assert said
