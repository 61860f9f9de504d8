"""What a run sheet asks for: each field's name, label, quantity and what can be right.

Grid, plausibility marks, sentences about changes and exports all take their fields from here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, NamedTuple

from trackside.units import QUANTITIES

CORNERS: Final = ("FL", "FR", "RL", "RR")
CORNER_NAMES: Final = {
    "FL": "front left",
    "FR": "front right",
    "RL": "rear left",
    "RR": "rear right",
}

OTHER_SIDE: Final = {"FL": "FR", "FR": "FL", "RL": "RR", "RR": "RL"}

KINDS_OF_SESSION: Final = ("practice", "qualifying", "race", "test", "warm-up")
ROAD_CLASSES: Final = ("A", "B", "C", "D", "E", "F", "G", "H")
"""Of ISO 8608, smooth to rough."""
SURFACES: Final = ("dry", "damp", "wet")
BOX_SORTS: Final = ("disc", "clamp disc", "spacer", "bleed disc", "needle", "oil")
"""What lies in the shop's disc box."""
STATUSES: Final = ("planned", "done", "aborted")
PHASES: Final = ("braking", "entry", "mid", "exit", "kerbs", "straight")
VERDICTS: Final = ("better", "no difference", "worse", "unclear")

Group = Literal["damper", "spring", "alignment", "tyre"]

Role = Literal["setting", "target", "reading", "outcome", "own"]
"""What a value is, and so what becomes of it in the next session:

- setting: what the crew set. It stays set until somebody changes it, so it is carried on.
- target: what the crew aims at. It is carried on, and its label calls it a target.
- reading: what somebody read once, at a time. It is never carried on.
- outcome: a reading that only a run gives. It is never carried on, and shows that the session ran.
- own: what belongs to this one session, as its number and its start.
"""


class Field(NamedTuple):
    """One value of a sheet. `quantity` None means words; `low` and `high` (base unit) are the
    limits outside which the value is kept but marked (our own, no source)."""

    name: str
    label: str
    quantity: str | None
    group: str
    role: Role
    low: float | None = None
    high: float | None = None
    hint: str = ""
    choices: tuple[str, ...] = ()
    """The words that are meant; others are kept but marked."""

    @property
    def carried(self) -> bool:
        """Whether the next session with the same set-up starts from this value."""
        return self.role in ("setting", "target")

    @property
    def is_read(self) -> bool:
        """Whether somebody read it, at a time."""
        return self.role in ("reading", "outcome")


ADJUSTERS: Final[dict[str, str]] = {
    "bump_bleed": "Bump",
    "rebound_bleed": "Rebound",
    "both_bleed": "Bump+Reb",
    "bump_preload": "Bump prel.",
    "rebound_preload": "Reb. prel.",
}
"""What an adjuster acts on, with its label on the run sheet."""

ADJUSTER_WORDS: Final[dict[str, str]] = {
    "bump_bleed": "bump",
    "rebound_bleed": "rebound",
    "both_bleed": "bump and rebound",
    "bump_preload": "bump preload",
    "rebound_preload": "rebound preload",
}

CORNER_FIELDS: Final[dict[str, Field]] = {
    f.name: f
    for f in (
        Field("damper", "Damper", None, "damper", "setting", hint="serial, as engraved"),
        Field("build", "Build", None, "damper", "setting", hint="which strip-down"),
        *(
            Field(name, label, "clicks", "damper", "setting", 0, 60)
            for name, label in ADJUSTERS.items()
        ),
        Field("gas_pressure", "Gas", "pressure", "damper", "reading", 2e5, 40e5, hint="gauge"),
        Field("gas_temperature", "Gas at", "temperature", "damper", "reading", -10, 90,
              hint="body temperature when the charge was read"),
        Field("body_temperature", "Body", "temperature", "damper", "outcome", -10, 140,
              hint="damper body straight after the run"),
        Field("spring_rate", "Spring", "spring rate", "spring", "setting", 5e3, 600e3),
        Field("perch", "Perch", "length", "spring", "setting", -0.2, 0.4,
              hint="spring seat to its reference mark"),
        Field("bump_stop", "Bump stop", None, "spring", "setting", hint="type, as marked"),
        Field("packers", "Packers", "length", "spring", "setting", 0, 0.08),
        Field("ride_height", "Height", "length", "spring", "setting", 0.005, 0.8),
        Field("camber", "Camber", "angle", "alignment", "setting", -0.14, 0.07),
        Field("toe", "Toe", "toe", "alignment", "setting", -0.1, 0.1, hint="toe-in positive"),
        Field("caster", "Caster", "angle", "alignment", "setting", -0.05, 0.3),
        Field("cold_pressure", "Cold", "pressure", "tyre", "reading", 0.3e5, 4.5e5,
              hint="gauge, as set before the run"),
        Field("hot_target", "Target", "pressure", "tyre", "target", 0.3e5, 5e5,
              hint="the hot pressure to aim at"),
        Field("hot_pressure", "Hot", "pressure", "tyre", "outcome", 0.3e5, 5e5,
              hint="gauge, straight after the run"),
        Field("tread_inner", "Inner", "temperature", "tyre", "outcome", 10, 160),
        Field("tread_middle", "Middle", "temperature", "tyre", "outcome", 10, 160),
        Field("tread_outer", "Outer", "temperature", "tyre", "outcome", 10, 160),
    )
}  # fmt: skip

