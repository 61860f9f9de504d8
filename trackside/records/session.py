"""A run of one car, out of the pits to in again: what each corner ran, in which conditions.

Runs of one car at one event with the same kind and number are one session: practice 1, run 2. A
record that names no run is a session of one run.
"""

from __future__ import annotations

from typing import Any, Self

from pydantic import Field, field_validator, model_validator

from trackside.records.base import Line, Record, Words
from trackside.records.fields import (
    CORNER_FIELDS,
    CORNERS,
    OUTCOMES,
    SESSION_FIELDS,
    completed,
    gives_run,
)
from trackside.records.fields import Field as SheetField
from trackside.records.laps import QUICKEST, SLOWEST, lap_of
from trackside.records.reading import Reading
from trackside.units import one_line


class CornerSheet(Record):
    """What one corner ran; every value may be unknown."""

    damper: Line | None = None
    build: Line | None = None
    bump_bleed: Reading | None = None
    rebound_bleed: Reading | None = None
    both_bleed: Reading | None = None
    bump_preload: Reading | None = None
    rebound_preload: Reading | None = None
    gas_pressure: Reading | None = None
    gas_temperature: Reading | None = None
    body_temperature: Reading | None = None
    spring_rate: Reading | None = None
    perch: Reading | None = None
    bump_stop: Line | None = None
    packers: Reading | None = None
    ride_height: Reading | None = None
    camber: Reading | None = None
    toe: Reading | None = None
    caster: Reading | None = None
    cold_pressure: Reading | None = None
    hot_target: Reading | None = None
    hot_pressure: Reading | None = None
    tread_inner: Reading | None = None
    tread_middle: Reading | None = None
    tread_outer: Reading | None = None

    def value(self, name: str) -> Reading | str | None:
        """The value of that field."""
        return getattr(self, name)

    def si(self, name: str) -> float | None:
        """The number of that field in its base unit; None when unknown or unreadable."""
        value = getattr(self, name)
        return value.si if isinstance(value, Reading) else None


