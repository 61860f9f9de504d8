"""Hints: each kind of change has one or is named without, and the model's views are the model's."""

from __future__ import annotations

import numpy as np
import pytest

from trackside.analysis.changes import AXLES
from trackside.analysis.felt import Moved
from trackside.reports.hints import hints

MASS, INERTIA = 900.0, 1300.0
FRONT, REAR = 1.30, 1.20
HEIGHT = 0.45
SPRING = (60e3, 55e3)
"""An invented car's body: kg, kg·m², m from the centre of mass to each axle, its height, N/m an
axle. The views hold for any of them; these are only numbers to compute with."""


def tyre_loads(
    push: float, rebound: tuple[float, float], bump: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Change of axle load (N) front and rear over time (s) after a longitudinal acceleration
    `push` (m/s², above zero: throttle) comes on within 0.1 s. Body in heave and pitch on two axles,
    each with a spring and a damper of one straight line a direction (N·s/m): Newton's equations of
    a rigid body, integrated with small explicit steps."""
    dt, n = 2e-4, 6000
    z = theta = v = omega = 0.0
    loads = np.zeros((2, n))
    for k in range(n):
        a = push * min(1.0, k * dt / 0.1)
        travel = (-(z - FRONT * theta), -(z + REAR * theta))  # compressed above zero; nose up θ < 0
        speed = (-(v - FRONT * omega), -(v + REAR * omega))
        force = [
            SPRING[i] * travel[i] + (bump[i] if speed[i] > 0 else rebound[i]) * speed[i]
            for i in (0, 1)
        ]
        moment = -MASS * a * HEIGHT - FRONT * force[0] + REAR * force[1]
        v += dt * sum(force) / MASS
        omega += dt * moment / INERTIA
        z, theta = z + dt * v, theta + dt * omega
        loads[:, k] = force
    return np.arange(n) * dt, loads[0], loads[1]


def test_the_simple_model_comes_to_rest_at_the_steady_transfer() -> None:
    """m·a·h over the wheelbase: moments about the centre of mass."""
    for push in (3.0, -8.0):
        _, front, rear = tyre_loads(push, (4e3, 4e3), (3e3, 3e3))
        steady = MASS * push * HEIGHT / (FRONT + REAR)
        assert rear[-1] == pytest.approx(steady, rel=0.02)
        assert front[-1] == pytest.approx(-steady, rel=0.02)


@pytest.mark.parametrize(
    ("axle", "direction", "push", "first"),
    [("front", "rebound", 3.0, -1), ("rear", "bump", 3.0, 1), ("rear", "rebound", -8.0, -1)],
)
def test_the_simple_model_says_what_the_hint_says_that_it_says(
    axle: str, direction: str, push: float, first: int
) -> None:
    """Throttle lifts the nose and brakes the tail: a harder rebound takes load off at first and
    gives it back, a harder bump puts it on. The impulse of the difference is nothing: only time
    is moved (momentum, for equal start and end)."""
    i = 0 if axle == "front" else 1
    base = {"rebound": [4e3, 4e3], "bump": [3e3, 3e3]}
    harder = {name: list(pair) for name, pair in base.items()}
    harder[direction][i] *= 1.5
    t, *was = tyre_loads(push, tuple(base["rebound"]), tuple(base["bump"]))
    _, *now = tyre_loads(push, tuple(harder["rebound"]), tuple(harder["bump"]))
    step = now[i] - was[i]
    early = step[t < 0.12]
    assert np.sign(early[np.argmax(np.abs(early))]) == first
    assert np.min(step * first) < -0.1 * np.max(np.abs(early)), "it is given back a moment later"
    assert abs(np.sum(step)) < 0.05 * np.sum(np.abs(step))
    said = next(hints([Moved(direction, axle, AXLES[axle], 1, direction)]))
    assert "A simple model says otherwise" in said
    assert ("less load" if first < 0 else "more load") in said


def test_whatever_speaks_of_tyre_load_against_the_crews_gives_both_views() -> None:
    told = [
        next(hints([Moved(d, a, AXLES[a], s, d)]))
        for a in ("front", "rear") for d in ("bump", "rebound") for s in (1, -1)
    ]  # fmt: skip
    for hint in told:
        assert ("crews say" in hint) == ("simple model" in hint)
        assert ("understeer" not in hint and "oversteer" not in hint) or "Two views" in hint


@pytest.mark.parametrize("part", ["spring_rate", "bar", "wing", "bias", "toe"])
@pytest.mark.parametrize("sense", [1, -1])
def test_spring_bar_wing_bias_and_toe_have_their_hint(part: str, sense: int) -> None:
    for axle in ("front",) if part == "bias" else ("front", "rear"):
        where = axle if part in ("spring_rate", "toe") else ""
        corners = AXLES[axle] if where else ()
        [hint] = hints([Moved(part, axle, corners, sense, f"the {part}")])
        assert hint.startswith(f"{where} the {part}".strip())
        assert "No hint" not in hint


@pytest.mark.parametrize(("part", "axle"), [("bar", "rear"), ("wing", "rear"), ("bias", "")])
def test_where_the_way_is_not_known_both_ways_are_said(part: str, axle: str) -> None:
    [hint] = hints([Moved(part, axle, (), 0, "Thing")])
    assert hint.startswith("Thing changed: ")
    assert ("stiffer" in hint and "softer" in hint) or "more" in hint or "towards the rear" in hint


def test_what_has_no_hint_is_named_and_nothing_is_claimed_of_it() -> None:
    told = list(hints([
        Moved("bump", "front", AXLES["front"], 0, "bump"),
        Moved("", "front", ("FR",), 0, "camber"),
        Moved("perch", "rear", AXLES["rear"], 1, "perch"),
        Moved("", "", (), 0, "Ballast"),
    ]))  # fmt: skip
    assert told == ["No hint for front bump, front right camber, rear perch, Ballast."]
    assert list(hints([])) == []
