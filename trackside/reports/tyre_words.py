"""What a set of tyres has behind it, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trackside.analysis.tyre_sets import SetUse, age_contradicted, name_of_set, rear_set_of
from trackside.preferences import Preferences
from trackside.records import Session

HEADS = ("Set", "Compound", "Size", "Came", "Laps", "Heat cycles")


def set_row(use: SetUse, preferences: Preferences) -> tuple[str, ...]:
    """One set in a line, as `HEADS` has the columns."""
    record = use.record
    return (
        use.name,
        (record.compound if record else None) or "–",
        (record.size if record else None) or "–",
        (record.state if record else None) or "–",
        _laps(use),
        f"{use.cycles:g}",
    )


def set_lines(found: Sequence[SetUse], use: SetUse, preferences: Preferences) -> Iterator[str]:
    """All about one set, as it is now."""
    yield f"set {use.name}: {used_words(use)}"
    runs = _many(use.runs, "run")
    if use.came_with is None:
        yield f"{_many(use.driven, 'lap')} in {runs}"
    else:
        yield f"came with {_many(use.came_with, 'lap')}, then {use.driven:g} in {runs}"
    if use.came_with is None:
        yield "what it had before is not known: type its laps when it came"
    if use.front != use.rear:
        yield f"on the front axle {_many(use.front, 'lap')}, on the rear axle {use.rear:g}"
    if use.without_laps:
        yield f"no laps written down in {_many(use.without_laps, 'run')}: there are more than that"
    if use.record is None:
        yield "not on record: only runs name it"
    elif use.record.date:
        yield f"came on {use.record.date}"
    if use.record is not None and use.record.words:
        yield use.record.words


def used_words(use: SetUse) -> str:
    """`13 laps, 2 heat cycles`; how much of it is not known, and what each axle ran where they ran
    other laps."""
    cycles = _many(use.cycles, "heat cycle")
    axles = f" (in front {use.front:g}, at the rear {use.rear:g})" if use.is_split else ""
    laps = f"lap{'' if use.laps == 1 and not use.without_laps else 's'}"
    return f"{_laps(use)} {laps}{axles}, {cycles}"


def before_run_words(
    use: SetUse, session: Session, before: Session | None, *, rear: bool = False
) -> Iterator[str]:
    """`set 3: 12 laps, 2 heat cycles before this run; the outing before ran set 2`; which axle,
    where the rear runs another set than the front."""
    axle = "rear " if rear else "front " if rear_set_of(session) else ""
    was = ((before.rear_set if rear else "") or before.tyre_set) if before else None
    other = bool(was) and name_of_set(was) != name_of_set(use.name)
    tail = f"; the outing before ran set {was}" if other else ""
    yield f"{axle}set {use.name}: {used_words(use)} before this run{tail}"
    contradicted = None if rear else age_contradicted(use, session)
    if contradicted is not None and session.tyre_age is not None:
        yield age_words(session.tyre_age.typed, contradicted)


def age_words(typed: str, laps: float) -> str:
    """That a number of laps was typed for a set that the runs contradict."""
    return f"{typed} laps on the set, but the runs come to {laps:g}: which is right?"


def age_from_runs(use: SetUse) -> str:
    """`12 (from the runs)`: what stands beside an empty cell; empty where it is not known."""
    return "" if use.laps is None else f"{_laps(use)} (from the runs)"


def _laps(use: SetUse) -> str:
    """As many as are known; `+` where there are more."""
    more = use.without_laps or use.came_with is None
    laps = use.driven if use.laps is None else use.laps
    if use.laps is None and not use.driven:
        return "?"
    return f"{laps:g}{'+' if more else ''}"


def _many(count: float, word: str) -> str:
    return f"{count:g} {word}{'' if count == 1 else 's'}"
