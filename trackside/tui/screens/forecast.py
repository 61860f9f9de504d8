"""What a planned build is forecast to make, and how the bench answered; read over its job."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Final

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from trackside.errors import TracksideError
from trackside.tui.commands import READING_ONLY
from trackside.tui.widgets.box import Box

if TYPE_CHECKING:
    from trackside.crew.forecasts import Outlook
    from trackside.crew.strip_downs import StripDownJob
    from trackside.logbook import Write

KEYS: Final = "k keep it · = how it is calculated · Space more · Esc back"
READING: Final = "= how it is calculated · Space more · Esc back"
WAITING: Final = "Calculating …"


class ForecastPage(Box[None]):
    """Calculated beside the thread that draws; `k` keeps it as it is now."""

    BINDINGS = [
        ("k", "keep", "Keep"),
        ("equals_sign", "formula", "Formula"),
        ("escape,f", "leave", "Back"),
        ("space,pagedown", "more", "More"),
    ]

    def __init__(self, job: StripDownJob) -> None:
        super().__init__()
        self.job = job
        self.shown: Outlook | None = None
        self._text, self._explains = Text(WAITING), False

    @property
    def coming(self) -> bool:
        """Whether keys have to wait: something is being calculated."""
        return self.shown is None

    def compose(self) -> ComposeResult:
        """Heading, the tables, news, keys."""
        yield Static("", id="heading", markup=False)
        with VerticalScroll(id="job-whole"):
            yield Static(WAITING, id="job-told", markup=False)
        yield Static("", id="job-said", markup=False)
        yield Static("", id="job-keys", markup=False)

    def on_mount(self) -> None:
        """The tables come when they are calculated."""
        heading = Text.assemble((" FORECAST ", "reverse bold"), f" {self.job.record.damper}")
        self.query_one("#heading", Static).update(heading)
        keys = READING if self.desk.logbook.read_only else KEYS
        self.query_one("#job-keys", Static).update(keys)
        self.query_one("#job-whole").focus()
        self.run_worker(self._read())

    async def _read(self, said: str = "") -> None:
        from trackside.crew.forecasts import outlook
        from trackside.reports.forecast_words import outlook_lines

        desk = self.desk
        text = Text()
        try:
            speeds = desk.preferences.reference_speeds
            self.shown = await asyncio.to_thread(outlook, desk.logbook, self.job, speeds)
        except TracksideError as error:
            text.append(str(error), "bold")
        else:
            for style, line in outlook_lines(self.shown, desk.preferences):
                text.append(f"{line}\n", style)
        self._text, self._explains = text, False
        self.query_one("#job-told", Static).update(text)
        self.query_one("#job-said", Static).update(said)

    def action_keep(self) -> None:
        """Keep it as it is now."""
        if self.desk.logbook.read_only:
            self.query_one("#job-said", Static).update(Text(READING_ONLY, "bold"))
        elif not self.coming:
            self.shown = None
            self.run_worker(self._keep())

    async def _keep(self) -> None:
        desk = self.desk
        try:
            write = await asyncio.to_thread(self._wanted)
            if write:
                await asyncio.to_thread(desk.write, write)
            said = "kept: the bench run is compared with it" if write else "it is kept already"
        except TracksideError as error:
            said = f"not kept: {error}"
        await self._read(said)

    def _wanted(self) -> Write | None:
        from trackside.crew.forecasts import kept_forecast

        speeds = self.desk.preferences.reference_speeds
        return kept_forecast(self.desk.logbook, self.job, speeds)

    def action_formula(self) -> None:
        """How the figures are calculated; pressed again, the figures."""
        from trackside.reports.formulas import FORECAST

        self._explains = not self._explains
        told = Text("\n".join(FORECAST)) if self._explains else self._text
        self.query_one("#job-told", Static).update(told)
        self.query_one("#job-whole", VerticalScroll).scroll_home(animate=False)

    def action_more(self) -> None:
        """Further down."""
        self.query_one("#job-whole", VerticalScroll).scroll_page_down(animate=False)

    def action_leave(self) -> None:
        """Back to the job."""
        self.dismiss(None)
