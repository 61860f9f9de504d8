"""Rod travel until the force stands, from a build's sizes."""

from dataclasses import replace

import pytest

from tests.analysis.garage import PREFERENCES, SHED, session
from trackside.analysis.estimate import ground, setting
from trackside.analysis.response import response
from trackside.errors import NoEstimate
from trackside.reports.response_words import response_words

SIZES = {
    "piston_diameter": 0.046, "rod_diameter": 0.014, "stroke": 0.12, "gas_pressure": 16e5,
}  # fmt: skip
BUILD = SHED.builds[0].model_copy(update=SIZES)
SIZED = replace(SHED, builds=(BUILD, *SHED.builds[1:]))


def test_against_the_spring_of_the_oil():
    # x = v·∫(V/β/A²)·dF/(v − v(F)), the oil's compression against the flow equation (derived), by
    # the trapezoidal rule on another grid; V/A² = stroke/2/A
    import numpy as np

    from trackside.damper.flow import force_at, speed_at

    at = setting(session(), "FL", "rebound", SIZED)
    path = ground(BUILD, "rebound", SIZED).path(at)
    area = np.pi / 4 * (0.046**2 - 0.014**2)
    force = 0.8 * float(force_at(1.0, path)) * np.linspace(0.0, 1.0, 20_001) ** 2
    by_hand = np.trapezoid(0.06 / area / 1.5e9 / (1.0 - speed_at(force, path)), force)
    found = response(at, SIZED)
    assert found.oil == pytest.approx(by_hand, rel=1e-4)
    assert found.airy > found.oil
    assert response(at, SIZED, gas=30e5).airy < found.airy  # more charge, stiffer air


def test_words_say_what_it_stands_on():
    said = response_words(response(setting(session(), "FL", "bump", SIZED), SIZED), PREFERENCES)
    assert "80 % of the force at 1000 mm/s" in said
    assert "a whole damper travels further" in said
    assert "as charged at the strip-down" in said
    read = response_words(
        response(setting(session(), "FL", "bump", SIZED), SIZED, gas=15e5), PREFERENCES
    )
    assert "gas 15.00 bar as read in its session" in read


@pytest.mark.parametrize(
    ("lacks", "said"), [("stroke", "stroke of HARD build A"), ("gas_pressure", "no gas pressure")]
)
def test_what_is_missing_is_said(lacks, said):
    build = BUILD.model_copy(update={lacks: None})
    shed = replace(SHED, builds=(build, *SHED.builds[1:]))
    with pytest.raises(NoEstimate, match=said):
        response(setting(session(), "FL", "bump", shed), shed)


def test_sizes_that_are_missing_are_named_with_what_helps():
    build = BUILD.model_copy(update={"rod_diameter": None, "stroke": None})
    shed = replace(SHED, builds=(build, *SHED.builds[1:]))
    with pytest.raises(NoEstimate) as refused:
        response(setting(session(), "FL", "bump", shed), shed)
    assert refused.value.cause == "rod, stroke of HARD build A not recorded"
    assert refused.value.remedy == "enter the sizes with the build"
