"""Running hours in words, in the crew's unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trackside.analysis.hours import HoursRun
from trackside.preferences import Preferences
from trackside.units import one_line, show

HEADS = ("Part", "Serial", "In since", "Has", "Limit", "Left")


def hours_row(run: HoursRun, preferences: Preferences) -> tuple[str, ...]:
    """One unit in a line, as `HEADS` has the columns."""
    record = run.record
    return (
        record.part,
        record.serial or "–",
        record.since or "–",
        _has(run, preferences),
        _hours(record.limit, preferences),
        "out of the car" if run.until else _hours(run.left, preferences),
    )


def hours_lines(
    found: Sequence[HoursRun], run: HoursRun, preferences: Preferences
) -> Iterator[str]:
    """All about one unit."""
    record = run.record
    yield hours_words(run, preferences)
    driven = f"{_hours(run.driven, preferences)} in {_runs(run.runs)}"
    if record.since:
        driven += f" since {record.since}"
    else:
        driven += ", all on record: when it went in is not known"
    if record.start is None:
        yield f"{driven}; what it had when it went in is not known"
    else:
        yield f"went in with {_hours(record.start, preferences)}, then {driven}"
    if run.short:
        yield f"no whole time for {_runs(run.short)}: there is more than that"
    if run.until:
        yield f"another went in on {run.until}"
    if record.words:
        yield record.words


def hours_words(run: HoursRun, preferences: Preferences) -> str:
    """`engine E12: 12.4 h of 30.0 h, 17.6 h left`; beyond the limit, by how much."""
    record = run.record
    name = " ".join(one_line(part) for part in (record.part, record.serial) if part)
    told = f"{name}: {_has(run, preferences)}"
    if record.limit is None:
        return told
    told = f"{told} of {_hours(record.limit, preferences)}"
    if run.left is None:
        return told
    if run.left < 0:
        return f"{told}, {_hours(-run.left, preferences)} beyond the shop's limit"
    return f"{told}, {_hours(run.left, preferences)} left"


def _has(run: HoursRun, preferences: Preferences) -> str:
    """What it has, as far as it is known; `+` where there is more."""
    more = "+" if run.short or run.seconds is None else ""
    seconds = run.driven if run.seconds is None else run.seconds
    return f"{_hours(seconds, preferences)}{more}"


def _hours(seconds: float | None, preferences: Preferences) -> str:
    return show(seconds, "hours", preferences.unit("hours"), with_unit=True)


def _runs(count: int) -> str:
    return f"{count} run{'' if count == 1 else 's'}"
