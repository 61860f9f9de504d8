"""The click map: the curve of a corner as it stands, and what a click of its knobs is worth."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rich.text import Text
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from trackside.analysis.axle import axles
from trackside.analysis.parts_beside import parts_apart
from trackside.charts import Drawing
from trackside.errors import TracksideError
from trackside.records.fields import OTHER_SIDE
from trackside.reports import formatting
from trackside.reports.axle_map import axle_drawing
from trackside.reports.axle_words import axle_lines
from trackside.reports.limits import limit_lines
from trackside.reports.origin_words import origin_words, twice_words
from trackside.tui.calculating import CornerPage
from trackside.tui.clickmap import (
    TABLE_WIDTH,
    ClickMap,
    Curves,
    Subject,
    at_the_wheel,
    chart,
    difference,
    heading,
    knobs_of,
    tables,
    warm_oil,
    work_out,
)
from trackside.tui.commands import bindings_of
from trackside.tui.palette import styled
from trackside.tui.wrapping import wrapped

LEGEND = "bands and ± 95 % · ≈ within the noise · a, b …: the knob's other positions"
AXLES_LEGEND = "secant damping over critical, wheel speeds · front: its share of heave damping"
RATIO_WIDTH = 5
"""The last column of the table, which gives way first."""
LEAST_CHART = 9
"""Below so many rows a chart tells nothing: the page scrolls instead."""


@dataclass(frozen=True)
class _Drawn:
    """A map with its chart and the lines beside it (`wide`) or below it."""

    wide: bool
    found: ClickMap
    lines: tuple[Text, ...]
    drawing: Drawing
    step: Drawing | None = None


class Clicks(CornerPage):
    """One corner, one direction."""

    PAGE = "clicks"
    BINDINGS = bindings_of("clicks")

    def __init__(self) -> None:
        super().__init__()
        self.knob = 0
        self.curves = Curves()
        self.found: ClickMap | None = None
        self.axles = False
        """Whether the whole car is shown in place of the map."""

    def body(self) -> Iterable[Widget]:
        """Chart and numbers: beside each other where there is room, else in one column."""
        with VerticalScroll(id="map", classes="fill"):
            yield Static("", id="curve", markup=False)
            yield Static("", id="numbers", markup=False)

    def on_mount(self) -> None:
        """Up and down scroll what does not fit."""
        self.query_one("#map").focus()

    def show(self) -> None:
        """Work the map out for what is in hand."""
        self.say(AXLES_LEGEND if self.axles else LEGEND)
        self._calculate()

    def _calculate(self) -> None:
        desk = self.desk
        if waiting := self.not_yet():
            self._words(waiting)
            return
        assert desk.shed is not None
        subject = Subject(
            desk.session,
            desk.before,
            self.view.corner,
            self.view.direction,
            desk.shed,
            desk.preferences,
            self.knob,
        )
        width, height = self.query_one("#curve").size.width, self.query_one("#map").size.height
        wide, curves = self.has_class("wide"), self.curves
        if width < TABLE_WIDTH // 2:
            return
        if self.axles:
            self.calculate(lambda: _whole_car(subject, width, height, wide), self._draw_axles)
            return
        self.calculate(lambda: _drawn(subject, curves, width, height, wide), self._draw)

    def _words(self, text: str) -> None:
        self.found = None
        self.query_one("#curve", Static).update(Text(text), layout=False)
        self.query_one("#numbers", Static).update("", layout=False)

    def _draw(self, answer: _Drawn | TracksideError) -> None:
        if isinstance(answer, TracksideError):
            self._words(f"{self.view.corner} {self.view.direction}: no estimate\n\n{answer}")
            return
        if answer.wide != self.has_class("wide") or self.axles:
            return
        self.found, theme = answer.found, self.app.theme
        curve = [styled(answer.drawing, theme)]
        numbers = list(answer.lines)
        if answer.step is not None:
            numbers.append(styled(answer.step, theme))
        if not answer.wide:
            curve, numbers = [numbers[0], *curve, *numbers[1:]], []
        self.query_one("#curve", Static).update(Text("\n").join(curve))
        self.query_one("#numbers", Static).update(Text("\n").join(numbers))

    def _draw_axles(self, answer: tuple[list[Text], Drawing] | TracksideError) -> None:
        if isinstance(answer, TracksideError):
            self._words(f"the whole car: no estimate\n\n{answer}")
            return
        lines, drawing = answer
        curve = styled(drawing, self.app.theme)
        if not self.has_class("wide"):
            curve, lines = Text("\n").join([curve, *lines]), []
        self.query_one("#curve", Static).update(curve)
        self.query_one("#numbers", Static).update(Text("\n").join(lines))

    # ── commands ────────────────────────────────────────────────────────────────────────────

    def action_axles(self) -> None:
        """The whole car, or the click map again."""
        self.axles = not self.axles
        self.show()

    def action_knob(self) -> None:
        """The other knob of this direction."""
        knobs = self._knobs()
        if len(knobs) < 2:
            self.say("this direction has one knob" if knobs else "no knob on record", "problem")
            return
        self.knob = (self.knob + 1) % len(knobs)
        self.say(f"the keys turn the {knobs[self.knob].words} knob")
        self._calculate()

    def _knobs(self) -> list:
        desk = self.desk
        if not desk.has_session or desk.shed is None:
            return []
        return knobs_of(desk.session, self.view.corner, self.view.direction, desk.shed)

    def action_turn(self, clicks: int, both: bool = False) -> None:
        """So many clicks harder, softer below zero; on both sides of the axle if asked."""
        knobs, desk = self._knobs(), self.desk
        if not knobs:
            self.say(
                f"{self.view.corner} has no knob on record for {self.view.direction}", "problem"
            )
            return
        knob = knobs[self.knob % len(knobs)]
        corners = [self.view.corner, OTHER_SIDE[self.view.corner]] if both else [self.view.corner]
        paths = [f"{corner}.{knob.acts_on}" for corner in corners]
        troubles = desk.turn(paths, clicks)
        told = [
            f"{path[:2]} {knob.words} {self._count(path)}" for path in paths if path not in troubles
        ]
        self.say(" · ".join([*troubles.values(), *told]), "problem" if troubles else "")
        self._calculate()

    def _count(self, path: str) -> str:
        value = self.desk.session.si(path)
        corner, _, name = path.partition(".")
        build = self.desk.shed.build_at(self.desk.session, corner) if self.desk.shed else None
        knob = build.adjuster(name) if build else None
        if value is None or knob is None:
            return "unknown"
        return f"{value:g} of {knob.clicks} from full {knob.counted_from}"


def _whole_car(subject: Subject, width: int, height: int, wide: bool) -> tuple[list[Text], Drawing]:
    """Front against rear in lines and drawn, as `_drawn` lays out a corner."""
    session, shed, preferences = subject.session, subject.shed, subject.preferences
    room = TABLE_WIDTH if wide else width
    told = axle_lines(axles(session, shed, preferences.reference_speeds), preferences)
    lines = [part for line in told for part in wrapped(Text(line), room)]
    high = height if wide else max(LEAST_CHART, height - len(lines))
    return lines, axle_drawing(session, shed, width, high, preferences)


def _drawn(subject: Subject, curves: Curves, width: int, height: int, wide: bool) -> _Drawn:
    """The map and its chart, for a first column of that size; `wide` has a second one."""
    found = work_out(subject)
    room = TABLE_WIDTH if wide else width
    prose = [
        *at_the_wheel(found, every=wide),
        *warm_oil(found),
        *limit_lines(found.estimate, subject.session, subject.shed, subject.preferences),
        f"{formatting.BASIS_WORDS[found.estimate.basis]} · {origin_words(found.estimate.origin)}",
    ]
    rows = tables(found, every=wide)
    for row in rows:
        if room < TABLE_WIDTH == row.cell_len:
            row.truncate(TABLE_WIDTH - RATIO_WIDTH)
    build = found.at.build
    undecided = subject.shed.is_undecided(build)
    told = [Text(f"! {twice_words(build.version)}", "bold")] if undecided else []
    apart = parts_apart(found.at, subject.shed, subject.preferences.reference_speeds)
    told += (
        [Text(f"! {formatting.parts_apart_words(apart, subject.preferences)}", "bold")]
        if apart
        else []
    )
    lines = [heading(found), *told, *rows]
    lines = [part for line in lines for part in wrapped(line, room)]
    lines += [part for text in prose for part in wrapped(Text(text, "italic"), room)]
    if not wide:
        return _Drawn(
            wide,
            found,
            tuple(lines),
            chart(found, curves, width, max(LEAST_CHART, height - len(lines))),
        )
    left = height - len(lines) - 2
    step = difference(found, room, min(left, 16)) if left >= 8 else None
    if step is not None:
        title, drawing = step
        lines += [Text(), Text(title, "bold")]
        return _Drawn(wide, found, tuple(lines), chart(found, curves, width, height), drawing)
    return _Drawn(wide, found, tuple(lines), chart(found, curves, width, height))
