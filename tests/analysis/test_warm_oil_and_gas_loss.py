"""Warm oil and lost gas: what temperature does to a corner, and what it does not explain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import PREFERENCES, SHED, SPEEDS, corner, session
from trackside.analysis.changes import changes
from trackside.analysis.estimate import Estimate, estimate
from trackside.analysis.gas_loss import LostCharge, lost_charge, lost_charges
from trackside.analysis.gauges import UNLIKELY
from trackside.analysis.plausible_ranges import record_marks
from trackside.analysis.shed import Shed
from trackside.analysis.warm_oil import Warm, warm_estimate
from trackside.damper.gas import pressure_at
from trackside.errors import NoEstimate
from trackside.preferences import Preferences
from trackside.records import CornerSheet, Reading, Session
from trackside.reports.gas_words import lost_charge_words
from trackside.reports.mark_words import mark_words


def _warm(shed: Shed, ran: Session) -> tuple[Estimate, Warm]:
    cold = estimate(ran, "FL", "rebound", shed, SPEEDS)
    return cold, warm_estimate(cold, ran, shed, SPEEDS)


def _at(oil_C: float | None, body: float | None, **build: float) -> tuple[Shed, Session]:
    """The garage with HARD's sheet run at `oil_C`, and a session at that body temperature."""
    first = SHED.sheets[0]
    rows = tuple(row._replace(oil_C=oil_C) for row in first.rows)
    builds = tuple(b.model_copy(update=build) for b in SHED.builds)
    shed = replace(SHED, sheets=(first.model_copy(update={"rows": rows}),), builds=builds)
    warm = None if body is None else Reading.of_si(body, "temperature")
    return shed, session(corner(body_temperature=warm))


def test_the_sheets_own_temperature_changes_nothing() -> None:
    cold, warm = _warm(*_at(30.0, 30.0))
    assert warm.estimate.force == pytest.approx(cold.force, rel=1e-9)


def test_without_oil_data_only_the_density_moves_and_it_says_so() -> None:
    """60 K warmer is about 4.2 % less density at 7e-4/K (from memory); an orifice's force goes
    with the density (textbook law), so no speed loses more."""
    cold, warm = _warm(*_at(20.0, 80.0))
    assert warm.oil == "nothing"
    ratio = warm.estimate.force / cold.force
    assert np.all(ratio < 1)
    assert np.all(ratio > 1 / 1.043)


def test_thin_oil_leaks_more() -> None:
    """The leak rises as the oil thins (Poiseuille), so with data the force falls further."""
    oil = {"oil_viscosity_40": 15e-6, "oil_viscosity_100": 3.5e-6}
    _, by_density = _warm(*_at(20.0, 80.0))
    _, by_both = _warm(*_at(20.0, 80.0, **oil))
    assert by_both.oil == "viscosities"
    assert np.all(by_both.estimate.force <= by_density.estimate.force * (1 + 1e-12))


def test_grade_and_index_stand_for_the_viscosity_at_100() -> None:
    """A viscosity index of 92 belongs to 73.3 and 8.86 mm²/s: an example of ASTM D2270 in the tests
    of chemicals 1.5.2 (read there; the standard was not read)."""
    by_grade = _warm(*_at(20.0, 80.0, oil_grade=73.3e-6, oil_index=92.0))[1]
    two = {"oil_viscosity_40": 73.3e-6, "oil_viscosity_100": 8.86e-6}
    by_two = _warm(*_at(20.0, 80.0, **two))[1]
    assert by_grade.oil == "grade"
    assert by_grade.estimate.force == pytest.approx(by_two.estimate.force, rel=1e-3)
    # two viscosities win where all four are on record
    assert _warm(*_at(20.0, 80.0, oil_grade=10e-6, oil_index=92.0, **two))[1].oil == by_two.oil


def test_an_oil_that_cannot_be_is_said() -> None:
    with pytest.raises(NoEstimate, match="no oil of 46 cSt"):
        _warm(*_at(20.0, 80.0, oil_grade=46e-6, oil_index=5000.0))
    body = {"oil_grade": 46e-6, "oil_index": 5000.0}
    [mark] = record_marks("build", body).values()
    assert (mark.kind, mark.path) == ("no such oil", "oil_index")
    assert "no oil of 46 cSt" in mark_words(mark, PREFERENCES)
    assert record_marks("build", body | {"oil_index": 100.0}) == {}


@pytest.mark.parametrize(("oil_C", "body"), [(None, 60.0), (30.0, None)])
def test_what_is_missing_is_said(oil_C: float | None, body: float | None) -> None:
    with pytest.raises(NoEstimate):
        _warm(*_at(oil_C, body))


def _charged(pressure: float, at_C: float, damper: str = "D1") -> Session:
    return Session(
        FL=CornerSheet(
            damper=damper,
            build="A",
            gas_pressure=Reading.of_si(pressure, "pressure"),
            gas_temperature=Reading.of_si(at_C, "temperature"),
        )
    )


def test_a_colder_reading_of_the_same_gas_is_no_loss() -> None:
    before = _charged(16e5, 24.0)
    after = _charged(float(pressure_at(16e5, 24.0, 9.0)), 9.0)
    assert lost_charges(before, after) == []


def test_a_bar_too_few_is_told_with_what_was_expected() -> None:
    before = _charged(16e5, 24.0)
    expected = float(pressure_at(16e5, 24.0, 9.0))
    lost = lost_charge(before, _charged(expected - 1e5, 9.0), "FL")
    assert lost is not None
    assert (lost.missing, lost.expected) == pytest.approx((1e5, expected))
    told = lost_charge_words(lost, Preferences(preset="mixed"))
    assert "14.5 psi" in told  # 1 bar; psi by the definitions of pound, gravity and inch
    assert told.startswith("FL gas")


@pytest.mark.parametrize(("pressure", "at_C"), [(16e5, -300.0), (-2e5, 20.0)])
def test_a_reading_that_cannot_be_is_said_and_stops_no_page(pressure: float, at_C: float) -> None:
    odd, sound = _charged(pressure, at_C), _charged(16e5, 24.0)
    lost = lost_charge(sound, odd, "FL")
    assert lost is not None
    assert lost.missing is None
    assert "not compared" in lost_charge_words(lost, PREFERENCES)
    assert len(lost_charges(odd, sound)) == 1


@pytest.mark.parametrize("odd", [(999e5, 20.0), (15e5, 400.0)])
def test_a_reading_beyond_its_limits_is_no_change_of_the_charge(odd: tuple[float, float]) -> None:
    """The run sheet marks it: nobody knows yet what the gauge showed."""
    sound, marked = _charged(16e5, 20.0), _charged(*odd)
    for before, after in ((sound, marked), (marked, sound)):
        assert lost_charge(before, after, "FL") == LostCharge("FL", why=UNLIKELY)
        found = changes(before, after, SHED, SPEEDS)
        assert [value.path for value in found.values] == []
        assert (found.readings[0].verdict, found.readings[0].why) == ("unknown", UNLIKELY)


def test_another_damper_is_not_compared() -> None:
    assert lost_charge(_charged(16e5, 20.0), _charged(12e5, 20.0, "D2"), "FL") is None