SESSION_FIELDS: Final[dict[str, Field]] = {
    f.name: f
    for f in (
        Field("kind", "Kind", None, "session", "setting", hint=", ".join(KINDS_OF_SESSION),
              choices=KINDS_OF_SESSION),
        Field("number", "Number", "count", "session", "own", 0, 99),
        Field("run", "Run", "count", "session", "own", 0, 99,
              hint="out of the pits to in again: 1, 2, 3 …"),
        Field("start", "Start", None, "session", "own", hint="14:20, or 2026-05-09 14:20"),
        Field("duration", "Length", "duration", "session", "own", 60, 26 * 3600,
              hint="planned, of the session: 40"),
        Field("driver", "Driver", None, "session", "setting"),
        Field("status", "Status", None, "session", "own", hint=", ".join(STATUSES),
              choices=STATUSES),
        Field("surface", "Surface", None, "weather", "reading", hint=", ".join(SURFACES),
              choices=SURFACES),
        Field("air_temperature", "Air", "temperature", "weather", "reading", -30, 55),
        Field("track_temperature", "Track", "temperature", "weather", "reading", -20, 80),
        Field("humidity", "Humidity", "share", "weather", "reading", 0, 1),
        Field("air_pressure", "Baro", "barometric pressure", "weather", "reading", 6e4, 1.1e5),
        Field("tyre_set", "Tyre set", None, "run", "setting"),
        Field("rear_set", "Rear set", None, "run", "setting",
              hint="only where the rear axle runs another set"),
        Field("tyre_age", "Tyre laps", "count", "run", "reading", 0, 500,
              hint="laps on this set before the run"),
        Field("fuel", "Fuel", "fuel", "run", "reading", 0, 0.2, hint="at the start, as measured"),
        Field("fuel_end", "Fuel end", "fuel", "run", "outcome", 0, 0.2,
              hint="left in the tank after the run, as measured"),
        Field("run_time", "Ran", "run time", "run", "outcome", 0, 26 * 3600,
              hint="engine running; empty: the sum of the lap times"),
        Field("laps", "Laps", "count", "run", "outcome", 0, 1000),
        Field("best_lap", "Best lap", "lap time", "run", "outcome", 10, 1800),
        Field("result", "Result", None, "run", "outcome", hint="P3, won, retired …"),
    )
}  # fmt: skip

OF_THE_DAMPER: Final = tuple(
    name for name, field in CORNER_FIELDS.items() if field.group == "damper" and field.is_read
)
"""Readings of the damper itself: they go with its serial, not with the corner."""

OUTCOMES: Final[dict[str, Field]] = {
    name: field
    for fields in (CORNER_FIELDS, SESSION_FIELDS)
    for name, field in fields.items()
    if field.role == "outcome"
}
"""What only a run gives: a session with one of these has run (see `gives_run`)."""


def unlimited_units(field: Field) -> tuple[str, ...]:
    """The units in which a value of the field is held against no limits: those of another base than
    its first one, as fuel in kilograms."""
    units = QUANTITIES[field.quantity].units if field.quantity else ()
    return tuple(unit.symbol for unit in units if unit.base != units[0].base)


def gives_run(field: Field, unit: str, si: float | None) -> bool:
    """Whether that value of an outcome shows that the run was run: words do; a number that can be
    right and is not zero (no laps are no run), in the base of its unit. What is only mistyped shows
    nothing. `logbook.pitboard.RAN` says the same of a row."""
    if field.quantity is None:
        return True
    if not si:
        return False
    low = field.low is None or si >= field.low
    return unit in unlimited_units(field) or (low and (field.high is None or si <= field.high))


def field_of(path: str) -> Field:
    """The field at `path`: `FL.camber`, `air_temperature`, `items.Front bar` (words that are set);
    KeyError when there is none."""
    head, _, name = path.partition(".")
    if head == "items":
        return Field(name, name, None, "item", "setting")
    return CORNER_FIELDS[name] if head in CORNERS else SESSION_FIELDS[path]


def completed(text: str, choices: Sequence[str]) -> str:
    """The choice that `text` is, or is the start of, however its letters are cased; as typed when
    that is none of them or several."""
    typed = text.strip().casefold()
    if not typed:
        return text
    folded = {choice.casefold(): choice for choice in choices}
    fits = [choice for fold, choice in folded.items() if fold.startswith(typed)]
    return folded.get(typed) or (fits[0] if len(fits) == 1 else text)


def words_for(path: str) -> str:
    """The place as spoken: `FL rebound`, `air`, `Front bar`; the path itself when unknown."""
    corner, _, name = path.partition(".")
    if corner == "items":
        return name
    try:
        label = field_of(path).label.lower()
    except KeyError:
        return path.replace("_", " ")
    return f"{corner} {label}" if corner in CORNERS else label
