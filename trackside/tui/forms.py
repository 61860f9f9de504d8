"""What is asked of an event, a car, a damper and its build; a cell's text to and from its record.

A path names a value: `FL.mass`, `adjusters.rebound_bleed.clicks`. Knobs and shop rules are
kept whole or not at all: a count of clicks says nothing until it is known from which end it
counts. Emptying the count, or the full-hard force, takes the knob or rule away.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from trackside.errors import BadInput, BadRecord
from trackside.logbook.fold import is_reading, patched
from trackside.preferences import Preferences
from trackside.records import KINDS, Reading
from trackside.records.fields import ADJUSTER_WORDS, CORNER_NAMES, CORNERS
from trackside.records.limits import problem_of_figure
from trackside.records.ratios import at_ride, is_table, read_ratios
from trackside.records.reading import has_unit
from trackside.records.stops import read_stops
from trackside.review.plausible import record_problems
from trackside.units import QUANTITIES, from_si, one_line, read

CHARGING = "Nitrogen only, through a regulator, eyes covered. The maker's figure comes first."
OPENING = (
    "Release all pressure before opening: gas and oil can throw parts out; eyes covered. "
    "The maker's procedure comes first."
)
NO_OIL = "Without two viscosities, or grade and index, warm oil is reckoned by density only"
STACK = "from the piston out: 30×0.20 ×3, 24×0.20 (mm)"


@dataclass(frozen=True)
class Entry:
    """One value of a record: `quantity` None means words, `unit` that of a bare number (empty: the
    crew's), `choices` the only words that will do."""

    kind: str
    path: str
    label: str
    quantity: str | None = None
    unit: str = ""
    hint: str = ""
    choices: tuple[str, ...] = ()
    required: bool = False

    @property
    def key(self) -> str:
        """Its name among all the values of a page."""
        return f"{self.kind}.{self.path}"

    @property
    def group(self) -> str:
        """What is kept together with it: its knob or its rule; itself otherwise."""
        return self.path.rpartition(".")[0] if self.path.startswith(_LISTS_AT) else self.path

    def unit_in(self, preferences: Preferences) -> str:
        """The unit in which a bare number is read; empty for words and counts."""
        if self.quantity is None:
            return ""
        unit = self.unit or preferences.unit(self.quantity)
        return QUANTITIES[self.quantity].unit(unit).symbol if unit else ""

    def label_in(self, preferences: Preferences) -> str:
        """The label with that unit."""
        return f"{self.label} {self.unit_in(preferences)}".strip()


@dataclass(frozen=True)
class Section:
    """A titled block of entries; `role` colours its title."""

    title: str
    entries: tuple[Entry, ...]
    role: str = ""


_LISTS = {"adjusters": "acts_on", "shop_rules": "direction"}
_LISTS_AT = tuple(f"{name}." for name in _LISTS)
_NEEDED = {
    "adjusters": {
        "clicks": "how many clicks it has",
        "counted_from": "from which end it counts: hard or soft",
    },
    "shop_rules": {
        "full_hard_force": "the force at full hard",
        "reference_speed": "the rod speed of that force",
    },
}


def _section(kind: str, title: str, *entries: tuple[Any, ...], role: str = "") -> Section:
    return Section(title, tuple(Entry(kind, *entry) for entry in entries), role)


def _corner(corner: str) -> Section:
    return _section(
        "car",
        f"{corner} {CORNER_NAMES[corner]}",
        (f"{corner}.mass", "Scales", "mass", "", "on the scales, driver in"),
        (f"{corner}.unsprung_mass", "Unsprung", "mass", "", "wheel, hub, half the arms"),
        (f"{corner}.motion_ratio", "Motion rat.", "ratio", "",
         "damper over wheel travel: 0.72, or wheel mm:ratio -30:0.70 0:0.72 30:0.76, bump +"),
        (f"{corner}.spring_ratio", "Spring rat.", "ratio", "",
         "spring travel over wheel travel, where the spring is not on the damper"),
        (f"{corner}.spring_rate", "Spring", "spring rate", "",
         "where the run sheet names none"),
        (f"{corner}.tyre_rate", "Tyre", "spring rate"),
        (f"{corner}.stop_gap", "Stop gap", "length", "",
         "free rod travel from static to the bump stop, packers out"),
        role=corner,
    )  # fmt: skip


def _knob(acts_on: str) -> Section:
    at = f"adjusters.{acts_on}"
    return _section(
        "build",
        f"{ADJUSTER_WORDS[acts_on].capitalize()} adjuster",
        (f"{at}.clicks", "Clicks", "count", "", "how many it has; empty: no such knob"),
        (f"{at}.counted_from", "Counted", None, "", "from full hard or full soft",
         ("hard", "soft")),
        (f"{at}.step", "Step", "clicks", "", "smallest step that can be set; empty: 1"),
        (f"{at}.share_per_click", "A click", "share", "%",
         "share of the full-hard force, the shop's own figure; may stay empty"),
    )  # fmt: skip


def _rule(direction: str) -> Section:
    at = f"shop_rules.{direction}"
    return _section(
        "build",
        f"Shop rule, {direction}",
        (f"{at}.full_hard_force", "Full hard", "force", "",
         "the shop's figure, for a damper without a dyno sheet"),
        (f"{at}.reference_speed", "at speed", "speed", "", "rod speed of that force"),
        (f"{at}.share_per_click", "A click", "share", "%", "share of that force a click takes"),
    )  # fmt: skip


def _parts(direction: str) -> Section:
    at, mm = f"{direction}_parts", ("length", "mm")
    return _section(
        "build",
        f"{direction.capitalize()} parts",
        (f"{at}.clamp", "Clamp ⌀", *mm, "clamp (pivot) disc that the stack bends over"),
        (f"{at}.seat", "Seat ⌀", *mm, "edge that the discs lift from"),
        (f"{at}.recess", "Recess ⌀", *mm, "inner edge of the oil's ring; may be empty"),
        (f"{at}.hub_to_seat", "Hub-seat", *mm, "how much higher the seat stands than the hub"),
        (f"{at}.spacer", "Spacer", *mm, "between hub and discs; 0 without one"),
        (f"{at}.port_count", "Ports", "count"),
        (f"{at}.port_diameter", "Port ⌀", *mm, "of a kidney: the round hole of its area"),
        (f"{at}.slot_count", "Slots", "count", "", "of the base-bleed disc; 0 without one"),
        (f"{at}.slot_width", "Slot width", *mm),
        (f"{at}.slot_depth", "Slot depth", *mm, "the bleed disc's thickness"),
        (f"{at}.bleed_hole", "Bleed hole", *mm, "always open; 0 without one"),
        (f"{at}.needle_seat", "Needle ⌀", *mm, "its seat"),
        (f"{at}.needle_angle", "Needle half", "angle", "", "half of the cone's angle"),
        (f"{at}.needle_lift", "Lift/click", *mm, "shut at full hard"),
        (f"{at}.ring_lift", "Ring/click", *mm, "preload that a click of its ring takes off"),
        (f"{at}.discharge", "Discharge", "ratio", "", "of the orifices; empty: 0.7"),
    )  # fmt: skip


FORMS: dict[str, dict[str, tuple[Section, ...]]] = {
    "event": {
        "Event": (
            _section(
                "event",
                "Event",
                ("venue", "Venue", None, "", "", (), True),
                ("date", "First day", None, "", "YYYY-MM-DD", (), True),
                ("title", "Title"),
                ("altitude", "Altitude", "length", "m", "above sea level"),
                ("words", "Notes"),
            ),
        )
    },
    "car": {
        "Car": (
            _section(
                "car",
                "Car",
                ("name", "Name", None, "", "", (), True),
                ("number", "Number"),
                (
                    "stops",
                    "Bump stops",
                    None,
                    "",
                    "red = 5:400 10:1300 (mm:N); blue = 40/1.5/20 (N/mm, stiffening, solid at mm)",
                ),
                ("words", "Notes"),
            ),
            _section(
                "car",
                "Lengths",
                ("wheelbase", "Wheelbase", "length"),
                ("track_front", "Track F", "length"),
                ("track_rear", "Track R", "length"),
            ),
            *(_corner(corner) for corner in CORNERS),
        )
    },
    "damper": {
        "Damper and build": (
            _section(
                "damper",
                "Damper",
                ("serial", "Serial", None, "", "as engraved", (), True),
                ("model", "Model"),
                ("place", "Place", None, "", "car and corner, or spares box"),
                ("words", "Notes"),
            ),
            _section(
                "build",
                "Build",
                ("version", "Build", None, "", "which strip-down: A, B …", (), True),
                ("date", "Date", None, "", "YYYY-MM-DD"),
                ("work", "Work done", None, "", "at this strip-down, and why"),
                ("gas_pressure", "Gas", "pressure", "", f"gauge. {CHARGING}"),
                ("oil", "Oil"),
                ("oil_viscosity_40", "at 40 °C", "viscosity", "", f"kinematic, at 40 °C. {NO_OIL}"),
                ("oil_viscosity_100", "at 100 °C", "viscosity", "", "kinematic, at 100 °C"),
                ("oil_grade", "or ISO VG", "viscosity", "", "grade: viscosity at 40 °C"),
                ("oil_index", "and index", "plain", "", "viscosity index of that grade"),
            ),
            _section(
                "build",
                "Size",
                ("piston_diameter", "Piston ⌀", "length"),
                ("rod_diameter", "Rod ⌀", "length", "", "gives the gas force"),
                ("stroke", "Stroke", "length"),
            ),
            _section(
                "build",
                "Inside",
                ("piston", "Piston"),
                ("bump_stack", "Bump stack", None, "", STACK),
                ("rebound_stack", "Reb. stack", None, "", STACK),
                ("preload", "Preload"),
                ("bleed", "Bleed"),
                ("needle", "Needle"),
            ),
        ),
        "Adjusters": (
            _knob("bump_bleed"),
            _knob("rebound_bleed"),
            _knob("bump_preload"),
            _knob("rebound_preload"),
            _knob("both_bleed"),
        ),
        "Shop rule": (_rule("bump"), _rule("rebound")),
        "Parts": (_parts("bump"), _parts("rebound")),
    },
}


def entries(form: str) -> dict[str, Entry]:
    """Every entry of that form by its key."""
    parts = FORMS[form].values()
    return {e.key: e for sections in parts for section in sections for e in section.entries}


def spread(body: Mapping[str, Any]) -> dict[str, Any]:
    """The values of a body by path, knobs and rules taken apart."""
    found: dict[str, Any] = {}
    for name, value in body.items():
        if name in _LISTS:
            named = _LISTS[name]
            for item in value:
                at = f"{name}.{item[named]}"
                found |= {f"{at}.{key}": inner for key, inner in item.items() if key != named}
        elif isinstance(value, dict) and not is_reading(value):
            found |= {f"{name}.{key}": inner for key, inner in value.items()}
        else:
            found[name] = value
    return {path: value for path, value in found.items() if value is not None}


def text_of(entry: Entry, body: Mapping[str, Any], preferences: Preferences) -> str:
    """What the cell shows: words; a number as it was typed in the label's unit, or with a unit of
    its own; else in the label's unit, to the six digits kept."""
    value, unit = spread(body).get(entry.path), entry.unit_in(preferences)
    if value is None or entry.quantity is None:
        return one_line(str(value)) if value is not None else ""
    if isinstance(value, dict):
        reading = Reading.checked(value)
        if reading.si is None or reading.shown(entry.quantity, unit) == reading.typed:
            return reading.typed
        value = reading.si
    return f"{from_si(value, entry.quantity, unit):.6g}"


def problem(entry: Entry, body: Mapping[str, Any], preferences: Preferences) -> str:
    """Why the figure that stands there cannot be right, in one sentence; else empty."""
    value = spread(body).get(entry.path)
    if value is None or entry.quantity is None:
        return ""
    name, unit = entry.path.rpartition(".")[2], entry.unit_in(preferences)
    figure = Reading.checked(value) if isinstance(value, dict) else value
    marked = problem_of_figure(name, figure, entry.quantity, unit)
    return marked or record_problems(entry.kind, body).get(entry.path, "")


def told(kind: str, path: str, value: Any, preferences: Preferences) -> str:
    """A value of such a record as a person reads it, whatever form it is on."""
    if value is None:
        return "empty"
    for form in FORMS:
        entry = entries(form).get(f"{kind}.{path}")
        if entry:
            head, _, name = path.partition(".")
            text = text_of(entry, {head: {name: value} if name else value}, preferences)
            unit = "" if has_unit(text) else entry.unit_in(preferences)
            return f"{text} {unit}".strip()
    return f"{len(value)} of them" if isinstance(value, (list, dict)) else one_line(str(value))


def read_day(text: str) -> str:
    """A date, written so that it sorts. BadInput for anything else."""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise BadInput(f"“{text}” is not a date", "type it like 2026-05-09") from None


def value_of(entry: Entry, text: str, preferences: Preferences) -> Any:
    """What `text` means in the entry's record; None when empty. BadInput says why it cannot be."""
    text = one_line(text)
    if not text:
        if entry.required:
            raise BadInput(f"{entry.label} cannot be empty", "type what it is")
        return None
    if entry.choices:
        word = text.casefold().removeprefix("full ").removeprefix("from full ")
        found = [choice for choice in entry.choices if choice.startswith(word)]
        if len(found) != 1:
            raise BadInput(f"“{text}” is not known here", f"type {' or '.join(entry.choices)}")
        return found[0]
    if entry.path == "date":
        return read_day(text)
    if entry.path == "stops":
        read_stops(text)
    if entry.quantity is None:
        return text
    if entry.path.endswith(".motion_ratio") and is_table(text):
        return Reading(typed=text, si=at_ride(read_ratios(text))).body()
    found = read(text, entry.quantity, entry.unit_in(preferences))
    if entry.quantity == "count":
        if found.si != int(found.si):
            raise BadInput(f"“{text}” is not a whole number", "count full clicks")
        return int(found.si)
    return Reading(typed=text, unit=found.unit.symbol, si=found.si).body()


def change(
    kind: str, body: dict[str, Any], texts: Mapping[Entry, str], preferences: Preferences
) -> dict[str, Any]:
    """The patch that keeps these texts of one group. BadInput says what cannot be kept, or what
    is still missing."""
    given = {entry.path: value_of(entry, text, preferences) for entry, text in texts.items()}
    values = spread(body) | given
    group = next(iter(texts)).group
    name = group.partition(".")[0]
    if name not in _LISTS:
        patch = given
    else:
        mine = {path: v for path, v in values.items() if path.rpartition(".")[0] == group}
        first, *_ = needed = [f"{group}.{key}" for key in _NEEDED[name]]
        if first in given and given[first] is None:
            values |= dict.fromkeys(mine)
        elif any(v is not None for v in mine.values()):
            missing = [path for path in needed if mine.get(path) is None]
            if missing:
                words = [_NEEDED[name][path.rpartition(".")[2]] for path in missing]
                raise BadInput("not kept yet", f"say also {' and '.join(words)}")
        patch = {name: _gathered(name, values)}
    try:
        KINDS[kind].checked(patched(body, patch))
    except BadRecord as error:
        raise BadInput(error.cause.partition(": ")[2] or error.cause, error.remedy) from error
    return patch


def _gathered(name: str, values: Mapping[str, Any]) -> list[dict[str, Any]]:
    items: dict[str, dict[str, Any]] = {}
    for path, value in values.items():
        head, _, rest = path.partition(".")
        if head == name and value is not None:
            which, _, key = rest.partition(".")
            items.setdefault(which, {_LISTS[name]: which})[key] = value
    return list(items.values())


def siblings(entry: Entry, among: Iterable[Entry]) -> list[Entry]:
    """The entries that are kept together with this one, itself included."""
    return [e for e in among if e.kind == entry.kind and e.group == entry.group]
