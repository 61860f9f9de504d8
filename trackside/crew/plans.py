"""Plans: one begun from a run, a cell of it stepped, one taken as the next run.

Each verb gives the writes of one step of undo; nothing is written here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from trackside.crew.notes import change_body
from trackside.crew.runs import RunWrites, next_run
from trackside.damper.clicks import from_full_hard, turned
from trackside.errors import BadInput, UnknownRecord
from trackside.logbook import Logbook, Write, drop, patch, put
from trackside.logbook.fold import patched
from trackside.preferences import Preferences
from trackside.records import Adjuster, Plan, Reading, Session, read_value, same, value_body
from trackside.records.fields import ADJUSTERS, CORNER_FIELDS, CORNERS, field_of, words_for
from trackside.records.stops import read_stops
from trackside.units import QUANTITIES, from_si, one_line, show

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed

SHORTEST: Final = 4
"""Of so many letters at least is the end of a code, by which a plan is named."""
PLANNED: Final = tuple(
    name
    for name, field in CORNER_FIELDS.items()
    if (field.carried and name not in ("damper", "build"))
    or name in ("gas_pressure", "gas_temperature", "cold_pressure")
)
"""The cells of a corner that can be planned: what a hand sets. Another damper is no plan's."""
STEPS: Final = {
    "N/mm": 5.0, "lbf/in": 25.0, "kgf/mm": 0.5, "N/m": 5000.0,
    "bar": 0.05, "psi": 0.5, "kPa": 5.0, "MPa": 0.005,
    "mm": 1.0, "in": 0.05, "cm": 0.1, "m": 0.001, "°": 0.1, "′": 5.0,
    "°C": 1.0, "°F": 1.0, "K": 1.0,
}  # fmt: skip
"""One step of a cell that is no knob, by the unit that it is read in (our own, no source)."""
GAS_STEPS: Final = {"bar": 0.5, "psi": 5.0, "kPa": 50.0, "MPa": 0.05}
"""The same of a damper's charge."""
REVALVE: Final = "turn another knob, or revalve"
_HOLE = re.compile(r"\bhole (\d+)(?: of (\d+))?")
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?")


class KnownPlan(NamedTuple):
    """A plan as it stands, with its code."""

    entity: str
    record: Plan

    @property
    def code(self) -> str:
        """The end of its code."""
        return self.entity[-6:]

    @property
    def is_open(self) -> bool:
        """Whether no run was made of it."""
        return not self.record.taken_as


