"""What the setting under the cursor is worth: numbers and difference, beside the cells.

One click moves a curve by less than a dot, so the difference is drawn, not the overlay.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text
from textual.message import Message
from textual.widgets import Static

from trackside.analysis.debrief import is_large
from trackside.analysis.estimate import Floats
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.panel_data import PanelData, panel_data, speeds_for
from trackside.analysis.swaps import is_swapped
from trackside.analysis.worth import ForceStep
from trackside.charts import INKS, Series, live
from trackside.damper.clicks import acts_on
from trackside.errors import NoEstimate, TracksideError
from trackside.records import same
from trackside.records.fields import ADJUSTERS
from trackside.reports.formatting import plus_minus
from trackside.reports.origin_words import origin_words, setting_words
from trackside.tui.palette import styled
from trackside.tui.run_picture import laps, laps_told, treads
from trackside.units import from_si, show

if TYPE_CHECKING:
    from trackside.crew.workspace import Workspace

LEAST_CHART = 6
"""Rows of a chart with its title."""


class Worth(Static):
    """The panel beside the run sheet."""

    class RoomChanged(Message):
        """It came up, or is wider or higher than it was: what it holds was drawn for another."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__("", id=id, markup=False)
        self._known: EstimateCache | None = None

    @property
    def has_room(self) -> bool:
        """Whether the panel is on the page at all."""
        return self.content_size.width >= 20 and self.content_size.height >= 5

    def on_resize(self) -> None:
        """Hidden, it has no room to be drawn for."""
        self.post_message(self.RoomChanged())

    def draw(self, desk: Workspace, corner: str, direction: str, caution: str = "") -> None:
        """Numbers at the reference speeds, the difference since the session before, the curve;
        before the curves `caution`, which takes their room where it must."""
        width, height = self.content_size.width, self.content_size.height
        if not self.has_room:
            return
        style = f"bold {self.app.theme_variables.get('warning', '')}"
        folded = _folded(Text(caution, style), width)
        warned = list(folded.split("\n")) if caution else []
        if desk.shed is None:
            self.update(Text("\n").join([Text("reading dyno sheets …"), *warned]), layout=False)
            return
        preferences = desk.preferences
        if self._known is None or self._known.shed is not desk.shed:
            speeds = speeds_for(preferences.reference_speeds, preferences.peak_speed)
            self._known = EstimateCache(desk.shed, speeds)
        try:
            found = panel_data(
                desk.session,
                desk.before,
                corner,
                direction,
                self._known,
                len(preferences.reference_speeds),
            )
            text = self._panel(desk, found, width, height, warned)
        except NoEstimate as reason:
            warned = [*_all_folded(care(desk, corner, direction), width), *warned]
            why = Text.assemble((f"{corner} {direction}\nno estimate\n\n", "bold"), str(reason))
            text = Text("\n").join([_folded(why, width), *warned])
        except TracksideError as error:
            text = Text("\n").join([_folded(Text(str(error)), width), *warned])
        self.update(text, layout=False)

    def draw_run(self, desk: Workspace) -> None:
        """In place of the force, where tyres are read: treads as on the car, and the laps."""
        width, height = self.content_size.width, self.content_size.height
        if not self.has_room:
            return
        session, preferences = desk.session, desk.preferences
        tyres = styled(treads(session, preferences, width), self.app.theme)
        told = _folded(laps_told(session), width)
        lines = [*tyres.split("\n"), Text(), *told.split("\n")]
        chart = laps(session, width, height - len(lines), preferences)
        if chart is not None:
            lines.append(styled(chart, self.app.theme))
        self.update(Text("\n").join(lines), layout=False)

    def _panel(
        self, desk: Workspace, found: PanelData, width: int, height: int, warned: list[Text]
    ) -> Text:
        at, estimate = found.at, found.estimate
        ground = f"{estimate.basis} · {origin_words(estimate.origin).removeprefix('sheet ')}"
        if cell_len(ground) > width:
            ground = ground.replace("; ", "\n")
        told = Text.assemble(
            (f"{at.corner} {at.direction} ", "bold"), setting_words(at), "\n", (ground, "italic")
        )
        lines = [*_folded(told, width).split("\n"), *_table(desk, found), *warned]
        left = height - len(lines)
        if warned and left < LEAST_CHART:
            return Text("\n").join(lines)
        if left < 24:
            return Text("\n").join([*lines, *self._difference(desk, found, width, left)])
        lines += self._difference(desk, found, width, left - left // 2)
        return Text("\n").join([*lines, *self._curve(desk, found, width, left // 2)])

    def _difference(self, desk: Workspace, found: PanelData, width: int, height: int) -> list[Text]:
        """Since the session before when something was turned, else one click harder."""
        titles = []
        if found.since is not None:
            step = found.since
            titles = ["change since the session before"]
        elif found.click is not None:
            step, titles = found.click, [f"one {_step_word(found)} harder would add"]
        else:
            titles = [*care(desk, found.at.corner, found.at.direction), _no_step(found)]
            return _all_folded(titles, width, "bold")
        titles = [*care(desk, found.at.corner, found.at.direction, found.since), *titles]
        head = _all_folded(titles, width, "bold")
        series = _series(desk, step.speed, step.change, step.low, step.high, found.reference)
        chart = self._chart(desk, [series], width, height - len(head), "{after} as in the table")
        return [*head, chart]

    def _curve(self, desk: Workspace, found: PanelData, width: int, height: int) -> list[Text]:
        now, was = found.estimate, found.before
        drawn = [_series(desk, now.speed, now.force, now.low, now.high, found.reference)]
        if was is not None:
            drawn.insert(
                0, _series(desk, was.speed, was.force, None, None, found.reference, "before")
            )
        title = Text("curve at this position, 95 % band", "bold")
        key = "{after} as in the table" + ("" if was is None else ", {before} the session before")
        return [title, self._chart(desk, drawn, width, height - 1, key)]

    def _chart(
        self, desk: Workspace, series: list[Series], width: int, height: int, key: str
    ) -> Text:
        """The chart; `key` says beside the unit what the markers are, each by its role."""
        speed, force = (desk.preferences.unit(quantity) for quantity in ("speed", "force"))
        ink = desk.preferences.ink
        signs = {one.role: one.glyph(INKS[ink].plain_marks) for one in series}
        drawing = live(
            series,
            width,
            max(5, height),
            x_label=speed,
            y_label=f"{force}   {key.format(**signs)}",
            ink=ink,
        )
        return styled(drawing, self.app.theme)


def care(desk: Workspace, corner: str, direction: str, step: ForceStep | None = None) -> list[str]:
    """Why that corner asks for a cautious out-lap, in a line; none without a reason. `step` is the
    change in force since the session before, as far as it is known."""
    before, session, shed = desk.before, desk.session, desk.shed
    if before is None or shed is None:
        return []
    if step is not None and is_large(step):
        return ["! large step: cautious out-lap"]
    if is_swapped(before, session, corner, shed):
        return ["! damper changed: cautious out-lap"]
    turned = any(
        not same(before.value(path), session.value(path), "clicks")
        for name in ADJUSTERS
        if acts_on(name, direction) and (path := f"{corner}.{name}")
    )
    return ["! unknown change: cautious out-lap"] if step is None and turned else []


def _step_word(found: PanelData) -> str:
    """What one press of the key for harder turns: a click, unless the knob steps otherwise."""
    adjuster = found.at.adjuster
    return "click" if adjuster is None or adjuster.step == 1 else "step"


def _no_step(found: PanelData) -> str:
    if found.at.adjuster is None:
        return "no adjuster on record"
    return found.no_since or found.no_click or "at full hard: no step harder"


def _folded(text: Text, width: int) -> Text:
    """Sentences folded to the panel; tables and charts are cut instead."""
    if all(cell_len(line) <= width for line in text.plain.split("\n")):
        return text
    console = Console(width=width)
    return Text("\n").join(
        [part for line in text.split("\n") for part in line.wrap(console, width)]
    )


def _all_folded(sentences: list[str], width: int, style: str = "") -> list[Text]:
    """The lines of sentences, none of them wider than the panel."""
    return [line for words in sentences for line in _folded(Text(words, style), width).split("\n")]


def _series(
    desk: Workspace,
    speed: Floats,
    force: Floats,
    low: Floats | None,
    high: Floats | None,
    first: int,
    role: str = "after",
) -> Series:
    """The drawn part of a curve, in the crew's units; marked at the speeds of the table."""
    per_speed, per_force = (
        1 / from_si(1.0, quantity, desk.preferences.unit(quantity))
        for quantity in ("speed", "force")
    )
    order = speed.argsort(kind="stable")
    order = order[speed[order] <= speed[first:].max()]
    band = [None if edge is None else edge[order] / per_force for edge in (low, high)]
    return Series(
        speed[order] / per_speed,
        force[order] / per_force,
        role,
        low=band[0],
        high=band[1],
        marked=speed[:first] / per_speed,
    )


def _table(desk: Workspace, found: PanelData) -> list[Text]:
    speed_unit, unit = (desk.preferences.unit(q) for q in ("speed", "force"))
    estimate, click = found.estimate, found.click
    lines = [
        Text(f"{'since session':>23}{f'one {_step_word(found)}':>11}"),
        Text(f"{speed_unit:>5}{unit:>6}{'±':>5}{'before':>7}{'harder':>11}", "underline"),
    ]
    for i, speed in enumerate(desk.preferences.reference_speeds):
        force, low, high = (float(e[i]) for e in (estimate.force, estimate.low, estimate.high))
        percent = f"{click.percent[i]:+.0f}%" if click is not None else "–"
        cells = (
            f"{show(speed, 'speed', speed_unit):>5}",
            f"{show(estimate.force[i], 'force', unit):>6}",
            f"{plus_minus(force, low, high, desk.preferences):>5}",
            f"{_signed(found.since, i, unit):>7}",
            f"{_signed(click, i, unit):>6}",
            f"{percent:>5}",
        )
        lines.append(Text("".join(cells).replace("-", "−")))
    return lines


def _signed(step: ForceStep | None, i: int, unit: str) -> str:
    """The change, `≈` before it when it is within the noise."""
    if step is None:
        return "–"
    value = show(step.change[i], "force", unit)
    sign = "" if value.startswith("-") else "+"
    return ("≈" if step.in_noise[i] else "") + sign + value