class Session(Record):
    """One run. `event` and `car` are the entities of their records; `start` sorts as text."""

    event: str = ""
    car: str = ""
    based_on: str = ""
    """The session whose set-up this one started from."""
    kind: Line = "practice"
    number: Reading | None = None
    run: Reading | None = None
    """Which run of the session, by time; unknown is a session of one run."""
    start: Line = ""
    opened: Line | None = None
    """When it was opened, by the computer's clock. A start that is the same is nobody's word: it
    only keeps the runs in their order."""
    duration: Reading | None = None
    """How long the session is to last, whichever of its runs says so."""
    driver: Line = ""
    status: Line = "planned"
    surface: Line | None = None
    air_temperature: Reading | None = None
    track_temperature: Reading | None = None
    humidity: Reading | None = None
    air_pressure: Reading | None = None
    tyre_set: Line | None = None
    """On all four corners, or in front only: see `rear_set`."""
    rear_set: Line | None = None
    """What the rear axle ran, where that was another set."""
    tyre_age: Reading | None = None
    """Laps on `tyre_set` before the run."""
    fuel: Reading | None = None
    """At the start."""
    fuel_end: Reading | None = None
    run_time: Reading | None = None
    """How long the engine ran."""
    laps: Reading | None = None
    best_lap: Reading | None = None
    result: Line | None = None
    lap_times: tuple[float | Line, ...] = ()
    """Every lap in order, in s; one that is marked or cannot be read as it was typed (see
    `records.laps`)."""
    items: dict[Line, Line] = Field(default_factory=dict)
    """What belongs to the whole car: bars, wings, bias … each with its unit in the text."""
    words: Words = ""
    FL: CornerSheet = CornerSheet()
    FR: CornerSheet = CornerSheet()
    RL: CornerSheet = CornerSheet()
    RR: CornerSheet = CornerSheet()

    @model_validator(mode="before")
    @classmethod
    def _drop_unknown(cls, body: Any) -> Any:
        if isinstance(body, dict):
            return {name: value for name, value in body.items() if value is not None}
        return body

    @field_validator("items", mode="before")
    @classmethod
    def _known_items(cls, items: Any) -> Any:
        if isinstance(items, dict):
            return {name: value for name, value in items.items() if value is not None}
        return items

    def corner(self, corner: str) -> CornerSheet:
        """The sheet of corner FL, FR, RL or RR."""
        return getattr(self, corner)

    @property
    def dampers(self) -> tuple[str, ...]:
        """The serials of the dampers on the car, as far as they were entered."""
        serials = (self.corner(corner).damper for corner in CORNERS)
        return tuple(serial for serial in serials if serial)

    def value(self, path: str) -> Reading | str | None:
        """The value at `path`: `FL.camber`, `air_temperature`, `items.Front bar`."""
        head, _, name = path.partition(".")
        if head == "items":
            return self.items.get(name)
        return self.corner(head).value(name) if name else getattr(self, head)

    def si(self, path: str) -> float | None:
        """The number at `path` in its base unit; None when unknown or unreadable."""
        value = self.value(path)
        return value.si if isinstance(value, Reading) else None

    def carried_over(self) -> dict[str, Any]:
        """The body that the next session with the same set-up starts from: settings and targets
        stay; what was read, timed or said goes (see `fields.Role`)."""
        body = self.body()
        kept: dict[str, Any] = {n: body[n] for n in ("event", "car", "items") if n in body}
        kept |= {n: body[n] for n, f in SESSION_FIELDS.items() if f.carried and n in body}
        for corner in CORNERS:
            kept[corner] = {
                name: value
                for name, value in body.get(corner, {}).items()
                if CORNER_FIELDS[name].carried
            }
        kept["status"] = "planned"
        return kept

    @property
    def start_said(self) -> str:
        """Its start, where somebody typed one."""
        return "" if self.start == self.opened else self.start

    @property
    def ran(self) -> bool:
        """Whether the session was run, to its end or not: somebody said so, or something is on the
        sheet that only a run gives, and can be right. `logbook.pitboard.RAN` says the same of a
        line."""
        if self.status and self.status.casefold() != "planned":
            return True
        return any(map(_is_a_lap, self.lap_times)) or any(
            _is_outcome(field, sheet.value(name))
            for name, field in OUTCOMES.items()
            for sheet in ([self.corner(c) for c in CORNERS] if name in CORNER_FIELDS else [self])
        )

    def with_value(self, path: str, value: Reading | str | None) -> Self:
        """This session with one value replaced; None, unknown, is the field's default."""
        head, _, name = path.partition(".")
        if head == "items":
            items = {k: v for k, v in self.items.items() if k != name}
            if isinstance(value, str) and value:
                items[name] = value
            return self.model_copy(update={"items": items})
        if not name:
            unknown = type(self).model_fields[head].default
            return self.model_copy(update={head: unknown if value is None else value})
        sheet = self.corner(head).model_copy(update={name: value})
        return self.model_copy(update={head: sheet})


def _is_outcome(field: SheetField, value: Reading | str | None) -> bool:
    if isinstance(value, Reading):
        return gives_run(field, value.unit, value.si)
    return bool(value) and field.quantity is None


def _is_a_lap(kept: float | str) -> bool:
    """Whether a lap time shows that somebody drove: one that can be read, and can be right."""
    seconds, _, is_read = lap_of(kept)
    return is_read and (seconds is None or QUICKEST <= seconds <= SLOWEST)


def read_value(field: SheetField, text: str, unit: str = "") -> Reading | str | None:
    """What `text` means in `field`: words (one of its choices by an unambiguous start), a Reading,
    or None when it is empty."""
    if field.quantity is None:
        return completed(one_line(text), field.choices) or None
    return Reading.of_text(text, field.quantity, unit)


def value_body(value: Reading | str | None) -> Any:
    """A value as the logbook keeps it."""
    return value.body() if isinstance(value, Reading) else value
