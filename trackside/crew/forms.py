"""What is asked of an event, a car, a damper and its build, laid out in parts and sections.

A path names a value: `FL.mass`, `adjusters.rebound_bleed.clicks`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trackside.preferences import Preferences
from trackside.records.fields import (
    ADJUSTER_WORDS,
    BOX_SORTS,
    CORNER_NAMES,
    CORNERS,
    ROAD_CLASSES,
    SURFACES,
)
from trackside.units import QUANTITIES

NO_OIL = "Without two viscosities, or grade and index, a warm curve uses density only"
SISTERS = "the same word for dampers of one model and needle: one bench run then does for each"
WHEN_TIMED = "10:45 for today, or YYYY-MM-DD 10:45"
WHEN = "YYYY-MM-DD, YYYY-MM-DD 10:45, or 10:45 for today"
AS_IT_IS = "empty: as it is now"
STACK = "from the piston out: 27×0.15 ×2, 21×0.10 (mm)"


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


LISTS = {"adjusters": "acts_on", "shop_rules": "direction"}
"""Lists of a build whose items are kept whole, and what names an item."""
_LISTS_AT = tuple(f"{name}." for name in LISTS)


def _section(kind: str, title: str, *entries: tuple[Any, ...], role: str = "") -> Section:
    return Section(title, tuple(Entry(kind, *entry) for entry in entries), role)


def _corner(corner: str) -> Section:
    return _section(
        "car",
        f"{corner} {CORNER_NAMES[corner]}",
        (f"{corner}.mass", "Scales", "mass", "", "on the scales, driver on board"),
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


def _scale(corner: str) -> Section:
    return _section(
        "weighing",
        f"{corner} {CORNER_NAMES[corner]}",
        (f"{corner}.mass", "Scale", "mass", "", "as the scale shows it"),
        role=corner,
    )


def _knob(acts_on: str) -> Section:
    at = f"adjusters.{acts_on}"
    return _section(
        "build",
        f"{ADJUSTER_WORDS[acts_on].capitalize()} adjuster",
        (f"{at}.clicks", "Clicks", "count", "", "total clicks; empty: no such adjuster"),
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


def _parts(direction: str, kind: str = "build", *before: tuple[Any, ...]) -> Section:
    at, mm = f"{direction}_parts", ("length", "mm")
    return _section(
        kind,
        f"{direction.capitalize()} parts",
        *before,
        (f"{at}.clamp", "Clamp ⌀", *mm, "clamp disc that the stack bends over"),
        (f"{at}.seat", "Seat ⌀", *mm, "edge that the discs lift from"),
        (f"{at}.recess", "Recess ⌀", *mm, "inner edge of the oil's ring; may be empty"),
        (f"{at}.hub_to_seat", "Seat step", *mm, "how much higher the seat is than the hub"),
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
                ("last_day", "Last day", None, "", "YYYY-MM-DD; empty: one day"),
                ("title", "Title"),
                ("altitude", "Altitude", "length", "m", "above sea level"),
                (
                    "road_class",
                    "Road class",
                    None,
                    "",
                    "ISO 8608; A as a new surface, B good, C rough: our own words, no source",
                    ROAD_CLASSES,
                ),
                ("road_speed", "at speed", "speed", "km/h", "where it is rough"),
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
    "weighing": {
        "Corner weights": (
            _section(
                "weighing",
                "Weighing",
                ("at", "When", None, "", WHEN, (), True),
                ("driver", "Driver", None, "", "in the seat or out of it", ("in", "out")),
                ("fuel", "Fuel", "fuel", "", "in the tank now"),
            ),
            _section(
                "weighing",
                "Scales",
                ("where", "Which, where", None, "", "the shop's own, level plates …"),
                ("words", "Notes"),
            ),
            *(_scale(corner) for corner in CORNERS),
        )
    },
    "weather": {
        "Weather": (
            _section(
                "weather",
                "Read",
                ("at", "When", None, "", WHEN_TIMED, (), True),
                ("wind", "Wind", None, "", "words or figures: light from turn 3; 15 km/h NW"),
                ("words", "Notes"),
            ),
            _section(
                "weather",
                "Weather",
                ("surface", "Surface", None, "", "", SURFACES),
                ("air_temperature", "Air", "temperature"),
                ("track_temperature", "Track", "temperature"),
                ("humidity", "Humidity", "share"),
                ("air_pressure", "Baro", "barometric pressure"),
            ),
        )
    },
    "counter": {
        "Hours": (
            _section(
                "counter",
                "Part",
                ("part", "Part", None, "", "engine, gearbox …", (), True),
                ("serial", "Serial"),
                ("words", "Notes"),
            ),
            _section(
                "counter",
                "Hours",
                ("since", "In since", None, "", WHEN, (), True),
                ("start", "Had then", "hours", "", "what it had when it went in; new: 0"),
                ("limit", "Limit", "hours", "", "the shop's own: when it is to come out"),
            ),
        )
    },
    "tyre_set": {
        "Tyre set": (
            _section(
                "tyre_set",
                "Tyre set",
                ("name", "Set", None, "", "as the run sheet calls it: S1", (), True),
                ("compound", "Compound"),
                ("size", "Size", None, "", "as on the sidewall; front / rear where they differ"),
                ("words", "Notes"),
            ),
            _section(
                "tyre_set",
                "When it came",
                ("state", "New or used", None, "", "when it came", ("new", "used")),
                ("laps", "Laps then", "count", "", "laps that it had when it came"),
                (
                    "cycles",
                    "Cycles then",
                    "count",
                    "",
                    "times it had been hot by then",
                ),
                ("date", "Date", None, "", "YYYY-MM-DD"),
            ),
        )
    },
    "strip_down": {
        "Strip-down": (
            _section(
                "strip_down",
                "Planned",
                ("date", "Day", None, "", "YYYY-MM-DD"),
                ("who", "Who"),
                ("why", "Why", None, "", "what is done, and why"),
            ),
            _section(
                "strip_down",
                "Opened",
                ("gas_found", "Gas found", "pressure", "", "gauge, before it is released"),
                ("gas_found_at", "at", "temperature", "", "of the damper then"),
                ("found", "Parts found", None, "", "discs, wear, seals, rod"),
            ),
            _section(
                "strip_down",
                "Put together",
                ("goes_in", "Goes in", None, "", "the rest is in the build: stack, piston, needle"),
                ("torque", "Torque", "torque", "", "of the piston nut, as set: the maker's figure"),
                ("threadlocker", "Threadlock", None, "", "which one, as the maker says"),
            ),
            _section(
                "strip_down",
                "Oil",
                ("oil", "Oil", None, "", "which one went in"),
                ("oil_volume", "Volume", "oil volume"),
                (
                    "piston_level",
                    "Fl. piston",
                    "length",
                    "",
                    "floating piston below the tube's end",
                ),
                ("bleed_cycles", "Bleed", "count", "", "strokes until no more air came"),
            ),
            _section(
                "strip_down",
                "Gas",
                ("charge", "Charged to", "pressure", "", "gauge, the maker's figure; 14 bar"),
                ("charge_at", "at", "temperature", "", "of the damper then: shown at 20 °C"),
            ),
            _section(
                "strip_down",
                "Bench and car",
                ("bench", "Bench", None, "", "what the run showed; its file goes in with the shed"),
                ("fitted_to", "Fitted to", None, "", "car and corner"),
            ),
        ),
        "Planned parts": tuple(
            _parts(d, "strip_down", (f"{d}_stack", "Stack", None, "", f"{STACK}; {AS_IT_IS}"))
            for d in ("bump", "rebound")
        ),
    },
    "box_part": {
        "Part in the box": (
            _section(
                "box_part",
                "Part",
                ("sort", "What", None, "", "", BOX_SORTS, True),
                ("name", "Name", None, "", "of a needle or an oil"),
                ("count", "How many", "count", "", "in the box now", (), True),
                ("place", "Place", None, "", "drawer, tray"),
                ("words", "Notes"),
            ),
            _section(
                "box_part",
                "Size",
                ("diameter", "Diameter", "length", "mm"),
                ("thickness", "Thickness", "length", "mm", "of a bleed disc: its slots' depth"),
                ("hole", "Hole ⌀", "length", "mm", "that goes over the post"),
                ("slot_count", "Slots", "count", "", "of a bleed disc"),
                ("slot_width", "Slot width", "length", "mm"),
            ),
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
                ("version", "Build", None, "", "letter of the strip-down: A, B …", (), True),
                ("date", "Date", None, "", "YYYY-MM-DD"),
                ("work", "Work done", None, "", "at this strip-down, and why"),
                ("gas_pressure", "Gas", "pressure", "", "gauge, the maker's figure"),
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
                ("family", "Sisters", None, "", SISTERS),
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
        "Limits": (
            _section(
                "damper",
                "Needs a look",
                (
                    "least_charge",
                    "Least gas",
                    "pressure",
                    "",
                    "gauge, as it reads at 20 °C (68 °F): the maker's least charge",
                ),
                (
                    "service_time",
                    "Serv. time",
                    "hours",
                    "",
                    "after so long a running time the shop opens it: its own limit",
                ),
                ("service_laps", "Serv. laps", "count", "", "or after so many laps"),
                ("service_runs", "Serv. runs", "count", "", "or after so many runs"),
            ),
        ),
    },
}


def entries(form: str) -> dict[str, Entry]:
    """Every entry of that form by its key."""
    parts = FORMS[form].values()
    return {e.key: e for sections in parts for section in sections for e in section.entries}