class Plans:
    """The plans of a logbook, and what is to be written to change one."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook

    def all(self) -> list[KnownPlan]:
        """Every plan, in the order of writing down."""
        return [KnownPlan(*one) for one in self._logbook.records(Plan, "plan")]

    def of_run(self, session: str) -> list[KnownPlan]:
        """Those that start from that run."""
        return [one for one in self.all() if one.record.session == session]

    def named(self, name: str) -> KnownPlan:
        """The plan that `name` means, by its name or the end of its code, of several of one name
        the newest that is open; UnknownRecord where that is none."""
        asked = one_line(name).casefold()
        every = self.all()
        found = [one for one in every if len(asked) >= SHORTEST and one.entity.endswith(asked)]
        found = found or [one for one in every if asked and one.record.name.casefold() == asked]
        found.sort(key=lambda one: (one.is_open, one.entity))
        if not found:
            raise UnknownRecord(
                f"There is no plan “{one_line(name)}”", "trackside plan lists their names"
            )
        return found[-1]

    def run_of(self, plan: Plan) -> Session:
        """The run that the plan starts from; UnknownRecord where it is gone."""
        if self._logbook.state(plan.session) is None:
            raise UnknownRecord(
                "the run that this plan starts from is no longer in the logbook",
                "undo brings it back, or begin the plan from another run",
            )
        return self._logbook.session_record(plan.session)

    def free_name(self, session: str) -> str:
        """The first of A, B … that no plan of that run has."""
        names = {one.record.name.casefold() for one in self.of_run(session)}
        letters = (chr(ord("A") + n) for n in range(26))
        return next((one for one in letters if one.casefold() not in names), str(len(names)))

    # ── what is to be written ───────────────────────────────────────────────────────────────

    def begun(
        self, session: str, name: str = "", cells: Mapping[str, Reading | str] | None = None
    ) -> Write:
        """A new plan from that run, with these cells changed; its name is the next free letter
        where none is given."""
        run = self._logbook.session_record(session)
        body: dict[str, Any] = {"session": session, "name": one_line(name)}
        body["name"] = body["name"] or self.free_name(session)
        changed = {}
        for path, value in (cells or {}).items():
            must_be_plannable(path)
            if not says_the_same(run.value(path), value, path):
                changed[path] = value_body(value)
        return put("plan", patched(body, changed))

    def with_cell(self, plan: KnownPlan, path: str, value: Reading | str | None) -> Write:
        """The plan with that cell; as in the run where it says the same, or nothing."""
        must_be_plannable(path)
        return self.written(plan, {path: value})

    def written(self, plan: KnownPlan, cells: Mapping[str, Reading | str | None]) -> Write:
        """The same of several cells. BadInput where the plan was taken, or is gone."""
        self._open(plan)
        run = self.run_of(plan.record)
        body = {
            path: None if says_the_same(run.value(path), value, path) else value_body(value)
            for path, value in cells.items()
        }
        return patch("plan", plan.entity, body)

    def renamed(self, plan: KnownPlan, name: str) -> Write:
        """Another name. BadInput without one."""
        if not one_line(name):
            raise BadInput("a plan needs a name", "type one, or leave it as it is")
        self._open(plan)
        return patch("plan", plan.entity, {"name": one_line(name)})

    def taken_away(self, plan: KnownPlan) -> Write:
        """Off the list; undo brings it back."""
        self._now(plan)
        return drop("plan", plan.entity)

    def taken(self, plan: KnownPlan, reason: str) -> RunWrites:
        """A new planned run with the settings of the plan, in the newest session of its car, and
        the reason; its verdict waits from then on. What is read (charge, tyre pressure) stays open
        on it, as nobody has read it. BadInput without a reason, or taken before."""
        self._open(plan)
        if not reason.strip():
            raise BadInput("a plan is taken for a reason", "say what it is to bring")
        run = self.run_of(plan.record)
        start = plan.record.session
        newest = self._logbook.session_lines(car=run.car, limit=1) if run.car else []
        last = newest[0].entity if newest else start
        in_hand = last, self._logbook.session_record(last)
        opened = next_run(self._logbook, in_hand, plan.record.settings, (start, run))
        answers = {
            "what": self.what(plan.record), "reason": reason, "verdict": "", "verdict_words": "",
        }  # fmt: skip
        why = put("change", change_body(answers, opened.entity))
        mark = patch("plan", plan.entity, {"taken_as": opened.entity})
        return RunWrites((*opened.writes, why, mark), opened.entity)

    def what(self, plan: Plan) -> str:
        """What changes, briefly: the plan's name, the places of its settings, and what is to be
        read there."""
        wanted = (
            f"{words_for(path)} {value.typed} {value.unit}".strip()
            for path, value in plan.wanted.items()
            if isinstance(value, Reading)
        )
        told = ", ".join((*map(words_for, plan.settings), *wanted))
        return f"plan {plan.name}: {told}" if told else f"plan {plan.name}"

    def _open(self, plan: KnownPlan) -> None:
        """BadInput unless the plan stands and was not taken, as the logbook has it now."""
        if self._now(plan).get("taken_as"):
            raise BadInput(
                f"plan {plan.record.name} was taken: what it became stands on a run sheet",
                "change that run, or begin another plan",
            )

    def _now(self, plan: KnownPlan) -> Mapping[str, Any]:
        now = self._logbook.state(plan.entity)
        if now is None:
            raise BadInput("that plan was taken off the logbook meanwhile", "undo brings it back")
        return now


def planned_cells(values: Mapping[str, Reading | str]) -> dict[str, Reading | str]:
    """Of values at paths of a run sheet, those that a plan may hold."""
    return {path: value for path, value in values.items() if _is_plannable(path)}


def must_be_plannable(path: str) -> None:
    """BadInput unless a hand sets what stands at `path`."""
    if _is_plannable(path):
        return
    raise BadInput(
        f"{one_line(words_for(path))} cannot be planned",
        "plan a knob, spring, perch, stop, packer, height, pressure, charge or an item of the car",
    )


def _is_plannable(path: str) -> bool:
    head, _, name = path.partition(".")
    return (head in CORNERS and name in PLANNED) or (head == "items" and bool(one_line(name)))


def typed(
    run: Session, path: str, text: str, shed: Shed | None, preferences: Preferences
) -> Reading | str | None:
    """What `text` means in that cell of a plan for `run`; BadInput where it is no cell that can be
    planned, nothing that can be read, or beyond a knob's travel: by how much."""
    must_be_plannable(path)
    field = field_of(path)
    value = read_value(field, text, preferences.unit(field.quantity) if field.quantity else "")
    if isinstance(value, Reading) and field.quantity and value.si is None:
        raise BadInput(value.why_unread(field.quantity).rstrip("."), "type it again")
    corner, _, name = path.partition(".")
    build = shed.build_at(run, corner) if shed and name in ADJUSTERS else None
    knob = build.adjuster(name) if build else None
    if knob is not None and isinstance(value, Reading) and value.si is not None:
        if past := past_end(value.si, knob):
            raise BadInput(f"{corner} {knob.words}: {past}", REVALVE)
        if problem := knob.problem(value.si):
            raise BadInput(problem, "type it again")
    return value


