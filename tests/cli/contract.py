"""What every estimated force in JSON must look like."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

TOGETHER = ("position", "direction", "speed_mm_s", "force_N", "low_N", "high_N", "basis")
BASES = ("measured", "between clicks", "outside range", "from sisters", "shop rule", "from parts")


def check_estimate(body: dict[str, Any]) -> None:
    """The seven keys stand together, in equal lengths, the force inside its band."""
    assert all(name in body for name in TOGETHER), body
    assert body["direction"] in ("bump", "rebound")
    assert body["basis"] in BASES
    numbers = [body[name] for name in ("speed_mm_s", "force_N", "low_N", "high_N")]
    columns = [n if isinstance(n, list) else [n] for n in numbers]
    assert len({len(column) for column in columns}) == 1
    assert len({isinstance(n, list) for n in numbers}) == 1
    for speed, force, low, high in zip(*columns, strict=True):
        assert speed > 0
        assert low <= force <= high


def estimates_in(document: Any) -> Iterator[dict[str, Any]]:
    """Every object of a document that speaks of an estimated force."""
    if isinstance(document, dict):
        if "low_N" in document:
            yield document
        for value in document.values():
            yield from estimates_in(value)
    elif isinstance(document, list):
        for value in document:
            yield from estimates_in(value)
