"""Figures of cars and builds: typed ones and the bare numbers of earlier versions together."""

from __future__ import annotations

from pathlib import Path

import pytest

from trackside.errors import BadNumber, BadRecord
from trackside.logbook import Logbook, patch, put
from trackside.records import Build, Car, Reading
from trackside.records.ratios import at_ride, read_ratios

EARLIER = {
    "damper": "X-1", "version": "A", "gas_pressure": 16e5, "stroke": 0.12,
    "bump_parts": {"seat": 0.028},
    "shop_rules": [{"direction": "bump", "full_hard_force": 500.0, "reference_speed": 0.1}],
}  # fmt: skip


def _typed(text: str, quantity: str, unit: str = "") -> dict:
    reading = Reading.of_text(text, quantity, unit)
    assert reading is not None
    return reading.body()


def test_a_build_of_an_earlier_version_goes_on_with_typed_figures(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "mixed.trackside") as logbook:
        write = put("build", EARLIER)
        logbook.write(write)
        assert Build.checked(logbook.state(write.entity) or {}).gas_pressure == 16e5
        changed = {
            "gas_pressure": _typed("15,5", "pressure", "bar"),
            "bump_parts.clamp": _typed("14 mm", "length"),
        }
        logbook.write(patch("build", write.entity, changed))
        state = logbook.state(write.entity) or {}
        build = Build.checked(state)
        assert build.gas_pressure == pytest.approx(15.5e5)
        assert build.stroke == 0.12
        assert build.bump_parts is not None
        assert (build.bump_parts.seat, build.bump_parts.clamp) == (0.028, pytest.approx(0.014))
        assert state["gas_pressure"]["typed"] == "15,5"
        # one value, one path: what was typed is one word in the history
        assert logbook.history(write.entity)[0].changes.keys() == changed.keys()
        logbook.undo()
        assert logbook.state(write.entity) == EARLIER


def test_what_cannot_be_read_is_unknown_and_what_cannot_be_is_refused() -> None:
    odd = EARLIER | {"stroke": {"typed": "long", "unit": "mm"}}
    assert Build.checked(odd).stroke is None
    with pytest.raises(BadRecord, match="stroke"):
        Build.checked(EARLIER | {"stroke": _typed("-3", "length", "mm")})


def test_a_ratio_table_in_si_and_what_is_wrong_with_one() -> None:
    points = read_ratios("-30:0,70 0:0.72 30:0.76")
    assert points == ((-0.03, 0.7), (0.0, 0.72), (0.03, 0.76))
    assert at_ride(points) == 0.72
    for wrong in ("0:0.7", "0:0.7 -5:0.8", "0:0.7 5:0", "5:0.7 9:0.8", "0:0.7 x", "0:0.7:1 5:1"):
        with pytest.raises(BadNumber):
            read_ratios(wrong)
    with pytest.raises(BadRecord, match="at 0, the ride position"):
        Car.checked({"name": "n", "FL": {"motion_ratio": {"typed": "5:0.7 9:0.8", "unit": ""}}})


def test_a_record_of_typed_figures_comes_back_from_its_body() -> None:
    typed = {"motion_ratio": {"typed": "-30:0.70 0:0.72 30:0.76", "unit": "", "si": 0.72}}
    car = Car.checked({"name": "n", "FL": typed})
    assert Car.checked(car.body()) == car