def stepped(
    run: Session, path: str, steps: float, shed: Shed | None, preferences: Preferences
) -> Reading | str:
    """What stands at `path` of the planned run after so many steps: clicks harder for a knob (below
    zero softer), more for what is measured, the next stop of the car, the number of an item. What
    it starts from has to be known. BadInput says by how much a step goes past the range."""
    must_be_plannable(path)
    head, _, name = path.partition(".")
    value = run.value(path)
    if head == "items":
        return _item_stepped(name, value, steps)
    if name in ADJUSTERS:
        build = shed.build_at(run, head) if shed else None
        return _knob_turned(head, value, build.adjuster(name) if build else None, steps)
    if name == "bump_stop":
        car = shed.cars.get(run.car) if shed else None
        return _next_stop(head, value, car.stops if car else None, steps)
    field = CORNER_FIELDS[name]
    if not isinstance(value, Reading) or value.si is None or not field.quantity:
        raise BadInput(f"{words_for(path)} is not known", "type what it is to be")
    unit = preferences.unit(field.quantity)
    by = (GAS_STEPS if name == "gas_pressure" else STEPS).get(unit)
    if by is None:
        raise BadInput(f"{words_for(path)} has no step in {unit}", "type what it is to be")
    number = from_si(value.si, field.quantity, unit) + steps * by
    kind = QUANTITIES[field.quantity].unit(unit)
    after = number * kind.factor + kind.offset
    low = 0.0 if name == "packers" else field.low
    for limit, past, way in (
        (low, low is not None and after < low - 1e-12, "below"),
        (field.high, field.high is not None and after > field.high + 1e-12, "above"),
    ):
        if limit is not None and past:
            far = abs(number - from_si(limit, field.quantity, unit))
            end = show(limit, field.quantity, unit, with_unit=True)
            raise BadInput(f"{words_for(path)}: {far:.4g} {unit} {way} {end}", "step back")
    return Reading.of_si(after, field.quantity, unit)


def _knob_turned(
    corner: str, value: Reading | str | None, knob: Adjuster | None, steps: float
) -> Reading:
    if knob is None:
        raise BadInput(
            f"{corner} has no such adjuster on record", "enter the damper, or type the count"
        )
    now = value.si if isinstance(value, Reading) else None
    if now is None:
        raise BadInput(
            f"the {knob.words} position at {corner} is not known", "type the count first"
        )
    after = turned(now, steps * knob.step, knob.clicks, knob.counted_from)
    if past := past_end(after, knob):
        raise BadInput(f"{corner} {knob.words}: {past}", REVALVE)
    return Reading.of_si(after, "clicks")


def past_end(position: float, knob: Adjuster) -> str:
    """`2 clicks past full hard`; empty within its travel."""
    hard = float(from_full_hard(position, knob.clicks, knob.counted_from))
    past = -hard if hard < 0 else hard - knob.clicks
    if past <= 1e-9:
        return ""
    clicks = f"{past:g} click{'' if abs(past - 1) < 1e-9 else 's'}"
    return f"{clicks} past full {'hard' if hard < 0 else 'soft'}"


def _next_stop(corner: str, value: Reading | str | None, stops: str | None, steps: float) -> str:
    names = list(read_stops(stops or ""))
    if not names:
        raise BadInput("the car has no bump stop on record", "enter them with the car")
    stands = str(value or "").casefold()
    at = names.index(stands) if stands in names else -1 if steps > 0 else 0
    after = at + int(steps)
    if not 0 <= after < len(names):
        past = -after if after < 0 else after - len(names) + 1
        end = "first" if after < 0 else "last"
        raise BadInput(f"{corner} bump stop: {past} past the {end} on record", "step back")
    return names[after]


def _hole_stepped(name: str, text: str, hole: re.Match[str], steps: float) -> str:
    """The hole of a bar: `28 mm, hole 2 of 4` keeps the bar, and the holes that it has."""
    after, many = int(hole[1]) + int(steps), int(hole[2]) if hole[2] else None
    if after < 1 or (many is not None and after > many):
        past = 1 - after if after < 1 else after - (many or 0)
        end = "first" if after < 1 else "last"
        holes = f"{past} hole{'' if past == 1 else 's'}"
        raise BadInput(f"{one_line(name)}: {holes} past the {end}", "step back")
    return f"{text[: hole.start(1)]}{after}{text[hole.end(1) :]}"


def _item_stepped(name: str, value: Reading | str | None, steps: float) -> str:
    text = str(value or "")
    if hole := _HOLE.search(text):
        return _hole_stepped(name, text, hole, steps)
    found = _NUMBER.search(text)
    if not found:
        raise BadInput(f"{one_line(name)} has no number to step", "type what it is to be")
    was = found.group()
    digits = len(was.replace(",", ".").partition(".")[2])
    after = float(was.replace(",", ".")) + steps * (10.0**-digits if digits else 1.0)
    return f"{text[: found.start()]}{after:.{digits}f}{text[found.end() :]}"


def says_the_same(was: Reading | str | None, now: Reading | str | None, path: str) -> bool:
    """Whether nothing, or the same as the run, would stand at `path`."""
    return now is None or same(was, now, field_of(path).quantity)
