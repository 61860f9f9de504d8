"""The oil in a build, by the figures on record."""

from __future__ import annotations

from functools import lru_cache

from trackside.damper.oil import EXPANSION, OilData
from trackside.damper.oil_index import from_grade
from trackside.errors import BadNumber
from trackside.records import Build

TO_CST = 1e6


def oil_of(build: Build) -> OilData | None:
    """The oil's data of a build, from its two viscosities, else from ISO grade and viscosity
    index; None when neither is on record. BadNumber where no oil has that grade and index."""
    expansion = EXPANSION if build.oil_expansion is None else build.oil_expansion
    if build.oil_viscosity_40 is not None and build.oil_viscosity_100 is not None:
        viscosities = build.oil_viscosity_40 * TO_CST, build.oil_viscosity_100 * TO_CST
        return OilData(*viscosities, expansion=expansion)
    if build.oil_grade is not None and build.oil_index is not None:
        return _of_grade(build.oil_grade * TO_CST, build.oil_index, expansion)
    return None


_of_grade = lru_cache(maxsize=64)(from_grade)


def grade_problem(grade: float, index: float) -> str:
    """Why no oil has that ISO grade (m²/s at 40 °C) and viscosity index; empty when one has."""
    try:
        _of_grade(grade * TO_CST, index, EXPANSION)
    except BadNumber as error:
        return str(error)
    return ""
