"""Bump stops' words to curves."""

import pytest

from trackside.errors import BadNumber
from trackside.records import Car
from trackside.records.stops import read_stops


def test_written_stops():
    car = Car.checked({"name": "Car", "stops": "Red 60 = 5:400 10:1300,5; blue=40/1.5/20"})
    red, blue = car.stop("red  60"), car.stop("BLUE")
    assert red.points == ((pytest.approx(0.005), 400), (pytest.approx(0.010), 1300.5))
    assert blue.three == pytest.approx((40e3, 1.5, 0.020))
    assert car.stop("green") is None
    assert Car(name="Car").stop("red") is None
    assert Car.checked(car.body()) == car


@pytest.mark.parametrize(
    "text",
    [
        "red", "= 5:400 10:1300", "red = soft", "red = 5:400", "red = 10:400 5:500", "red = 40/1",
        "red = 0/1/20", "red = 40/-1/20", "red = 5:400 10", "a = 40/1/20; A = 50/1/20",
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_said(text):
    with pytest.raises(BadNumber, match="bump stop"):
        read_stops(text)
    # the car stays readable: another machine may have written it
    assert Car.checked({"name": "Car", "stops": text}).stop("red") is None
