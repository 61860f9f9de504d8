"""From a wanted curve to the build: asked in the shed, searched in a thread, planned with Enter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from rich.text import Text
from textual.message import Message

from trackside.errors import BadInput, TracksideError
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import key_of
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.list_box import ListBox
from trackside.units import one_line, read_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trackside.analysis.shed import Shed
    from trackside.analysis.valve_answer import Answer, SearchResult
    from trackside.analysis.valve_search import Asked
    from trackside.analysis.valve_target import Target
    from trackside.logbook import Write
    from trackside.tui.page import Page

KEYS: Final = "Enter plan it · = how it is calculated · Space more · Esc back"
AT_WORK: Final = "Esc stops, and shows what there is so far"
ANY, MIDDLE = "any", "middle half"
"""Where the adjuster may be."""
HELP: Final = (
    ("Enter", "plan a strip-down of the build under the cursor"),
    ("f =", "how the figures are calculated, from what, and by which source"),
    ("Space", "further down in all that is known of the build under the cursor"),
    ("Esc", "stop the search; then back to the shed"),
    ("", "A build marked ! does not meet the target. The fewest discs changed come first."),
)


@dataclass
class Progressed(Message):
    """So much of the search is done, as a share."""

    share: float


@dataclass
class Searched(Message):
    """What the search gave, or why it could not be made."""

    found: SearchResult | TracksideError


class TargetAnswers(ListBox[str]):
    """The builds that make a curve, the one under the cursor whole beneath. Gives what was
    planned; empty where nothing was."""

    BINDINGS = [
        ("f,equals_sign", "formula", "Formula"),
        ("question_mark,f3", "help", "Help"),
        ("escape", "leave", "Back"),
        ("space,pagedown", "more", "More"),
    ]

    def __init__(
        self, serial: str, wanted: str, targets: Sequence[Target], shed: Shed, asked: Asked
    ) -> None:
        super().__init__(self._row, ("Wanted curve", HELP), " searching …")
        self.serial, self.wanted = serial, wanted
        self.targets, self.shed, self.asked = targets, shed, asked
        self.found: SearchResult | None = None
        self.stop = False

    def formula(self) -> Sequence[str]:
        """How the figures are calculated."""
        from trackside.reports.formulas import TARGET

        return TARGET

    def on_mount(self) -> None:
        """The search begins; the list has the keys."""
        super().on_mount()
        self.head("WANTED CURVE", self.serial)
        self.show_whole(self._asked_for(), AT_WORK)
        self.run_worker(self._search, thread=True, group="target")

    def _asked_for(self) -> list[tuple[str, str]]:
        from trackside.reports.target_words import MID_RANGE, target_lines

        preferences = self.desk.preferences
        lines = [line for one in self.targets for line in target_lines(one, preferences)]
        return [("", line) for line in (*lines, *([MID_RANGE] if self.asked.mid_range else ()))]

    def _search(self) -> None:
        from trackside.analysis.valve_search import search
        from trackside.analysis.valve_stock import Stock
        from trackside.crew.disc_box import DiscBox

        def progress(share: float) -> bool:
            self.post_message(Progressed(share))
            return not self.stop

        try:
            stock = Stock.of(part.record for part in DiscBox(self.desk.logbook).all())
            found = search(self.targets, self.shed, stock, self.asked, progress)
        except TracksideError as error:
            self.post_message(Searched(error))
        else:
            self.post_message(Searched(found))

    def on_progressed(self, message: Progressed) -> None:
        """How far it is."""
        if self.found is None:
            self.news(f"{100 * message.share:.0f} % of the stacks tried")

    def on_searched(self, message: Searched) -> None:
        """The answers, or why there are none."""
        from trackside.reports.target_words import result_lines

        if isinstance(message.found, TracksideError):
            self.ledger.empty = " no search"
            self.ledger.fill(0)
            self.show_whole(self._asked_for(), KEYS)
            self.news(str(message.found), error=True)
            return
        self.found = message.found
        lines = list(result_lines(self.found, self.desk.preferences))
        self.ledger.empty = f" {lines[-1]}"
        self.ledger.fill(len(self.found.answers), 0)
        self._about()
        self.news(lines[min(2, len(lines) - 1)])

    def _row(self, index: int) -> Text:
        from trackside.reports.target_words import answer_row

        if self.found is None:
            return Text("")
        row = answer_row(index + 1, self.found.answers[index], self.desk.preferences)
        number, discs, others, clicks, off, build = row
        told = f" {number:<5}{discs} disc{' ' if discs == '1' else 's'} {others} other  "
        return Text(f"{told}{clicks:>10}  {off:<21} {build}", no_wrap=True, overflow="ellipsis")

    @property
    def under_cursor(self) -> Answer | None:
        """The answer that keys act on."""
        answers = self.found.answers if self.found else ()
        at = self.ledger.cursor
        return answers[at] if at < len(answers) else None

    def _about(self) -> None:
        from trackside.reports.target_words import answer_lines, left_out_words, result_lines

        answer, preferences = self.under_cursor, self.desk.preferences
        if answer is None or self.found is None:
            self.show_whole(self._asked_for(), KEYS)
            return
        lines = list(result_lines(self.found, preferences))
        told = [("bold", line) for line in lines[3:]]  # what part would do
        told += [*answer_lines(answer, preferences), ("", ""), *self._asked_for()]
        told += [("", line) for line in (*lines[:3], left_out_words(self.found)) if line]
        self.show_whole(told, KEYS)

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another one."""
        self._about()

    def on_ledger_chosen(self) -> None:
        """Plan a strip-down of it."""
        from trackside.crew.planned_valve import planned_valve
        from trackside.crew.strip_downs import StripDowns
        from trackside.reports.target_words import goes_in_words, planned_words

        answer = self.under_cursor
        if answer is None or self._keeping or self.refuses():
            return
        try:
            jobs = StripDowns(self.desk.logbook)
            needs = goes_in_words(answer)
            write = planned_valve(jobs, self.serial, answer, self.wanted, needs)
        except TracksideError as error:
            self.news(f"not planned: {error}", error=True)
            return
        self._keeping = True
        self.run_worker(
            self._keep(write, f"{planned_words(answer)}; {key_of('new_build')} opens it")
        )

    async def _keep(self, write: Write, told: str) -> None:
        if error := await self.write((write,)):
            self.news(f"not planned: {error}", error=True)
        else:
            self.dismiss(told)

    def action_leave(self) -> None:
        """Stop the search; then back to the page."""
        if self.found is None and not self.stop:
            self.stop = True
            return
        self.dismiss("")


