"""What a run sheet asks for: each field's name, label, quantity and what can be right.

Grid, plausibility marks, sentences about changes and exports all take their fields from here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

CORNERS: Final = ("FL", "FR", "RL", "RR")
CORNER_NAMES: Final = {
    "FL": "front left",
    "FR": "front right",
    "RL": "rear left",
    "RR": "rear right",
}

OTHER_SIDE: Final = {"FL": "FR", "FR": "FL", "RL": "RR", "RR": "RL"}

KINDS_OF_SESSION: Final = ("practice", "qualifying", "race", "test", "warm-up")
SURFACES: Final = ("dry", "damp", "wet")
STATUSES: Final = ("planned", "done", "aborted")
PHASES: Final = ("braking", "entry", "mid", "exit", "kerbs", "straight")
VERDICTS: Final = ("better", "no difference", "worse", "unclear")

Group = Literal["damper", "spring", "alignment", "tyre"]


@dataclass(frozen=True)
class Field:
    """One value of a sheet. `quantity` None means words; `low` and `high` (base unit) are the
    limits outside which the value is kept but marked (common practice, no source)."""

    name: str
    label: str
    quantity: str | None
    group: str
    low: float | None = None
    high: float | None = None
    carried: bool = True
    """Whether the next session with the same set-up starts from this value."""
    hint: str = ""
    choices: tuple[str, ...] = ()
    """The words that are meant; others are kept but marked."""


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
        Field("damper", "Damper", None, "damper", hint="serial, as engraved"),
        Field("build", "Build", None, "damper", hint="which strip-down"),
        *(
            Field(name, label, "clicks", "damper", 0, 60)
            for name, label in ADJUSTERS.items()
        ),
        Field("gas_pressure", "Gas", "pressure", "damper", 2e5, 40e5, hint="gauge"),
        Field("gas_temperature", "Gas at", "temperature", "damper", -10, 90,
              hint="body temperature when the charge was read"),
        Field("body_temperature", "Body", "temperature", "damper", -10, 140, carried=False,
              hint="damper body straight after the run"),
        Field("spring_rate", "Spring", "spring rate", "spring", 5e3, 600e3),
        Field("perch", "Perch", "length", "spring", -0.2, 0.4,
              hint="spring seat from its mark"),
        Field("bump_stop", "Bump stop", None, "spring", hint="type, as marked"),
        Field("packers", "Packers", "length", "spring", 0, 0.08),
        Field("ride_height", "Height", "length", "spring", 0.005, 0.8),
        Field("camber", "Camber", "angle", "alignment", -0.14, 0.07),
        Field("toe", "Toe", "toe", "alignment", -0.1, 0.1, hint="toe-in positive"),
        Field("caster", "Caster", "angle", "alignment", -0.05, 0.3),
        Field("cold_pressure", "Cold", "pressure", "tyre", 0.3e5, 4.5e5, hint="gauge"),
        Field("hot_pressure", "Hot", "pressure", "tyre", 0.3e5, 5e5, carried=False, hint="gauge"),
        Field("tread_inner", "Inner", "temperature", "tyre", 10, 160, carried=False),
        Field("tread_middle", "Middle", "temperature", "tyre", 10, 160, carried=False),
        Field("tread_outer", "Outer", "temperature", "tyre", 10, 160, carried=False),
    )
}  # fmt: skip

SESSION_FIELDS: Final[dict[str, Field]] = {
    f.name: f
    for f in (
        Field("kind", "Kind", None, "session", hint=", ".join(KINDS_OF_SESSION),
              choices=KINDS_OF_SESSION),
        Field("number", "Number", "count", "session", 0, 99, carried=False),
        Field("start", "Start", None, "session", carried=False, hint="2026-05-09 14:20"),
        Field("driver", "Driver", None, "session"),
        Field("status", "Status", None, "session", carried=False, hint=", ".join(STATUSES),
              choices=STATUSES),
        Field("surface", "Surface", None, "weather", hint=", ".join(SURFACES), choices=SURFACES),
        Field("air_temperature", "Air", "temperature", "weather", -30, 55, carried=False),
        Field("track_temperature", "Track", "temperature", "weather", -20, 80, carried=False),
        Field("humidity", "Humidity", "share", "weather", 0, 1, carried=False),
        Field("air_pressure", "Baro", "barometric pressure", "weather", 6e4, 1.1e5,
              carried=False),
        Field("tyre_set", "Tyre set", None, "run", carried=True),
        Field("tyre_age", "Tyre laps", "count", "run", 0, 500, carried=False,
              hint="laps on this set before the run"),
        Field("fuel", "Fuel", "fuel", "run", 0, 0.2),
        Field("laps", "Laps", "count", "run", 0, 1000, carried=False),
        Field("best_lap", "Best lap", "lap time", "run", 10, 1800, carried=False),
        Field("result", "Result", None, "run", carried=False, hint="P3, won, retired …"),
    )
}  # fmt: skip


def field_of(path: str) -> Field:
    """The field at `path`: `FL.camber`, `air_temperature`; KeyError when there is none."""
    corner, _, name = path.partition(".")
    return CORNER_FIELDS[name] if corner in CORNERS else SESSION_FIELDS[path]


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
