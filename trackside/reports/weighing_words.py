"""What four scales say, in words and in the crew's unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Any

from trackside.analysis.weighing import (
    Balance,
    BalanceChange,
    LoadDoubt,
    Weighed,
    balance_of,
    before_in,
    changed_since,
)
from trackside.errors import BadRecord
from trackside.preferences import Preferences
from trackside.records import Weighing
from trackside.records.fields import CORNERS
from trackside.reports import formatting
from trackside.units import show

HEADS = ("When", "Driver", "Fuel", "In all", "Front", "Left", "Cross FR+RL")
_DOUBTS: dict[LoadDoubt, str] = {
    "driver": "driver in one time, out the other",
    "driver unknown": "driver in or out not said",
    "fuel": "other fuel on board",
    "fuel unknown": "fuel on board not said, or not in one unit",
}


def weighing_row(found: Weighed, preferences: Preferences) -> tuple[str, ...]:
    """One weighing in a line, as `HEADS` has the columns."""
    weighing, balance = found.weighing, found.balance
    shares = (balance.front, balance.left, balance.cross) if balance else (None, None, None)
    return (
        weighing.at or "–",
        weighing.driver or "–",
        formatting.value(weighing.fuel, "fuel", preferences),
        _mass(balance.total if balance else None, preferences, with_unit=True),
        *(_percent(share) for share in shares),
    )


def balance_words(balance: Balance, preferences: Preferences) -> str:
    """`1186.0 kg in all · front 49.0 %, rear 51.0 % · left …, right … · cross (FR + RL) 50.0 %`."""
    total = show(balance.total, "mass", preferences.unit("mass"), with_unit=True)
    return (
        f"{total} in all · front {_percent(balance.front)}, rear {_percent(1 - balance.front)} · "
        f"left {_percent(balance.left)}, right {_percent(1 - balance.left)} · "
        f"cross (FR + RL) {_percent(balance.cross)}"
    )


def balance_of_body(body: Mapping[str, Any], preferences: Preferences) -> str:
    """The same of a record as it is being filled in; empty until all four scales are read."""
    with suppress(BadRecord):
        balance = balance_of(Weighing.checked(dict(body)))
        return balance_words(balance, preferences) if balance else ""
    return ""


def load_words(weighing: Weighing, preferences: Preferences) -> str:
    """`driver in, fuel 20.0 L`; what nobody said is said to be unknown."""
    driver = f"driver {weighing.driver}" if weighing.driver else "driver in or out not said"
    if weighing.fuel is None:
        return f"{driver}, fuel not said"
    return f"{driver}, fuel {formatting.value(weighing.fuel, 'fuel', preferences)}"


def since_words(change: BalanceChange, then: str, preferences: Preferences) -> Iterator[str]:
    """What changed since the weighing of `then`: by corner and in all, then the shares, then why
    the two may not compare."""
    corners = (f"{corner} {_signed(change.corners[corner], preferences)}" for corner in CORNERS)
    unit = preferences.unit("mass")
    yield f"since {then}: {', '.join(corners)}, in all {_signed(change.total, preferences)} {unit}"
    yield (
        f"front {_points(change.front)}, left {_points(change.left)}, "
        f"cross {_points(change.cross)} points"
    )
    if change.doubts:
        yield f"not the same load for sure: {'; '.join(_DOUBTS[doubt] for doubt in change.doubts)}"


def weighing_lines(
    found: Sequence[Weighed], one: Weighed, preferences: Preferences
) -> Iterator[str]:
    """All about one weighing of a list that has the newest first."""
    yield f"read {one.weighing.at or 'at an unknown time'}, {load_words(one.weighing, preferences)}"
    yield from _as_on_the_car(one.weighing, preferences)
    if one.weighing.where:
        yield f"scales: {one.weighing.where}"
    if one.balance is None:
        unread = sum(one.weighing.mass(corner) is None for corner in CORNERS)
        yield f"{unread} of the four scales not read: no shares"
    else:
        yield balance_words(one.balance, preferences)
        before = before_in(found, one.entity)
        change = changed_since(before, one) if before else None
        if before and change:
            yield from since_words(change, before.weighing.at, preferences)
    if one.weighing.words:
        yield one.weighing.words


def last_weighing_words(
    one: Weighed, preferences: Preferences, *, in_short: bool = False
) -> Iterator[str]:
    """The newest weighing before a run, with its day: nothing says that the car still weighs so.
    `in_short` leaves the single wheels out, where their shares are known."""
    yield f"last read {one.weighing.at}, {load_words(one.weighing, preferences)}"
    if not in_short or one.balance is None:
        yield from _as_on_the_car(one.weighing, preferences)
    if one.balance is not None:
        yield balance_words(one.balance, preferences)


def _as_on_the_car(weighing: Weighing, preferences: Preferences) -> Iterator[str]:
    """The four scales, the front axle first."""
    unit = preferences.unit("mass")
    for axle in (("FL", "FR"), ("RL", "RR")):
        scales = (f"{corner} {_mass(weighing.mass(corner), preferences)}" for corner in axle)
        yield f"{', '.join(scales)} {unit}"


def _mass(kilograms: float | None, preferences: Preferences, with_unit: bool = False) -> str:
    return show(kilograms, "mass", preferences.unit("mass"), with_unit=with_unit)


def _signed(kilograms: float, preferences: Preferences) -> str:
    text = _mass(kilograms, preferences).replace("-", "−")
    is_zero = not any(digit in text for digit in "123456789")
    return text.lstrip("−") if is_zero else text if text.startswith("−") else f"+{text}"


def _percent(share: float | None) -> str:
    return "–" if share is None else f"{share * 100:.1f} %"


def _points(difference: float) -> str:
    text = f"{difference * 100:+.1f}".replace("-", "−")
    return "0.0" if text in ("+0.0", "−0.0") else text
