"""What a set of tyres has behind it: laps and heat cycles, summed from the runs that name it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from trackside.analysis.lap_figures import laps_driven
from trackside.logbook.driven import SETS, Driven, of_record
from trackside.records import Session, TyreSet
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook import Logbook

LOOKED_THROUGH: Final = 300
"""So many of a car's newest runs are looked through for sets that are not on record."""


@dataclass(frozen=True)
class SetUse:
    """A set of a car up to some moment. `entity` and `record` are its own; empty and None for one
    that only runs name."""

    name: str
    entity: str
    record: TyreSet | None
    came_with: float | None
    """Laps before its first run here; None where nobody knows."""
    driven: float
    """Laps of the runs, as far as they are known, on whichever axle."""
    front: float
    """Laps of its tyres on the front axle, of those."""
    rear: float
    """The same on the rear axle, which may run another set than the front."""
    runs: int
    """Runs that ran with it, or with its tyres on one axle: each heats it once."""
    without_laps: int
    """Those of them whose laps nobody wrote down."""
    last: str
    """The newest of them, or ""."""

    @property
    def laps(self) -> float | None:
        """All of its laps, those of runs without a number left out; None where it is not known what
        it came with."""
        return None if self.came_with is None else self.came_with + self.driven

    @property
    def is_split(self) -> bool:
        """Whether its front tyres and its rear ones ran, and not the same laps."""
        return bool(self.front and self.rear) and self.front != self.rear

    @property
    def cycles(self) -> float:
        """Its heat cycles: those that it came with, where somebody said, and one a run."""
        return self.runs + ((self.record.cycles if self.record else None) or 0.0)


def name_of_set(name: str | None) -> str:
    """What compares two names of one set."""
    return one_line(name or "").casefold()


def set_uses(logbook: Logbook, car: str) -> list[SetUse]:
    """The sets of that car: those on record, the one entered last first; then those that only its
    newest runs name (LOOKED_THROUGH of them), the newest first."""
    records = _records(logbook, car)
    named = _named(logbook, car)
    recent = dict.fromkeys(name for _, _, name, _ in named[:LOOKED_THROUGH])
    spoken: dict[str, str] = {}
    for _, _, name, typed in named:
        spoken.setdefault(name, typed)
    names = [*records, *(name for name in recent if name not in records)]
    driven: dict[str, list[Driven]] = {}
    for run in logbook.driven(car):
        for name in dict.fromkeys(sets_on(run)):
            driven.setdefault(name, []).append(run)
    return [
        _use(spoken.get(name, ""), records.get(name), name, driven.get(name, ())) for name in names
    ]


def sets_on(run: Session | Driven) -> tuple[str, str]:
    """What compares the names of the sets in front and on the rear axle: one set where no other is
    named for the rear."""
    front = name_of_set(run.tyre_set)
    return front, name_of_set(run.rear_set) or front


def rear_set_of(session: Session) -> str:
    """The set on the rear axle where it is another than in front; else empty."""
    front, rear = sets_on(session)
    return one_line(session.rear_set or "") if rear != front else ""


def set_before(
    logbook: Logbook, entity: str, session: Session, *, rear: bool = False
) -> SetUse | None:
    """The set that this run names, as it was before the run; with `rear` that of the rear axle,
    where it is another. None where it names none."""
    spoken = rear_set_of(session) if rear else one_line(session.tyre_set or "")
    if not spoken or not session.car:
        return None
    wanted = name_of_set(spoken)
    here = logbook.session_line(entity).sort_key, entity
    named = _named(logbook, session.car)
    runs = dict.fromkeys(one for one, key, name, _ in named if name == wanted and (key, one) < here)
    record = _records(logbook, session.car).get(wanted)
    one_by_one = (pair for one in runs for pair in logbook.session_records([one]))
    read = [of_record(one, "", run) for one, run in one_by_one]
    ran = [run for run in read if wanted in sets_on(run)]
    return _use(spoken, record, wanted, ran, None if rear else session)


def age_contradicted(use: SetUse, session: Session) -> float | None:
    """How many laps the runs come to, where another number was typed for this run. Nothing of a set
    whose rear tyres ran other laps than its front ones: either number may be meant."""
    typed, laps = session.si("tyre_age"), use.laps
    if typed is None or laps is None or use.without_laps or use.rear not in (0.0, use.front):
        return None
    return None if abs(typed - laps) < 0.5 else laps


def _named(logbook: Logbook, car: str) -> list[tuple[str, str, str, str]]:
    """Session, its place in their order, what compares the name of its set, and the name as it was
    typed, for each set that it names; the newest first."""
    said = (one for field in SETS for one in logbook.naming(field, car))
    found = [
        (one, key, name_of_set(typed), one_line(typed)) for one, key, typed in said if typed.strip()
    ]
    return sorted(found, key=lambda named: (named[1], named[0]), reverse=True)


def _records(logbook: Logbook, car: str) -> dict[str, tuple[str, TyreSet]]:
    """The sets on record by name, the one entered last first; of two that are called alike the one
    entered first counts."""
    found = [
        (name_of_set(one.name), (entity, one))
        for entity, one in logbook.records(TyreSet, "tyre_set")
        if one.car == car
    ]
    return dict(reversed(found))


def _use(
    spoken: str,
    book: tuple[str, TyreSet] | None,
    name: str,
    runs: Sequence[Driven],
    now: Session | None = None,
) -> SetUse:
    """Of these runs with the set of that name, the newest first; `now` is the run after them."""
    entity, record = book or ("", None)
    ran = [run for run in runs if run.ran]
    driven = [(run, laps_driven(run)) for run in ran]
    known = [figure.number for _, figure in driven if figure]
    came_with = record.laps if record else None
    if came_with is None and record is not None and record.state == "new":
        came_with = 0.0
    if came_with is None:
        in_front = [run for run in ran[::-1] if sets_on(run)[0] == name]
        came_with = next(_came_with(in_front, now), None)
    front, rear = (
        sum(figure.number for run, figure in driven if figure and sets_on(run)[axle] == name)
        for axle in (0, 1)
    )
    return SetUse(
        record.name if record else spoken,
        entity,
        record,
        came_with,
        sum(known),
        front,
        rear,
        sum(1 for _, figure in driven if figure is None or figure.number > 0),
        len(driven) - len(known),
        ran[0].entity if ran else "",
    )


def _came_with(oldest_first: Sequence[Driven], now: Session | None) -> Iterator[float]:
    """What the first run that has the set's laps typed says of those before all runs; nothing
    where a run before it has no number, or the laps do not add up."""
    driven = 0.0
    runs: list[Session | Driven] = [*oldest_first, *([now] if now else [])]
    for run in runs:
        typed = run.si("tyre_age")
        if typed is not None:
            if typed >= driven:
                yield typed - driven
            return
        figure = laps_driven(run)
        if figure is None:
            return
        driven += figure.number
