"""Values as a page tells them: converted where that can be done, never across what they measure."""

from __future__ import annotations

import numpy as np
import pytest

from trackside.analysis.worth import ForceStep
from trackside.damper.basis import Basis
from trackside.damper.shop import shop_curve
from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.reports.formatting import BASIS_WORDS, change, curve, plus_minus, step_cells, value


@pytest.mark.parametrize(
    ("typed", "quantity", "unit", "told"),
    [
        ("0.2°", "toe", "mm", "0.20 °"),  # no wheel size is known: an angle is no length
        ("30 kg", "fuel", "L", "30.0 kg"),  # nor a density
        ("1 in", "length", "mm", "25.4 mm"),  # 25.4 mm by definition
        ("12o", "spring rate", "N/mm", "12o"),
    ],
)
def test_a_value_keeps_what_it_measures(typed: str, quantity: str, unit: str, told: str) -> None:
    crew = Preferences(units={quantity: unit})
    assert value(Reading.of_text(typed, quantity, unit), quantity, crew) == told


def test_each_basis_says_where_its_figure_comes_from() -> None:
    assert {str(basis): BASIS_WORDS[basis] for basis in Basis} == {
        "measured": "measured at this position",
        "between clicks": "between measured positions",
        "outside range": "beyond the measured positions",
        "from sisters": "from its sisters, not measured here",
        "shop rule": "shop rule only",
        "from parts": "by the parts; this build was never measured",
    }


def test_words_and_the_unknown() -> None:
    assert value("soft, [/b]", None, Preferences()) == "soft, [/b]"
    assert value(None, "length", Preferences()) == "–"


@pytest.mark.parametrize("flip", [1.0, -1.0])
def test_all_of_an_uneven_band_lies_within_what_is_told(flip: float) -> None:
    told = shop_curve(900, 0.1, 0.06).predict(0, [0.1])  # 900 N from 671 to 1208: the handbook
    at, *edges = (flip * float(force[0]) for force in (told.force, told.low, told.high))
    low, high = sorted(edges)
    assert plus_minus(at, low, high, Preferences()) == "308"
    step = ForceStep(*map(np.array, ([0.1], [1e3], [at], [low], [high])), Basis.SHOP_RULE)
    assert step_cells(step, 0, Preferences())[1] == "308"
    assert plus_minus(944.0, 899.0, 989.0, Preferences()) == "45"  # an even one: half of it


def test_without_a_step_the_knob_is_at_its_stop_unless_there_is_no_estimate() -> None:
    assert step_cells(None, 0, Preferences()) == ("stop", "", "")
    assert step_cells(None, 0, Preferences(), "no dyno sheet") == ("–", "", "")


def test_a_change_within_the_noise_is_marked_and_its_percent_has_a_sign() -> None:
    speeds = np.array([0.1, 0.2])
    step = ForceStep(speeds, *map(np.array, ([1e3, 1e3], [40.0, -200.0], [-10.0, -260.0],
                                             [90.0, -150.0])), Basis.MEASURED)  # fmt: skip
    assert step_cells(step, 0, Preferences()) == ("≈+40", "50", "+4")
    assert step_cells(step, 1, Preferences()) == ("−200", "60", "−20")


def test_curves_are_in_the_crews_units_with_their_band() -> None:
    inches = Preferences(units={"speed": "in/s", "force": "lbf"})
    step = ForceStep(*map(np.array, ([0.254], [1e3], [44.482216], [-4.4482216], [88.964432])),
                     Basis.MEASURED)  # fmt: skip
    found = change(step, "after", inches)  # 1 in = 25.4 mm, 1 lbf = 4.4482216 N: NIST SP 811
    assert [float(np.ravel(v)[0]) for v in (found.x, found.y, found.low, found.high)] == (  # type: ignore[arg-type]
        pytest.approx([10.0, 10.0, -1.0, 20.0])
    )
    assert found.role == "after"
    told = shop_curve(900, 0.1, 0.06).predict(0, [0.1])
    bare, banded_ = (curve(told, "before", inches, "x", band=b) for b in (False, True))  # type: ignore[arg-type]
    assert bare.low is None
    assert bare.high is None
    assert float(np.ravel(banded_.low)[0]) < float(np.ravel(banded_.y)[0])  # type: ignore[arg-type]
    assert float(np.ravel(banded_.high)[0]) > float(np.ravel(banded_.y)[0])  # type: ignore[arg-type]
    assert (bare.role, bare.label) == ("before", "x")
