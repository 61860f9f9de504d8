"""A damper, what is inside it at each strip-down, and its adjusters."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import BeforeValidator, Field, PositiveInt, model_validator

from trackside.records.base import Line, Record, Words
from trackside.records.discs import read_discs
from trackside.records.fields import ADJUSTER_WORDS, ADJUSTERS
from trackside.records.figure import Needed, NotNegative, Positive, Share, si_of

ActsOn = Literal["bump_bleed", "rebound_bleed", "both_bleed", "bump_preload", "rebound_preload"]
CountedFrom = Literal["hard", "soft"]


class Adjuster(Record):
    """One knob. Positions run from 0 to `clicks`, counted from full hard or from full soft."""

    acts_on: ActsOn
    clicks: PositiveInt
    counted_from: CountedFrom
    step: Annotated[float, BeforeValidator(si_of)] = Field(default=1, gt=0, le=10)
    """The smallest step that a detent, or the crew, can set."""
    share_per_click: Share = None
    """The shop's own figure: share of the full-hard force that one click takes."""

    @property
    def words(self) -> str:
        """What it acts on, as spoken."""
        return ADJUSTER_WORDS[self.acts_on]

    def problem(self, position: float) -> str:
        """Why this position cannot be set, in one sentence; empty when it can."""
        if position < 0 or position > self.clicks:
            return (
                f"the {self.words} adjuster has {self.clicks} clicks from full "
                f"{self.counted_from}; {position:g} is beyond them"
            )
        if abs(position / self.step - round(position / self.step)) > 1e-6:
            return f"the {self.words} adjuster steps by {self.step:g}; {position:g} is between"
        return ""


class ShopRule(Record):
    """What the shop knows without a dyno sheet: the full-hard force at one rod speed (SI)."""

    direction: Literal["bump", "rebound"]
    full_hard_force: Needed
    reference_speed: Needed
    share_per_click: Share = None


class Parts(Record):
    """What decides one direction's force, measured at the strip-down; lengths in m. The discs are
    in the build's own stack words. Unknown stays None, and is never taken for zero."""

    clamp: Positive = None
    """Diameter of the clamp disc that the stack bends over."""
    seat: Positive = None
    """Diameter of the edge that the discs lift from."""
    recess: Positive = None
    """Inner diameter of the ring that the oil presses on; None where it is the ports alone."""
    hub_to_seat: NotNegative = None
    """How much higher the seat stands than the hub that the stack is clamped on."""
    spacer: NotNegative = None
    """Thickness between the hub and the discs."""
    port_count: PositiveInt | None = None
    port_diameter: Positive = None
    """Of one port; of a kidney, that of the round hole of its area."""
    slot_count: int | None = Field(default=None, ge=0)
    """Slots of the base-bleed disc; 0 without one."""
    slot_width: Positive = None
    slot_depth: Positive = None
    bleed_hole: NotNegative = None
    """Diameter of the hole that is always open; 0 without one."""
    needle_seat: Positive = None
    needle_angle: Annotated[float | None, BeforeValidator(si_of)] = Field(
        default=None, gt=0, lt=1.57
    )
    """Half of the cone's angle (rad)."""
    needle_lift: Positive = None
    """Lift per click, shut at full hard."""
    ring_lift: Positive = None
    """Preload (m) that one click of the preload ring takes off the stack, from full hard."""
    discharge: Annotated[float | None, BeforeValidator(si_of)] = Field(default=None, gt=0, le=1)


class Damper(Record):
    """One unit; its serial is its name."""

    serial: Line = Field(min_length=1)
    model: Line = ""
    place: Line = ""
    """Where it belongs: car and corner, or the spares box."""
    least_charge: Positive = None
    """The maker's least charge, as it reads at 20 °C (gauge Pa)."""
    service_runs: Positive = None
    """So many runs after it was opened the shop opens it again; `service_laps` so many laps,
    `service_time` so long a running time (s). Whichever comes first: the shop's own figures."""
    service_laps: Positive = None
    service_time: Positive = None
    words: Words = ""


class Build(Record):
    """What is inside a damper since one strip-down; diameters in m, pressure gauge Pa."""

    IN_PARTS: ClassVar[bool] = False

    damper: Line
    """The damper's serial."""
    version: Line = Field(min_length=1)
    date: Line = ""
    entered: Line | None = None
    """The day on which the build was entered. A date that is the same is nobody's word: it only
    keeps the builds in their order."""
    piston_diameter: Positive = None
    rod_diameter: Positive = None
    stroke: Positive = None
    gas_pressure: Positive = None
    adjusters: tuple[Adjuster, ...] = ()
    shop_rules: tuple[ShopRule, ...] = ()
    oil: Line = ""
    oil_viscosity_40: Positive = None
    oil_viscosity_100: Positive = None
    """Kinematic viscosities at 40 and 100 °C (m²/s)."""
    oil_grade: Positive = None
    """ISO grade of an oil whose viscosity at 100 °C is not known: its viscosity at 40 °C (m²/s)."""
    oil_index: Positive = None
    """Its viscosity index."""
    oil_expansion: Positive = None
    """Volumetric expansion (1/K)."""
    piston: Line = ""
    bump_stack: Line = ""
    rebound_stack: Line = ""
    preload: Line = ""
    bleed: Line = ""
    needle: Line = ""
    family: Line = ""
    """A word that dampers of one model and needle share: they are sisters."""
    bump_parts: Parts | None = None
    rebound_parts: Parts | None = None
    sheet: str = ""
    """The logbook's entity of the dyno sheet that counts; empty: the newest by date."""
    work: Words = ""
    """What was done at this strip-down, and why."""

    @model_validator(mode="after")
    def _one_knob_each(self) -> Self:
        acts = [adjuster.acts_on for adjuster in self.adjusters]
        if len(set(acts)) < len(acts):
            raise ValueError("two adjusters act on the same thing")
        if "both_bleed" in acts and {"bump_bleed", "rebound_bleed"} & set(acts):
            raise ValueError("an adjuster for both directions and one for a single direction")
        if self.rod_diameter and self.piston_diameter and self.rod_diameter >= self.piston_diameter:
            rod, piston = (f"{1e3 * d:g} mm" for d in (self.rod_diameter, self.piston_diameter))
            raise ValueError(f"the rod is as thick as the piston: rod {rod}, piston {piston}")
        return self

    @property
    def date_said(self) -> str:
        """Its date, where somebody typed one."""
        return "" if self.date == self.entered else self.date

    def adjuster(self, acts_on: str) -> Adjuster | None:
        """The knob that acts on that, if the damper has one."""
        return next((a for a in self.adjusters if a.acts_on == acts_on), None)

    def bleed_adjuster(self, direction: str) -> Adjuster | None:
        """The knob that sets the bleed of that direction: its own, or the shared one."""
        return self.adjuster(f"{direction}_bleed") or self.adjuster("both_bleed")

    def discs(self, direction: str) -> tuple[tuple[float, float], ...] | None:
        """The discs of that direction's stack words; None where those cannot be read."""
        return read_discs(getattr(self, f"{direction}_stack"))

    def parts(self, direction: str) -> Parts | None:
        """The parts of that direction, if any were measured."""
        parts = getattr(self, f"{direction}_parts")
        return parts if parts != Parts() else None

    def in_order(self) -> tuple[Adjuster, ...]:
        """The knobs in the order of the run sheet."""
        order = list(ADJUSTERS)
        return tuple(sorted(self.adjusters, key=lambda a: order.index(a.acts_on)))
