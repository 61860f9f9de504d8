"""Three cars of commonroad-vehicle-models 3.0.2 (PyPI, BSD-3, parameters_vehicle1.yaml to 3):
masses kg, lengths m, rates N/m, dampings N·s/m, roll inertia kg·m². Read from the package."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.corner.quarter_car import QuarterCar


@dataclass(frozen=True)
class Published:
    """The names are the package's."""

    m_s: float
    m_u: float  # of each axle
    a: float
    b: float
    k_sf: float
    k_sdf: float
    k_sr: float
    k_sdr: float
    k_zt: float
    t_f: float
    t_r: float
    i_phi_s: float

    def corner(self, end: str) -> tuple[QuarterCar, float]:
        """A wheel of an axle, its share of the sprung mass by a and b, and its damping."""
        near = self.b if end == "front" else self.a
        sprung = self.m_s * near / (self.a + self.b) / 2.0
        rate, damping = (self.k_sf, self.k_sdf) if end == "front" else (self.k_sr, self.k_sdr)
        return QuarterCar(sprung, self.m_u / 2.0, rate, self.k_zt), damping


CARS = {
    "vehicle 1": Published(
        *(1094.542720290477, 65.67256321742863, 0.88392, 1.50876),
        *(21898.332429625985, 1459.3902937206362, 21898.332429625985, 1459.3902937206362),
        *(189785.5477234252, 1.389888, 1.423416, 244.04723069965206),
    ),
    "vehicle 2": Published(
        *(965.7108098804363, 63.7921826056784, 1.1561957064, 1.4227170936),
        *(24453.137879749014, 1786.2441002440723, 19635.504745231297, 1649.0833034887382),
        *(158294.1398119115, 1.38684, 1.36398, 207.26524557936952),
    ),
    "vehicle 3": Published(
        *(1316.6086552490374, 81.14428941630796, 1.1507916024, 1.3211363976),
        *(33577.44305875984, 2405.564099800005, 39125.020607598424, 2769.727219182409),
        *(212641.56722464017, 1.574292, 1.543812, 479.88430581318335),
    ),
}
CORNERS = {
    f"{name} {end}": car.corner(end) for name, car in CARS.items() for end in ("front", "rear")
}
