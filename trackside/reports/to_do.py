"""The mechanic's sheet: only what changes for a run, corner by corner as on the car, to be ticked.

A position stands as counted and from the other end, because a knob is as often counted from there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from trackside.analysis.air import ColdToday, cold_as_before
from trackside.analysis.changes import changes
from trackside.analysis.outings import newest_that_ran, run_of_car_before
from trackside.analysis.shed import Shed
from trackside.analysis.value_change import ClickChange, UnitChange, Value, ValueChange
from trackside.damper.clicks import as_counted, from_full_hard
from trackside.errors import UnknownRecord
from trackside.logbook import Logbook
from trackside.logbook.canonical import canonical, digest
from trackside.preferences import Preferences
from trackside.records import Adjuster, Plan, Reading, Session, value_body
from trackside.records.fields import CORNERS, words_for
from trackside.reports import cautions
from trackside.reports.air_words import cold_words, day_told
from trackside.reports.change_words import value_words
from trackside.reports.debriefing import outing, page_heading
from trackside.reports.document import Block, Corners, Document, Said, Section, Table
from trackside.reports.plan_words import cell_words
from trackside.reports.run_state import state_words
from trackside.reports.time_table import slot_said_of

BOXES = "□ done  □ checked"
_OPEN, _CLOSED = "BDFGKLMNPRSTVZ", "AEIOU"
"""Letters of a check word: a consonant and a vowel in turn are heard over an engine, and none of
these is taken for another one's name."""
_FITTED = ("tyre_set", "rear_set", "fuel", "driver")
"""Of the conditions, what a hand puts on or into the car."""
_OTHER = {"hard": "soft", "soft": "hard"}


def to_do_sheet(logbook: Logbook, entity: str, shed: Shed, preferences: Preferences) -> Document:
    """What to set for that run, against the car's run before it. UnknownRecord where the session
    is unknown, or no earlier run of its car is on record."""
    now = outing(logbook, entity)
    earlier = run_of_car_before(logbook, entity)
    if not earlier:
        raise UnknownRecord(
            f"no earlier run of this car is on record, so nothing says what changes for {now.name}",
            "print its run sheet instead: it shows every setting",
        )
    before = outing(logbook, earlier)
    state = state_words(now.session.status, now.session.ran, at_length=True)
    when = slot_said_of(logbook, now.line)
    heading = page_heading(now.session, now.line.car_name, now.session.driver, when, state)
    wanted = _wanted(logbook, entity, now.session)
    blocks = _blocks(before.session, before.name, now.session, shed, preferences, wanted)
    runs = newest_that_ran(logbook, earlier)
    blocks = (*blocks[:-2], *_today(runs, before.session, now.session, preferences), *blocks[-2:])
    return Document(f"To do: {now.name}", heading, blocks)


def _wanted(logbook: Logbook, entity: str, run: Session) -> dict[str, Reading | str]:
    """What the plan that this run came of wants at a gauge, where nothing was read yet."""
    plans = (plan for _, plan in logbook.records(Plan, "plan") if plan.taken_as == entity)
    wanted = {path: value for plan in plans for path, value in plan.wanted.items()}
    return {path: value for path, value in wanted.items() if run.value(path) is None}


def plan_sheet(logbook: Logbook, entity: str, shed: Shed, preferences: Preferences) -> Document:
    """What to set for that plan, against the run that it starts from. UnknownRecord where one of
    them is gone."""
    found = logbook.record(entity)
    assert isinstance(found, Plan)
    before = outing(logbook, found.session)
    planned = found.applied_to(before.session)
    state = "a plan: nobody has taken it yet" if not found.taken_as else "taken as a run"
    heading = page_heading(planned, before.line.car_name, planned.driver, state)
    blocks = _blocks(before.session, before.name, planned, shed, preferences, found.wanted)
    runs = newest_that_ran(logbook, found.session)
    blocks = (*blocks[:-2], *_today(runs, before.session, planned, preferences), *blocks[-2:])
    return Document(f"To do: plan {found.name}, from {before.name}", heading, blocks)


def _blocks(
    before: Session,
    name: str,
    now: Session,
    shed: Shed,
    preferences: Preferences,
    wanted: Mapping[str, Reading | str],
) -> tuple[Block, ...]:
    difference = changes(before, now, shed, preferences.reference_speeds)
    values = [value for value in difference.values if not value.within]
    blocks: list[Block] = [
        _read_back(values, name, wanted),
        Corners(
            "What changes, seen from above, front at the top",
            {at: tuple(_corner(at, values, now, shed, preferences)) for at in CORNERS},
            large=True,
        ),
        *_whole_car(
            [*values, *(v for v in difference.conditions if v.name in _FITTED)], preferences
        ),
        *_to_read(wanted, preferences),
        *_pressures(before, now, preferences),
        Section("Cautions", tuple(_cautions((*(v.path for v in values), *wanted)))),
        Table("Signed", (("done by", "", "at", ""), ("checked by", "", "at", ""))),
    ]
    return tuple(blocks)


def check_word(
    values: Sequence[ValueChange], wanted: Mapping[str, Reading | str] | None = None
) -> str:
    """Four letters that stand for what changes and to what: another change, another word (of
    4,900). Made from the SHA-256 of the new values."""
    new = {value.path: _body(value.after) for value in values}
    new |= {path: _body(value) for path, value in (wanted or {}).items()}
    number = int(digest(canonical(new)), 16)
    letters = []
    for pool in (_OPEN, _CLOSED, _OPEN, _CLOSED):
        number, at = divmod(number, len(pool))
        letters.append(pool[at])
    return "".join(letters)


