"""How the workshop's figures come about: from which inputs, by which formula, and whose it is."""

from __future__ import annotations

from typing import Final

from trackside.analysis.drift import WEIGHT, WIDTH
from trackside.analysis.health_runs import TWIN_LEAST, TWIN_RUNS
from trackside.analysis.reseals import RESEALED

_GAS: Final = (
    "charge at 20 °C: nitrogen of the same volume, p = ρRT(1 + Bρ + Cρ²), B and C fitted to Span, "
    "Lemmon, Jacobsen, Wagner and Yokozeki (2000) as computed with CoolProp."
)
_PARTS: Final = (
    "crack = preload / lift per newton; opening = π·seat·lift per newton as an orifice; the ports "
    "in series; bleed and needle in parallel",
    "lift per newton: thin plates that push on each other and never pull (Roark, table 11.2; "
    "contact: derived). The method page of the handbook has the rest.",
)
TARGET: Final = (
    *_PARTS,
    "from: the parts and adjusters of the damper's present build, the discs of the box, and the "
    "forces that were typed; where that build was on a bench, its sheet too.",
)
"""Of the builds that make a wanted curve."""
FORECAST: Final = (
    "the curve of the new parts, with what the bench said of the old build put in: how far its "
    "bleed, needle, discs, ports and seals are from what its parts give, by least squares with a "
    "belief of each. Body, piston and oil stay; of discs and spacer a share is carried on.",
    *_PARTS,
    "from: the parts of both builds and the old one's dyno sheet, named under “It rests on”. Band: "
    "95 %, its width set on dampers of our own invention that were taken apart and put together "
    "again; no source outside.",
    "% = bench / forecast − 1; inside: the bench point is within the band.",
)
"""Of a planned build's forecast, and of the bench beside it."""
STRIP_DOWN: Final = (
    f"{_GAS} From the charge and the damper's temperature as typed; it becomes the build's when "
    "the step is ticked.",
    "torque, volume, level and strokes are as typed: nothing is calculated from them.",
    f"new seals without a new curve: the sheet stays, and {100 * RESEALED:.0f} % of the force is "
    "in its band as a square (our own, no source).",
)
"""Of a strip-down."""
LOOK: Final = (
    f"{_GAS} From gas and gas temperature of the run sheets, and from strip-downs.",
    "its fall: least squares, band 95 %; it falls when 99 % of the band is below zero (our own, no "
    "source).",
    "force and friction: each sheet of the build against its first one. Running average: "
    f"{WEIGHT:g} of the sheet and {1 - WEIGHT:g} of what was before (EWMA, Roberts 1959); the "
    f"limits lie {WIDTH:g} standard deviations out: from memory, not read.",
    "one sheet's force scatters as the positions of both sheets do; its friction as the fit of the "
    "sheet says, and by 2 N of the bench (our own, no source). Friction is what a fit finds in the "
    "forces at every speed alike, beside oil and gas: a gas force taken out wrongly is in it.",
    "hours and laps: what is typed at each run since the damper was opened, else its lap times. "
    "Limits: its record, the hours book, or none.",
    f"warmth: mean of body temperature less that of the other side, from {TWIN_RUNS} runs on, "
    f"beyond its 99 % band and {TWIN_LEAST:g} °C (our own, no source).",
)
"""Of what needs a look."""
