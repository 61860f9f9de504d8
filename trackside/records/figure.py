"""Figures of a car or a damper: in the logbook as they were typed, in the record as SI numbers.

A body holds a Reading, or the bare SI number that earlier versions wrote. The forms show the
Reading; a calculation reads the record.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, PositiveFloat


def si_of(value: Any) -> Any:
    """The SI number of a Reading's body, None where it cannot be read; any other value as it is."""
    if isinstance(value, dict) and "typed" in value:
        return value.get("si")
    return value


_AS_TYPED = BeforeValidator(si_of)

Positive = Annotated[PositiveFloat | None, _AS_TYPED]
"""Above zero, or unknown."""

NotNegative = Annotated[Annotated[float, Field(ge=0)] | None, _AS_TYPED]
"""Zero or more, or unknown."""

Ratio = Annotated[Annotated[float, Field(gt=0, le=3)] | None, _AS_TYPED]
"""Of two travels: above zero, at most 3."""

Share = Annotated[Annotated[float, Field(gt=0, lt=1)] | None, _AS_TYPED]
"""Between nothing and the whole."""

Needed = Annotated[PositiveFloat, _AS_TYPED]
"""Above zero, and known."""
