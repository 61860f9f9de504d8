"""Road classes and measured profiles: ISO 8608's figures as public files quote them, bad files."""

from __future__ import annotations

import numpy as np
import pytest

from trackside.corner.road import CLASSES, N0, Road, road
from trackside.corner.road_profile import read_profile
from trackside.errors import BadInput, BadNumber


def test_class_means_as_quoted_of_iso_8608() -> None:
    """Gd(n0) in 1e-6 m³, ISO 8608 as five public files quote it; the standard was not read."""
    quoted = (16, 64, 256, 1024, 4096, 16384, 65536, 262144)
    assert [1e6 * value for value in CLASSES.values()] == pytest.approx(quoted, rel=1e-12)
    # The other column of the standard, at Ω0 = 1 rad/m: Gd(Ω) = Gd(n)/2π at n = 1/2π.
    other = CLASSES["A"] * (1.0 / (2.0 * np.pi) / N0) ** -2 / (2.0 * np.pi)
    assert other == pytest.approx(1.0053096e-6, rel=1e-7)


def test_the_intensity_is_half_the_one_sided_density() -> None:
    """Class C at 20 m/s: 4π²·n0²·Gd·V = 0.002021294981343101 (m/s)²/Hz (derived apart)."""
    assert 2.0 * road("c", 20.0).intensity == pytest.approx(0.002021294981343101, rel=1e-12)


def test_the_drawn_road_has_the_density_of_its_class() -> None:
    """A class A road is a random walk of 1.777 mm/√m (a public constant, 1.777)."""
    a = road("A", 20.0)
    heights = a.velocity(400_000, 1e-3, seed=2).cumsum() * 1e-3
    for metres in (1, 5):
        steps = int(metres / 20.0 / 1e-3)
        rms = np.std(heights[steps:] - heights[:-steps])
        assert rms == pytest.approx(1.777e-3 * np.sqrt(metres), rel=0.03)
    assert np.array_equal(a.velocity(10, 1e-3, 5), a.velocity(10, 1e-3, 5))
    assert not np.array_equal(a.velocity(10, 1e-3, 5), a.velocity(10, 1e-3, 6))


@pytest.mark.parametrize("letter", ["", "I", "AA", "1"])
def test_no_such_class(letter: str) -> None:
    with pytest.raises(BadNumber, match="no road class"):
        road(letter, 20.0)


@pytest.mark.parametrize("speed", [0.0, -1.0, np.nan, np.inf])
def test_no_such_speed(speed: float) -> None:
    with pytest.raises(BadNumber, match="speed on a road"):
        road("A", speed)
    profile = read_profile(file([(0.25 * n, 0.0) for n in range(300)]))
    with pytest.raises(BadNumber, match="speed on a road"):
        profile.velocity(speed, 1e-3)


def test_no_such_roughness() -> None:
    with pytest.raises(BadNumber, match="roughness"):
        Road(0.0, 20.0)


def file(points: list[tuple[float, float]], header: str = "distance_m,height_mm") -> str:
    return "\n".join([header, *(f"{x},{h}" for x, h in points)])


GOOD = [(0.25 * n, 5.0 * np.sin(0.25 * n)) for n in range(400)]


def test_a_profile_gives_the_road_its_velocity() -> None:
    """5 mm · sin(x) at 10 m/s: velocity 0.05·cos(10 t) m/s."""
    found = read_profile("\ufeff# measured\n" + file(GOOD, "Distance_m, height_mm"))
    assert found.length == pytest.approx(99.75)
    w = found.velocity(10.0, 1e-3)
    t = (np.arange(w.size) + 0.5) * 1e-3
    assert w.size == 9975
    assert w == pytest.approx(0.05 * np.cos(10.0 * t), abs=0.007)  # straight lines between points
    assert np.sum(w) * 1e-3 == pytest.approx(found.height[-1], abs=1e-12)


def changed(line: int, x: float | None = None, h: float | None = None) -> str:
    points = list(GOOD)
    old = points[line]
    points[line] = (old[0] if x is None else x, old[1] if h is None else h)
    return file(points)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("", "is empty"),
        ("distance_m,height_mm", "fewer than two"),
        (file(GOOD, "distance_ft,height_in"), "first line"),
        (file(GOOD, "height_mm,distance_m"), "first line"),
        (changed(7, x=1.5), "line 9: the distance does not rise"),
        (changed(7, x=-1.0), "line 9: the distance does not rise"),
        (file(GOOD[:100] + GOOD[110:]), "line 102: a gap of 2.75 m"),
        (file([(1000.0 * x, h) for x, h in GOOD]), "a gap of 250 m"),
        (file([(x, 1000.0 * h) for x, h in GOOD]), "the height jumps"),
        (file([(x / 1000.0, h) for x, h in GOOD]), "50 m are the least"),
        (file(GOOD[:20]), "50 m are the least"),
        (file(GOOD) + "\n100.0,", "line 402: height_mm is missing"),
        (file(GOOD) + "\n,3", "line 402: distance_m is missing"),
        (file(GOOD) + "\n100.0,3,4", "line 402: 3 values"),
        (file(GOOD) + "\n100.0,three", "no pair of numbers"),
        (file(GOOD) + "\n100.0,nan", "not finite"),
    ],
)
def test_a_profile_that_cannot_be_used_says_where_and_why(text: str, cause: str) -> None:
    with pytest.raises(BadInput, match=cause):
        read_profile(text)