def _body(value: Value) -> object:
    return None if value is None else value_body(value)


def _read_back(
    values: Sequence[ValueChange], before: str, wanted: Mapping[str, Reading | str]
) -> Section:
    if not values and not wanted:
        return Section("Nothing is set differently", (Said(f"The car stays as in {before}."),))
    return Section(
        "Read back before a hand is on the car",
        (
            Said(f"Check word: {check_word(values, wanted)}", "big"),
            Said(
                "The mechanic reads this word and each new value to the engineer. Changes are "
                f"against {before}."
            ),
        ),
    )


def _corner(
    corner: str,
    values: Sequence[ValueChange],
    now: Session,
    shed: Shed,
    preferences: Preferences,
) -> Iterator[tuple[str, str]]:
    """A row for each value that changes there."""
    here = [value for value in values if value.corner == corner]
    build = shed.build_at(now, corner)
    for value in here:
        if isinstance(value, UnitChange):
            words = value_words(value, preferences)
            yield value.label, f"{words.before} → {words.after}\n{BOXES}"
            for count in value.counts:
                knob = build.adjuster(count.name) if build else None
                yield count.label, f"{_set_to(count.after, knob)}\n{BOXES}"
        elif isinstance(value, ClickChange):
            knob = build.adjuster(value.name) if build else None
            yield value.label, f"{_turned(value, knob)}\n{BOXES}"
        else:
            words = value_words(value, preferences)
            yield value.label, f"{words.before} → {words.after}\n{BOXES}"
    if not here:
        yield "all", "as it is"


def _turned(value: ClickChange, knob: Adjuster | None) -> str:
    """`8 → 11 from full hard` and, on the next line, the way and the same from the other end."""
    before, after = (_count(side) for side in (value.before, value.after))
    if knob is None or value.ends[0] != value.ends[1] or value.harder is None:
        return f"{before} → {_set_to(value.after, knob)}"
    way = f"{abs(value.harder):g} {'harder' if value.harder > 0 else 'softer'}"
    line = f"{before} → {after} from full {knob.counted_from}"
    others = [_from_other_end(side, knob) for side in (value.before, value.after)]
    return f"{line}\n{way}: {' → '.join(others)} from full {_OTHER[knob.counted_from]}"


def _set_to(value: Value, knob: Adjuster | None) -> str:
    """`11 from full hard = 9 from full soft`."""
    count = _count(value)
    if knob is None or not isinstance(value, Reading):
        return count
    other = _from_other_end(value, knob)
    return f"{count} from full {knob.counted_from} = {other} from full {_OTHER[knob.counted_from]}"


def _count(value: Value) -> str:
    count = value.si if isinstance(value, Reading) else None
    return "not entered" if count is None else f"{count:g}"


def _from_other_end(value: Value, knob: Adjuster) -> str:
    count = value.si if isinstance(value, Reading) else None
    if count is None or knob.problem(count):
        return "?"
    hard = from_full_hard(count, knob.clicks, knob.counted_from)
    return f"{float(as_counted(hard, knob.clicks, _OTHER[knob.counted_from])):g}"


def _whole_car(values: Sequence[ValueChange], preferences: Preferences) -> Iterator[Table]:
    rows = []
    for value in values:
        if not value.corner:
            words = value_words(value, preferences)
            rows.append((value.label, f"{words.before} → {words.after}", BOXES))
    if rows:
        yield Table("The whole car", tuple(rows))


def _to_read(wanted: Mapping[str, Reading | str], preferences: Preferences) -> Iterator[Table]:
    """What is to stand at a gauge; what it says then is written on the run sheet."""
    rows = tuple(
        (words_for(path), cell_words(value, path, preferences), BOXES)
        for path, value in wanted.items()
    )
    if rows:
        yield Table("To set at the gauge, and to read", rows)


def _pressures(before: Session, now: Session, preferences: Preferences) -> Iterator[Table]:
    """What to set the tyres to in today's air, where the run before on these tyres says how they
    warm."""
    if any(before.value(name) != now.value(name) for name in ("tyre_set", "surface")):
        return
    every = {corner: cold_as_before(before, now, corner) for corner in CORNERS}
    known: dict[str, ColdToday] = {at: cold for at, cold in every.items() if cold is not None}
    if known:
        rows = tuple((at, cold_words(cold, preferences), BOXES) for at, cold in known.items())
        yield Table("Tyres, cold, to set", rows)


def _today(
    runs: Sequence[Session], then: Session, now: Session, preferences: Preferences
) -> Iterator[Table]:
    """What today's air asks for, from the runs of this car; nothing until its air is known."""
    told = day_told(runs, then, now, preferences)
    rows = tuple((corner, line, BOXES) for corner, lines in told.items() for line in lines)
    if rows:
        yield Table("In today's air, from this car's runs: an estimate", rows)


def _cautions(paths: Sequence[str]) -> Iterator[Said]:
    """Those where a hand acts today, the gravest first, and whose word comes before ours."""
    acts = dict.fromkeys(one for path in paths for one in cautions.on_run_sheet(path))
    for one in acts:
        yield Said(one.text, "caution")
    yield Said(cautions.FIRST, "small")
