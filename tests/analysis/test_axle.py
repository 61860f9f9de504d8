"""The whole car as it ran: by hand, from a shop rule that gives a known force."""

from dataclasses import replace

import pytest

from trackside.analysis.axle import axles
from trackside.analysis.shed import Shed
from trackside.errors import NoEstimate
from trackside.records import Build, Car, CarCorner, CornerSheet, Reading, Session, ShopRule


def _build(serial: str, bump: float, rebound: float) -> Build:
    rules = tuple(
        ShopRule(direction=d, full_hard_force=f, reference_speed=0.08, share_per_click=0.05)  # type: ignore[arg-type]
        for d, f in (("bump", bump), ("rebound", rebound))
    )
    return Build(damper=serial, version="A", shop_rules=rules)


FRONT = CarCorner(mass=340, unsprung_mass=40, motion_ratio=0.8, spring_rate=50e3)
REAR = CarCorner(mass=240, unsprung_mass=40, motion_ratio=0.8, spring_rate=40e3)
CAR = Car(
    name="Car", wheelbase=2.5, track_front=1.6, track_rear=1.6,
    FL=FRONT, FR=FRONT, RL=REAR, RR=REAR,
)  # fmt: skip
SHED = Shed(builds=(_build("F", 400, 800), _build("R", 300, 500)), cars={"car": CAR})
F, R = CornerSheet(damper="F"), CornerSheet(damper="R")
SESSION = Session(car="car", FL=F, FR=F, RL=R, RR=R)


def test_by_hand():
    # wheel speed 0.1 m/s at MR 0.8 is rod speed 0.08. Front: mean of 400 and 800 N is 600, over
    # 0.08 is 7500, ·0.64 is 4800 N·s/m a wheel; rear 400/0.08·0.64 = 3200.
    # Wheel rates 32 and 25.6 kN/m; sprung 300 and 200 kg a wheel. ζ = c/(2√(k·m)), derived.
    found = axles(SESSION, SHED, [0.1])
    assert found.front.damping == pytest.approx([9600])
    assert found.front.ratio == pytest.approx([4800 / (2 * (32e3 * 300) ** 0.5)])
    assert found.rear.ratio == pytest.approx([3200 / (2 * (25.6e3 * 200) ** 0.5)])
    assert found.heave.rate == pytest.approx(2 * 32e3 + 2 * 25.6e3)
    assert found.front_share == pytest.approx([0.6])
    assert found.roll.rate == pytest.approx(115.2e3 * 0.64)
    # sprung 600 kg in front, 400 behind: wheels 1.0 m ahead and 1.5 m behind
    assert found.pitch.rate == pytest.approx(64e3 + 51.2e3 * 2.25)
    assert found.coupling < 0
    assert found.pitch.ratio is None


def test_what_is_unknown_is_said():
    for shed, said in (
        (replace(SHED, cars={}), "wheelbase or tracks"),
        (replace(SHED, cars={"car": CAR.model_copy(update={"RR": CarCorner()})}), "at RR"),
        (replace(SHED, builds=SHED.builds[:1]), "R is not in the damper shed"),
    ):
        with pytest.raises(NoEstimate, match=said):
            axles(SESSION, shed, [0.1])
    odd = CornerSheet(damper="R", spring_rate=Reading.of_text("12o", "spring rate"))
    with pytest.raises(NoEstimate, match="spring rate at RL, “12o”"):
        axles(SESSION.model_copy(update={"RL": odd}), SHED, [0.1])
