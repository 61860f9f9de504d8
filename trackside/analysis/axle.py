"""A car's axles as it ran: heave, pitch and roll, and front against rear, over wheel speeds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.estimate import DIRECTIONS, Speeds, estimate
from trackside.analysis.shed import Shed
from trackside.analysis.wheel import spring_at, spring_at_wheel
from trackside.corner.axle import Mode, both_ways, coupling, heave, pitch, roll, wheels_of
from trackside.corner.wheel import wheel_damping
from trackside.errors import NoEstimate
from trackside.records import CarCorner, Session
from trackside.records.fields import CORNERS


@dataclass(frozen=True)
class Axles:
    """Modes at wheel speeds (m/s), (n,). Pitch and roll have no frequency and no ratio: no moment
    of inertia is on record. `coupling` is that of heave and pitch, −1 to 1."""

    speed: NDArray[np.float64]
    front: Mode
    rear: Mode
    heave: Mode
    pitch: Mode
    roll: Mode
    coupling: float

    @property
    def front_share(self) -> NDArray[np.float64]:
        """The front's part of the whole car's heave damping, 0 to 1."""
        return self.front.damping / (self.front.damping + self.rear.damping)

    @property
    def ratios(self) -> dict[str, NDArray[np.float64]]:
        """Damping ratios, (n,) each, where the mass is known: front, rear, heave."""
        modes = {"front": self.front, "rear": self.rear, "heave": self.heave}
        return {name: mode.ratio for name, mode in modes.items() if mode.ratio is not None}


def axles(session: Session, shed: Shed, wheel_speeds: Speeds) -> Axles:
    """The whole car as it ran. NoEstimate names the first figure that is unknown."""
    car = shed.cars.get(session.car)
    if car is None or not (car.wheelbase and car.track_front and car.track_rear):
        raise NoEstimate("wheelbase or tracks are not recorded", "enter them with the car")
    speed = np.asarray(wheel_speeds, float)
    sprung, rates, dampings = [], [], []
    for corner in CORNERS:
        mass, rate, damping = _corner(session, corner, car.corner(corner), shed, speed)
        sprung.append(mass)
        rates.append(rate)
        dampings.append(damping)
    tracks = (car.track_front, car.track_rear)
    wheels = wheels_of(sprung, car.wheelbase, tracks, rates, dampings)
    return Axles(
        speed,
        front=heave(wheels[:2], sum(sprung[:2])),
        rear=heave(wheels[2:], sum(sprung[2:])),
        heave=heave(wheels, sum(sprung)),
        pitch=pitch(wheels, None),
        roll=roll(wheels, None),
        coupling=coupling(wheels),
    )


def _corner(
    session: Session, corner: str, figures: CarCorner, shed: Shed, speed: NDArray[np.float64]
) -> tuple[float, float, NDArray[np.float64]]:
    """Sprung mass, wheel rate, and wheel damping over wheel speeds."""
    mass, unsprung, ratio = figures.mass, figures.unsprung_mass, figures.motion_ratio
    if mass is None or unsprung is None or ratio is None or mass <= unsprung:
        raise NoEstimate(
            f"masses or motion ratio at {corner} are not recorded", "enter them with the car"
        )
    spring = spring_at(session, corner, figures)
    if spring is None:
        entered = session.corner(corner).spring_rate
        raise NoEstimate(
            f"the spring rate at {corner}, “{entered.typed}”, cannot be used"
            if entered
            else f"no spring rate at {corner}",
            "enter it on the run sheet, or with the car",
        )
    rod = speed * ratio
    both = [estimate(session, corner, d, shed, rod).force / rod for d in DIRECTIONS]
    return (
        mass - unsprung,
        spring_at_wheel(spring, mass - unsprung, figures),
        wheel_damping(both_ways(*both), ratio),
    )