def ask_mid_range(page: Page, serial: str) -> None:
    """Ask for the curve that would put an adjuster mid-range that lives at an end; a sentence where
    none does."""
    from trackside.crew.wanted_curve import wishes_mid_range
    from trackside.reports.target_words import wishes_text

    desk, shed = page.desk, page.desk.shed
    if shed is None:
        page.say("the damper shed is still being read: press it again in a moment")
        return
    preferences = desk.preferences
    try:
        wishes = wishes_mid_range(desk.logbook, shed, serial, preferences.reference_speeds)
    except TracksideError as error:
        page.say(str(error), "problem")
    else:
        ask_target(page, serial, wishes_text(wishes, preferences), MIDDLE)


def ask_target(page: Page, serial: str, wanted: str = "", clicks: str = "") -> None:
    """Ask for the curve that is wanted of that damper, and search for its builds; `wanted` and
    `clicks` are in the form already."""
    from trackside.crew.wanted_curve import HOW

    def keep(answers: Answers) -> Keeping:
        if not answers["wanted"].strip() and not answers["like"].strip():
            return Keeping()
        box = _asked(page, serial, answers)
        return Keeping(then=lambda: page.app.push_screen(box, left))

    def left(said: str | None) -> None:
        if said:
            page.announce(said)

    questions = (
        Question("wanted", "Wanted", wanted, hint="rebound 25 same, 100 +5 %, 300 +15 %"),
        Question("like", "Or like", hint="another damper: its serial, or SERIAL@clicks"),
        Question("discs", "Discs", hint="changed at most; empty: 2"),
        Question("within", "Within %", hint="of each force; empty: 3"),
        Question("clicks", "Clicks", clicks, choices=(ANY, MIDDLE)),
    )
    form = f"Wanted curve of {serial}{', mid-range' if clicks else ''}"
    put_questions(page, form, questions, keep, page.announce, f"{HOW[0].upper()}{HOW[1:]}")


def _asked(page: Page, serial: str, answers: Answers) -> TargetAnswers:
    """The search that these answers ask for. BadInput says what cannot be read."""
    from trackside.analysis.valve_search import CHANGED, MET, Asked
    from trackside.crew.wanted_curve import read_wishes, wished_of, wishes_like

    desk, shed = page.desk, page.desk.shed
    if shed is None:
        raise BadInput("the damper shed is still being read", "try again in a moment")
    wanted, like = answers["wanted"].strip(), answers["like"].strip()
    if wanted and like:
        raise BadInput("a curve is typed and a damper is named", "empty one of them")
    discs, within = (answers[name].strip() for name in ("discs", "within"))
    most = read_number(discs) if discs else CHANGED
    if not 0 <= most <= 8 or most != int(most):
        raise BadInput(f"“{one_line(discs)}” discs cannot be", "give 0 to 8")
    near = read_number(within.removesuffix("%")) / 100.0 if within else MET
    if not 0.0 < near < 1.0:
        raise BadInput(f"“{one_line(within)}” is no share", "give per cent, as in 3")
    clicks = answers["clicks"].strip().casefold()
    if clicks not in ("", ANY, MIDDLE):
        raise BadInput(f"“{one_line(clicks)}” clicks cannot be", f"give {ANY} or {MIDDLE}")
    if like:
        wishes = wishes_like(desk.logbook, shed, like, None, desk.preferences)
    else:
        wishes = read_wishes(wanted, desk.preferences)
    targets = wished_of(desk.logbook, shed, serial, wishes, desk.preferences)
    asking = Asked(int(most), near, mid_range=clicks == MIDDLE)
    return TargetAnswers(serial, wanted or like, targets, shed, asking)
