"""The sample weekends go into a logbook whole, once, with their dyno sheets."""

from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path

import pytest

from trackside.errors import BadImport, BadSheet
from trackside.logbook import Logbook
from trackside.logbook.samples import load_samples, samples_folder


def test_everything_in_the_folder_is_in_the_logbook(samples: Logbook) -> None:
    document = json.loads((samples_folder() / "weekends.json").read_text("utf-8"))
    for item in document["entities"]:
        assert samples.kind_of(item["entity"]) == item["kind"]
    listed = tomllib.loads((samples_folder() / "dyno" / "sheets.toml").read_text("utf-8"))["sheet"]
    kept = {body["source"]: body for _, body in samples.all("sheet")}
    assert set(kept) == {table["file"] for table in listed}
    for table in listed:
        body = kept[table["file"]]
        assert (body["damper"], body["build"], body["date"], body["counted_from"]) == (
            table["damper"], table["build"], table["date"], table["counted_from"],
        )  # fmt: skip
        assert body.get("gas_in", False) == table["gas_in"]


def test_every_sheet_belongs_to_a_build_and_can_be_fitted(samples: Logbook) -> None:
    from trackside.analysis.shed import Shed, fit_of

    shed = Shed.of(samples)
    for sheet in shed.sheets:
        build = shed.build(sheet.damper, sheet.build)
        assert build is not None
        fit = fit_of(sheet, build)
        for direction in (fit.bump, fit.rebound):
            assert direction is not None
            assert direction.rms_percent < 5


def test_twice_adds_nothing() -> None:
    with Logbook.open(":memory:", device="one") as logbook:
        assert load_samples(logbook) > 0
        assert load_samples(logbook) == 0


def test_all_of_it_is_one_step(tmp_path: Path) -> None:
    with Logbook.open(":memory:", device="one") as logbook:
        load_samples(logbook)
        logbook.undo()
        assert logbook.session_count() == 0
        assert logbook.all("sheet") == []


@pytest.mark.parametrize("broken", ["weekends.json", "dyno/sheets.toml", "dyno/SA-3107-A.csv"])
def test_a_broken_folder_brings_nothing(tmp_path: Path, broken: str) -> None:
    folder = tmp_path / "samples"
    shutil.copytree(samples_folder(), folder)
    (folder / broken).write_text("broken")
    with Logbook.open(":memory:", device="one") as logbook:
        with pytest.raises((BadImport, BadSheet)):
            load_samples(logbook, folder)
        assert logbook.session_count() == 0
        assert logbook.all("damper") == []


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with (
        Logbook.open(":memory:", device="one") as logbook,
        pytest.raises(BadImport, match="sample weekends"),
    ):
        load_samples(logbook, tmp_path / "nowhere")
