"""What the setting under the cursor is worth: numbers and difference, beside the cells.

One click moves a curve by less than a dot, so the difference is drawn, not the overlay.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from rich.console import Console
from rich.text import Text
from textual.widgets import Static

from trackside.charts import Series, live
from trackside.errors import NoEstimate, TracksideError
from trackside.review.estimate import Setting, estimate_at, setting
from trackside.review.worth import ForceStep, moved, step_between
from trackside.tui.palette import styled
from trackside.units import from_si, show

if TYPE_CHECKING:
    from trackside.tui.desk import Desk


class Worth(Static):
    """The panel beside the run sheet."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__("", id=id, markup=False)

    def draw(self, desk: Desk, corner: str, direction: str) -> None:
        """Numbers at the reference speeds, the difference since the session before, the curve."""
        width, height = self.content_size.width, self.content_size.height
        if width < 20 or height < 5:
            return
        if desk.shed is None:
            self.update(Text("reading dyno sheets …"), layout=False)
            return
        try:
            text = self._panel(desk, corner, direction, width, height)
        except NoEstimate as reason:
            text = Text.assemble(
                (f"{corner} {direction}\n", "bold"), ("no estimate\n\n", "bold"), str(reason)
            )
            self.update(_folded(text, width), layout=False)
            return
        except TracksideError as error:
            self.update(Text(str(error)), layout=False)
            return
        self.update(text, layout=False)

    def _panel(self, desk: Desk, corner: str, direction: str, width: int, height: int) -> Text:
        shed, preferences = desk.shed, desk.preferences
        assert shed is not None
        now = setting(desk.session, corner, direction, shed)
        speeds = preferences.reference_speeds
        estimate = estimate_at(now, shed, speeds)
        before = _before(desk, corner, direction)
        since = _step(before, now, desk) if before is not None else None
        one = moved(now, now.adjuster, now.adjuster.step) if now.adjuster else None
        click = step_between(now, one, shed, speeds) if one is not None else None
        lines = [
            Text.assemble((f"{corner} {direction} ", "bold"), now.words),
            Text(f"{estimate.standing} · {estimate.ground}", "italic", overflow="ellipsis"),
        ]
        lines += _table(desk, estimate.force, estimate.low, estimate.high, since, click)
        left = height - len(lines)
        fine = np.linspace(0, preferences.peak_speed, 49)[1:]
        charts = []
        if left >= 24:
            charts.append(self._curve(desk, now, before, fine, width, left // 2 - 1))
            left -= left // 2
        title, difference = self._difference(desk, now, before, click, fine, width, left - 1)
        lines += [Text(title, "bold", no_wrap=True, overflow="ellipsis"), difference]
        for chart in charts:
            lines += [Text("curve at this position, 95 % band", "bold"), chart]
        return Text("\n").join(lines)

    def _curve(
        self,
        desk: Desk,
        now: Setting,
        before: Setting | None,
        speeds: np.ndarray,
        width: int,
        height: int,
    ) -> Text:
        assert desk.shed is not None
        drawn = []
        if before is not None and before != now:
            drawn.append(_series(desk, before, speeds, "before", band=False))
        drawn.append(_series(desk, now, speeds, "after", band=True))
        return styled(_live(desk, drawn, width, height), self.app.theme)

    def _difference(
        self,
        desk: Desk,
        now: Setting,
        before: Setting | None,
        click: ForceStep | None,
        speeds: np.ndarray,
        width: int,
        height: int,
    ) -> tuple[str, Text]:
        """Since the session before when something was turned, else one click harder."""
        assert desk.shed is not None
        if before is not None and before != now:
            step = step_between(before, now, desk.shed, speeds)
            title = f"since the session before, from {before.words.split(' from')[0]}"
        elif click is not None and now.adjuster is not None:
            one = moved(now, now.adjuster, now.adjuster.step)
            assert one is not None
            step = step_between(now, one, desk.shed, speeds)
            title = "one click harder would add"
        else:
            return "at full hard", Text("")
        unit = desk.preferences.unit("force")
        series = Series(
            _converted(step.speed, "speed", desk.preferences.unit("speed")),
            _converted(step.change, "force", unit),
            "after",
            low=_converted(step.low, "force", unit),
            high=_converted(step.high, "force", unit),
        )
        return title, styled(_live(desk, [series], width, height), self.app.theme)


def _folded(text: Text, width: int) -> Text:
    """Sentences folded to the panel; tables and charts are cut instead."""
    lines = [part for line in text.split("\n") for part in line.wrap(Console(width=width), width)]
    return Text("\n").join(lines)


def _before(desk: Desk, corner: str, direction: str) -> Setting | None:
    if desk.before is None or desk.shed is None:
        return None
    try:
        return setting(desk.before, corner, direction, desk.shed)
    except TracksideError:
        return None


def _step(before: Setting, now: Setting, desk: Desk) -> ForceStep | None:
    if before == now or desk.shed is None:
        return None
    return step_between(before, now, desk.shed, desk.preferences.reference_speeds)


def _converted(values: np.ndarray, quantity: str, unit: str) -> np.ndarray:
    return np.asarray(values) * (1 / from_si_factor(quantity, unit))


def from_si_factor(quantity: str, unit: str) -> float:
    """How much one of `unit` is in the base unit."""
    return 1 / from_si(1.0, quantity, unit)


def _series(desk: Desk, at: Setting, speeds: np.ndarray, role: str, band: bool) -> Series:
    assert desk.shed is not None
    found = estimate_at(at, desk.shed, speeds)
    unit = desk.preferences.unit("force")
    return Series(
        _converted(found.speed, "speed", desk.preferences.unit("speed")),
        _converted(found.force, "force", unit),
        role,
        low=_converted(found.low, "force", unit) if band else None,
        high=_converted(found.high, "force", unit) if band else None,
    )


def _live(desk: Desk, drawn: list[Series], width: int, height: int):  # type: ignore[no-untyped-def]
    return live(
        drawn,
        width,
        max(5, height),
        x_label=desk.preferences.unit("speed"),
        y_label=desk.preferences.unit("force"),
    )


def _table(
    desk: Desk,
    force: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    since: ForceStep | None,
    click: ForceStep | None,
) -> list[Text]:
    speed_unit, unit = (desk.preferences.unit(q) for q in ("speed", "force"))
    head = f"{speed_unit:>5}{unit:>6}{'±':>5}{'since':>7}{'click':>6}{'%':>5}"
    lines = [Text(head, "underline")]
    for i, speed in enumerate(desk.preferences.reference_speeds):
        cells = [
            f"{show(speed, 'speed', speed_unit):>5}",
            f"{show(force[i], 'force', unit):>6}",
            f"{show((high[i] - low[i]) / 2, 'force', unit):>5}",
            f"{_signed(since, i, unit):>7}",
            f"{_signed(click, i, unit):>6}",
            f"{click.percent[i]:>+5.0f}" if click is not None else f"{'stop':>5}",
        ]
        lines.append(Text("".join(cells).replace("-", "−")))
    return lines


def _signed(step: ForceStep | None, i: int, unit: str) -> str:
    """The change, `≈` before it when it is within the noise."""
    if step is None:
        return "–"
    value = show(step.change[i], "force", unit)
    sign = "" if value.startswith("-") else "+"
    return ("≈" if step.in_noise[i] else "") + sign + value
