"""Cautions where the hand acts: the texts, and which value of a page gets which.

One home for both. A value with nothing to caution of is listed with NONE, so that nobody can
forget to decide; `tests/reports/test_cautions.py` asks for every value of every page.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from trackside.records.fields import ADJUSTERS, CORNERS


class Caution(NamedTuple):
    """`short` fits a line beside what a value means; `text` says it whole; `whole` is what a page
    with room shows in any case, not the short words alone."""

    short: str
    text: str
    whole: bool = True


CHARGE: Final = Caution(
    "eye protection on; the maker's gas, by regulator",
    "Eye protection on; keep clear of rod and valve. Rated regulator and hose; nitrogen, or the "
    "gas the maker names, to the maker's maximum; check for leaks.",
)
BOTTLE: Final = Caution(
    "gas bottles: trained or licensed people",
    "Gas bottles: trained or licensed people, local codes.",
)
OPEN: Final = Caution(
    "release all gas first; eye protection on",
    "Eye protection on. Release all gas first, as the maker says: the rod pushes out, gas and oil "
    "can throw parts. Oil in an eye: rinse at once, see a doctor.",
)
TORQUE: Final = Caution(
    "piston nut: maker's torque, threadlocker",
    "Piston nut: maker's torque and threadlocker.",
)
SPRING: Final = Caution(
    "loaded spring: the maker's compressor",
    "A loaded spring can throw parts: use the maker's compressor and procedure before a damper, "
    "spring, perch or top mount comes loose.",
)
STANDS: Final = Caution(
    "car on stands",
    "Under the car only on stands, on hard, level ground; never on the jack alone.",
    whole=False,
)
HOT: Final = Caution(
    "hot: damper, brakes, exhaust",
    "After a run the damper body, brakes and exhaust are hot enough to burn.",
    whole=False,
)
FUEL: Final = Caution(
    "fuel: no sparks, nothing hot; extinguisher ready",
    "Fuel: in or out only with the engine off, no sparks and nothing hot near, the car earthed, a "
    "person with an extinguisher ready; the series' rules for refuelling.",
    whole=False,
)
SCALES: Final = Caution(
    "on the scales: wheels chocked, nobody under",
    "On the scales: wheels chocked, nobody under the car; one person at the brake as it rolls on "
    "and off. Lift only at the lifting points.",
    whole=False,
)
BENCH: Final = Caution(
    "bench: guard shut, hands off, clevis pins locked",
    "On the bench: both ends pinned and locked, guard shut, hands out while it turns; stroke and "
    "speed within what the damper and the bench allow. It comes off hot.",
)
ON_THE_CAR: Final = (CHARGE, BOTTLE, OPEN, TORQUE, SPRING, STANDS, HOT, FUEL, SCALES)
"""Those that a run sheet on paper has."""
ALL: Final = (*ON_THE_CAR, BENCH)
FIRST: Final = "The maker's figures, the series rules and local codes come first."
INVENTED: Final = "Sample weekends: every number is invented. Set no car by them."

Cautions = tuple[Caution, ...]
NONE: Final[Cautions] = ()
_UNDER: Final[Cautions] = (STANDS,)
_SPRUNG: Final[Cautions] = (SPRING, STANDS)
_INSIDE: Final[Cautions] = (OPEN, TORQUE)

RUN_SHEET: Final[dict[str, Cautions]] = {
    "damper": (SPRING, STANDS, HOT),
    "build": _INSIDE,
    **dict.fromkeys(ADJUSTERS, _UNDER),
    "gas_pressure": (CHARGE, BOTTLE, STANDS),
    "gas_temperature": (HOT, STANDS),
    "body_temperature": (HOT, STANDS),
    **dict.fromkeys(("spring_rate", "perch", "bump_stop", "packers"), _SPRUNG),
    **dict.fromkeys(("ride_height", "camber", "toe", "caster"), _UNDER),
    "cold_pressure": NONE,
    "hot_target": NONE,
    **dict.fromkeys(("hot_pressure", "tread_inner", "tread_middle", "tread_outer"), (HOT,)),
    **dict.fromkeys(
        (
            "kind", "number", "run", "start", "duration", "driver", "status", "surface",
            "air_temperature", "track_temperature", "humidity", "air_pressure", "tyre_set",
            "rear_set", "tyre_age", "run_time", "laps", "best_lap", "result", "lap_times",
            "event", "car",
        ),
        NONE,
    ),
    **dict.fromkeys(("fuel", "fuel_end"), (FUEL,)),
    "items": NONE,
}  # fmt: skip
"""Field of the run sheet → what is cautioned there."""

RECORDS: Final[dict[str, Cautions]] = {
    **dict.fromkeys(("event.venue", "event.date", "event.last_day", "event.title",
                     "event.altitude", "event.road_class", "event.road_speed",
                     "event.words"), NONE),
    **dict.fromkeys(("car.name", "car.number", "car.stops", "car.words", "car.wheelbase",
                     "car.track_front", "car.track_rear"), NONE),
    "car.mass": NONE,
    "car.unsprung_mass": _UNDER,
    "car.motion_ratio": _SPRUNG,
    "car.spring_ratio": _SPRUNG,
    "car.spring_rate": _SPRUNG,
    "car.tyre_rate": NONE,
    "car.stop_gap": _UNDER,
    **dict.fromkeys(("damper.serial", "damper.model", "damper.words", "damper.service_runs",
                     "damper.service_laps", "damper.service_time"), NONE),
    "damper.least_charge": (CHARGE, BOTTLE),
    "damper.place": _SPRUNG,
    "weighing.mass": (SCALES, STANDS),
    "weighing.fuel": (FUEL,),
    **dict.fromkeys(("weighing.at", "weighing.driver", "weighing.where", "weighing.words"), NONE),
    **dict.fromkeys(("tyre_set.name", "tyre_set.compound", "tyre_set.size", "tyre_set.words",
                     "tyre_set.state", "tyre_set.laps", "tyre_set.cycles", "tyre_set.date"), NONE),
    **dict.fromkeys(("weather.at", "weather.wind", "weather.words", "weather.surface",
                     "weather.air_temperature", "weather.track_temperature", "weather.humidity",
                     "weather.air_pressure"), NONE),
    **dict.fromkeys(("counter.part", "counter.serial", "counter.words", "counter.since",
                     "counter.start", "counter.limit"), NONE),
    **dict.fromkeys(("strip_down.date", "strip_down.who", "strip_down.why"), NONE),
    **dict.fromkeys(("strip_down.gas_found", "strip_down.found", "strip_down.oil",
                     "strip_down.oil_volume", "strip_down.piston_level",
                     "strip_down.bleed_cycles"), (OPEN,)),
    "strip_down.gas_found_at": NONE,
    **dict.fromkeys(("strip_down.goes_in", "strip_down.torque", "strip_down.threadlocker"),
                    (TORQUE,)),
    **dict.fromkeys(("strip_down.bump_stack", "strip_down.rebound_stack",
                     "strip_down.bump_parts", "strip_down.rebound_parts"), _INSIDE),
    "strip_down.charge": (CHARGE, BOTTLE),
    "strip_down.charge_at": NONE,
    "strip_down.bench": (BENCH,),
    "strip_down.fitted_to": (SPRING, STANDS, HOT),
    **dict.fromkeys(("box_part.sort", "box_part.name", "box_part.diameter", "box_part.thickness",
                     "box_part.hole", "box_part.slot_count", "box_part.slot_width",
                     "box_part.count", "box_part.place", "box_part.words"), NONE),
    "build.version": _INSIDE,
    "build.family": NONE,
    "build.date": NONE,
    "build.work": _INSIDE,
    "build.gas_pressure": (CHARGE, BOTTLE),
    "build.oil": (OPEN,),
    **dict.fromkeys(("build.oil_viscosity_40", "build.oil_viscosity_100", "build.oil_grade",
                     "build.oil_index"), NONE),
    **dict.fromkeys(("build.piston_diameter", "build.rod_diameter", "build.stroke"), (OPEN,)),
    **dict.fromkeys(("build.piston", "build.bump_stack", "build.rebound_stack", "build.preload",
                     "build.bleed", "build.needle"), _INSIDE),
    "build.adjusters": NONE,
    "build.shop_rules": NONE,
    "build.bump_parts": (TORQUE,),
    "build.rebound_parts": (TORQUE,),
}  # fmt: skip
"""Value of a record, without its corner → what is cautioned there; of a list or of a direction's
parts, all values alike."""


STEPS: Final[dict[str, Cautions]] = {
    "gas_out": (OPEN,),
    "opened": (OPEN,),
    "goes_in": (TORQUE,),
    "nut": (TORQUE,),
    "filled": (OPEN,),
    "charged": (CHARGE, BOTTLE),
    "benched": (BENCH,),
    "labelled": NONE,
    "fitted": (SPRING, STANDS, HOT),
}
"""Step of a strip-down → what is cautioned there; of a step of the shop's own: nothing is known."""


def on_run_sheet(path: str) -> Cautions:
    """The cautions at that value of the run sheet, the gravest first."""
    head, _, name = path.partition(".")
    return RUN_SHEET.get(name if head in CORNERS else head, NONE)


def on_record(kind: str, path: str) -> Cautions:
    """The cautions at that value of a record, the gravest first."""
    head, _, name = path.partition(".")
    return RECORDS.get(f"{kind}.{name if head in CORNERS else head}", NONE)


def whole(cautions: Iterable[Caution]) -> str:
    """Those cautions said whole, one after the other."""
    return " ".join(one.text for one in cautions)


def page(cautions: Iterable[Caution]) -> str:
    """What a page with room says of them besides the short words; empty when these are enough."""
    told = tuple(cautions)
    return whole(told) if any(one.whole for one in told) else ""
