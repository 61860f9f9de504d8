"""The invented team: two cars, their dampers and builds, and what each dyno sheet is of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from math import radians

from tests.samples.bench import SHEETS
from tests.samples.pages import TECHNICIAN, Entry
from trackside.records import Adjuster, Build, Car, CarCorner, Damper, Event, Parts, ShopRule

APRIL, AUGUST, SEPTEMBER = "2026-04-18", "2026-08-29", "2026-09-12"

EVENTS = {
    "may": Event(
        venue="Averholme", title="May meeting", date="2026-05-09", last_day="2026-05-10",
        altitude=140, road_class="A", road_speed=40.0,
        words="Warm and dry, one shower on Sunday at noon.",
    ),
    "october": Event(
        venue="Averholme", title="October meeting", date="2026-10-17", last_day="2026-10-18",
        altitude=140, road_class="A", road_speed=40.0,
        words="Same track, fifteen degrees colder, leaves on turn 3 in the mornings.",
    ),
}  # fmt: skip


def _corner(mass: float, unsprung: float, ratio: float, spring: float) -> CarCorner:
    return CarCorner(
        mass=mass,
        unsprung_mass=unsprung,
        motion_ratio=ratio,
        spring_rate=spring * 1e3,
        tyre_rate=260e3,
        stop_gap=0.028,
    )


STOPS = "foam 30 = 60/1.5/26; foam 22 = 70/1.5/19"

CARS = {
    "27": Car(
        name="Tourer", number="27", wheelbase=2.63, track_front=1.58, track_rear=1.57,
        FL=_corner(368, 41, 0.93, 110), FR=_corner(362, 41, 0.93, 110),
        RL=_corner(266, 36, 0.74, 140), RR=_corner(261, 36, 0.74, 140),
        words="Front-driven, front struts with one knob each, rear two-way dampers.",
        stops=STOPS,
    ),
    "64": Car(
        name="Coupé", number="64", wheelbase=2.55, track_front=1.66, track_rear=1.64,
        FL=_corner(312, 39, 0.70, 150), FR=_corner(306, 39, 0.70, 150),
        RL=_corner(341, 44, 0.82, 130), RR=_corner(336, 44, 0.82, 130),
        words="Rear-driven, four two-way dampers with a bump preload ring.",
        stops=STOPS,
    ),
}  # fmt: skip

STRUT, REAR, FOUR = (
    "strut insert, one knob",
    "two-way monotube 40/12.7",
    "two-way monotube 46/14 with preload ring",
)

DAMPERS = (
    Damper(serial="SA-3107", model=STRUT, place="27, FL"),
    Damper(serial="SA-3108", model=STRUT, place="27, FR", words="Weeps since October."),
    Damper(serial="SA-3112", model=STRUT, place="27, spares box", words="Never on the dyno."),
    Damper(serial="TW-2241", model=REAR, place="27, RL"),
    Damper(serial="TW-2242", model=REAR, place="27, RR"),
    Damper(serial="FP-0611", model=FOUR, place="64, FL"),
    Damper(serial="FP-0612", model=FOUR, place="64, workshop", words="Rod pitted, out since July."),
    Damper(serial="FP-0619", model=FOUR, place="64, FR", words="Bought with its own dyno sheet."),
    Damper(
        serial="FP-0625",
        model=FOUR,
        place="64, spares box",
        words="Bought used; nobody knows what is inside.",
    ),
    Damper(serial="RP-0713", model=FOUR, place="64, RL"),
    Damper(serial="RP-0714", model=FOUR, place="64, RR"),
)

LAST_SEEN = {"SA-3108": "2026-10-17", "FP-0612": "2026-07-04", "FP-0619": SEPTEMBER}
"""Dampers whose card was last written after April."""


def _knob(acts_on: str, clicks: int, counted_from: str) -> Adjuster:
    return Adjuster(acts_on=acts_on, clicks=clicks, counted_from=counted_from)  # type: ignore[arg-type]


ONE_KNOB = (_knob("both_bleed", 18, "hard"),)
TWO_WAY = (_knob("bump_bleed", 24, "soft"), _knob("rebound_bleed", 24, "soft"))


def _with_ring(clicks: int, counted_from: str) -> tuple[Adjuster, ...]:
    return (
        _knob("bump_bleed", clicks, counted_from),
        _knob("rebound_bleed", clicks, counted_from),
        _knob("bump_preload", 6, "soft"),
    )


def _strut(serial: str, **more: object) -> Build:
    return Build(
        damper=serial, version="A", date=APRIL, piston_diameter=0.040, rod_diameter=0.018,
        stroke=0.140, gas_pressure=12e5, adjusters=ONE_KNOB, oil="mineral 5 W",
        piston="digressive", needle="one needle, both directions", **more,  # type: ignore[arg-type]
    )  # fmt: skip


REAR_BUMP = Parts(
    clamp=8.5e-3, seat=24.5e-3, hub_to_seat=0.3e-3, spacer=0.25e-3, port_count=4,
    port_diameter=5e-3, slot_count=2, slot_width=2.25e-3, slot_depth=0.15e-3, bleed_hole=0.9e-3,
    needle_seat=2.8e-3, needle_angle=radians(12.5), needle_lift=0.09e-3,
)  # fmt: skip
REAR_REBOUND = Parts(
    clamp=9.5e-3, seat=26e-3, hub_to_seat=0.1e-3, spacer=0.0, port_count=4,
    port_diameter=5.5e-3, slot_count=6, slot_width=1e-3, slot_depth=0.15e-3, bleed_hole=0.5e-3,
    needle_seat=2.5e-3, needle_angle=radians(10.0), needle_lift=0.09e-3,
)  # fmt: skip
"""Measured at the strip-downs of the rear dampers; what they make is within a tenth of the bench,
in root mean square, because they were chosen for it."""


def _rear(serial: str, version: str, date: str, **more: object) -> Build:
    return Build(
        damper=serial, version=version, date=date, piston_diameter=0.040, rod_diameter=0.0127,
        stroke=0.110, gas_pressure=14e5, adjusters=TWO_WAY, oil="mineral 5 W",
        piston="linear bump, digressive rebound", bump_parts=REAR_BUMP,
        rebound_parts=REAR_REBOUND, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def _four(serial: str, **more: object) -> Build:
    return Build(
        damper=serial, version="A", date=APRIL, piston_diameter=0.046, rod_diameter=0.014,
        stroke=0.120, gas_pressure=16e5, adjusters=_with_ring(20, "hard"), oil="synthetic 2.5 W",
        piston="digressive both ways", bump_stack="32×0.15 ×2, 28×0.10, 23×0.15, 19×0.25",
        rebound_stack="32×0.20 ×2, 29×0.15, 25×0.20, 19×0.25", **more,  # type: ignore[arg-type]
    )  # fmt: skip


SOFTER_REBOUND = (
    "One 0.20 disc out of the rebound stack, one 0.15 into bump: in May the rear tyres "
    "hopped over the kerbs of turn 4, on the softest rebound clicks too. Oil and seals new."
)

BUILDS = (
    _strut("SA-3107"),
    _strut("SA-3108"),
    _strut(
        "SA-3112",
        shop_rules=(
            ShopRule(
                direction="bump",
                full_hard_force=440,
                reference_speed=0.1,
                share_per_click=0.018,
            ),
            ShopRule(
                direction="rebound",
                full_hard_force=820,
                reference_speed=0.1,
                share_per_click=0.022,
            ),
        ),
        work="Built like the other two, by hand feel only; forces are the shop's figures.",
    ),
    *(
        _rear(
            serial, "A", APRIL, bump_stack="27×0.15 ×2, 23×0.10, 17×0.20",
            rebound_stack="27×0.20 ×3, 24×0.15, 18×0.20",
        )
        for serial in ("TW-2241", "TW-2242")
    ),
    *(
        _rear(
            serial, "B", AUGUST, bump_stack="27×0.15 ×3, 23×0.10, 17×0.20",
            rebound_stack="27×0.20 ×2, 24×0.15, 18×0.20", work=SOFTER_REBOUND,
        )
        for serial in ("TW-2241", "TW-2242")
    ),
    *(_four(serial) for serial in ("FP-0611", "FP-0612", "RP-0713", "RP-0714")),
    Build(
        damper="FP-0619", version="C", date=SEPTEMBER, piston_diameter=0.046, rod_diameter=0.014,
        stroke=0.120, gas_pressure=16e5, adjusters=_with_ring(16, "soft"), oil="synthetic 5 W",
        piston="digressive both ways", bump_stack="31×0.20 ×2, 26×0.10, 20×0.15, 17×0.20",
        rebound_stack="31×0.20 ×2, 27×0.15, 23×0.20, 17×0.25",
        work="As bought: sixteen clicks instead of twenty, and its maker counts from full soft.",
    ),
    Build(
        damper="FP-0625", version="U", date=APRIL, adjusters=_with_ring(20, "hard"),
        work="Not opened yet.",
    ),
)  # fmt: skip


@dataclass(frozen=True)
class SheetOf:
    """What the bench noted beside one sheet."""

    name: str
    date: str
    words: str

    @property
    def table(self) -> str:
        """Its table in sheets.toml."""
        bench = SHEETS[self.name]
        damper, _, build = self.name.rpartition("-")
        lines = [
            "[[sheet]]",
            f'file = "{self.name}.csv"',
            f'damper = "{damper}"',
            f'build = "{build}"',
            f'date = "{self.date}"',
            f"gas_in = {str(bench.gas_in).lower()}",
        ]
        if bench.gas_in:
            lines.append(f"gas_pressure_Pa = {bench.unit.gas:.0f}")
        lines += [f'counted_from = "{bench.counted_from}"', f'words = "{self.words}"']
        return "\n".join(lines) + "\n"


OWN = "own bench, gas force taken out"
SHEET_NOTES = (
    SheetOf("SA-3107-A", APRIL, OWN),
    SheetOf("SA-3108-A", APRIL, f"{OWN}; run from full soft upwards, the crew counts from hard"),
    SheetOf("TW-2241-A", APRIL, "other workshop: gas force left in, rebound below zero"),
    SheetOf("TW-2242-A", APRIL, "other workshop: gas force left in, rebound below zero"),
    SheetOf("TW-2241-B", AUGUST, OWN),
    SheetOf("TW-2242-B", AUGUST, OWN),
    SheetOf("FP-0611-A", APRIL, f"{OWN}; preload ring at 3 throughout"),
    SheetOf("FP-0612-A", APRIL, f"{OWN}; preload ring at 3 throughout"),
    SheetOf("FP-0619-C", SEPTEMBER, "came with the damper, in inches and pounds; ring at 2"),
    SheetOf("RP-0713-A", APRIL, f"{OWN}; preload ring at 2 and at 5"),
    SheetOf("RP-0714-A", APRIL, f"{OWN}; preload ring at 2 and at 5"),
)


def shed_entries() -> list[Entry]:
    """Cars, events, dampers and builds as they were entered, a minute apart."""
    entries = [
        *(Entry("car", key, car, _at(APRIL, n)) for n, (key, car) in enumerate(CARS.items())),
        *(Entry("event", key, event, _at(event.date, 0, hour=6)) for key, event in EVENTS.items()),
    ]
    for n, damper in enumerate(DAMPERS):
        when = _at(LAST_SEEN.get(damper.serial, APRIL), 10 + n)
        entries.append(Entry("damper", damper.serial, damper, when, TECHNICIAN))
    for n, build in enumerate(BUILDS):
        key = f"{build.damper} {build.version}"
        when = _at(build.date, 30 + n)
        entries.append(Entry("build", key, build, when, TECHNICIAN, build.work and "strip-down"))
    return entries


def _at(date: str, minute: int, hour: int = 16) -> datetime:
    return datetime.fromisoformat(f"{date} {hour:02d}:{minute:02d}")
