"""An oil known by its grade and viscosity index: the viscosity at 100 °C that belongs to them.

Viscosity index by ASTM D2270 (the standard's text was not read). L and H below are points of its
table as the open package chemicals 1.5.2 holds it, from 2 to 20 mm²/s at 100 °C, with monotone
cubics between them: within 0.2 % of the rest of that table, 0.1 of a point in the index.
"""

from __future__ import annotations

import numpy as np

from trackside.damper.oil import EXPANSION, OilData
from trackside.errors import BadNumber

_HOT = (2, 2.5, 3, 3.5, 3.9, 4.2, 4.6, 5, 6, 6.5, 7, 7.5, 8, 9, 10, 12, 15, 20)
_L = (
    *(7.994, 11.45, 15.49, 20.09, 24.19, 27.75, 33.52, 40.23, 57.97),
    *(67.12, 78.0, 88.85, 100.0, 123.3, 147.7, 201.9, 296.5, 493.2),
)
_H = (
    *(6.394, 9.063, 12.15, 15.66, 18.77, 21.21, 24.71, 28.49, 38.19),
    *(43.18, 48.57, 53.98, 59.6, 71.1, 82.87, 108.0, 149.7, 229.5),
)

_SMALL = {2.0: 2.2, 3.0: 3.2, 5.0: 4.6, 7.0: 6.8}


def middle_of_grade(grade: float) -> float:
    """Viscosity (mm²/s) in the middle of an ISO viscosity grade at 40 °C.

    The grade's own number, but for the small ones VG 2, 3, 5 and 7 (ISO 3448, whose text was not
    read; two tables that quote it were).
    """
    return _SMALL.get(float(grade), float(grade))


def viscosity_index(nu_40: float, nu_100: float) -> float:
    """Viscosity index of an oil of nu_40 and nu_100 (mm²/s) at 40 and 100 °C.

    Raises BadNumber outside 2 to 20 mm²/s at 100 °C.

    >>> round(viscosity_index(73.3, 8.86))
    92
    """
    from scipy.interpolate import PchipInterpolator

    if not (_HOT[0] <= nu_100 <= _HOT[-1] and nu_40 > nu_100):
        raise BadNumber(
            "the viscosity index is tabulated from 2 to 20 cSt at 100 °C",
            "enter the oil's two viscosities instead",
        )
    low = float(PchipInterpolator(_HOT, _L)(nu_100))
    high = float(PchipInterpolator(_HOT, _H)(nu_100))
    if nu_40 >= high:
        return 100.0 * (low - nu_40) / (low - high)
    power = np.log10(high / nu_40) / np.log10(nu_100)
    return float((10.0**power - 1.0) / 0.00715 + 100.0)


def from_grade(grade: float, index: float, expansion: float = EXPANSION) -> OilData:
    """An oil in the middle of an ISO grade (±10 % of it by ISO 3448), of that viscosity index.

    Raises BadNumber if no viscosity at 100 °C within the table gives that index.
    """
    from scipy.optimize import brentq

    nu_40 = middle_of_grade(grade)

    def off(nu_100: float) -> float:
        return viscosity_index(nu_40, nu_100) - index

    ceiling = min(float(_HOT[-1]), 0.8 * nu_40)
    if ceiling <= _HOT[0] or not off(_HOT[0]) < 0.0 < off(ceiling):
        raise BadNumber(
            f"no oil of {nu_40:g} cSt at 40 °C with an index of {index:g} is in the table",
            "enter the oil's two viscosities instead",
        )
    return OilData(nu_40, float(brentq(off, _HOT[0], ceiling)), expansion=expansion)
