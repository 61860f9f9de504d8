"""A fit as bytes: every part of it comes back, and what would not is refused when it is made."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest

from tests.bench.virtual_bench import virtual_damper
from trackside.damper.clicks import ForceSteps
from trackside.damper.sheet_fit import SheetFit, SheetRows, fit_sheet
from trackside.damper.stored import from_bytes, to_bytes


def fitted(positions: list[float], law: ForceSteps | None = None) -> SheetFit:
    rows = virtual_damper(1007).measure(positions, seed=3).rows
    position, direction, speed, force = (np.array(column) for column in zip(*rows, strict=True))
    return fit_sheet(SheetRows(position, direction, speed, force), click_law=law)


def parts(of: Any, name: str = "fit") -> list[tuple[str, Any]]:
    """Every field of a dataclass, and of those within it, with its name."""
    if is_dataclass(of):
        return [p for f in fields(of) for p in parts(getattr(of, f.name), f"{name}.{f.name}")]
    if isinstance(of, tuple):
        return [p for n, each in enumerate(of) for p in parts(each, f"{name}[{n}]")]
    return [(name, of)]


@pytest.mark.parametrize("positions", [[0.0, 4.0, 9.0, 16.0], [3.0]])
def test_every_part_of_a_fit_comes_back_to_the_last_bit(positions: list[float]) -> None:
    fit = fitted(positions, ForceSteps(0.031, 0.1) if len(positions) == 1 else None)
    before, after = parts(fit), parts(from_bytes(to_bytes(fit)))
    assert [name for name, _ in before] == [name for name, _ in after]
    for (name, was), (_, now) in zip(before, after, strict=True):
        np.testing.assert_array_equal(was, now, err_msg=name)
        assert type(was) is type(now), name


def test_a_part_that_could_not_be_read_again_is_not_kept() -> None:
    fit = fitted([3.0])
    assert fit.bump is not None
    with pytest.raises(TypeError, match="a fit holds a object, which cannot be kept"):
        to_bytes(replace(fit, bump=replace(fit.bump, click_law=object())))
