"""What the cells of a run sheet show, and what is said of the one under the cursor."""

from __future__ import annotations

from collections.abc import Callable

from trackside.analysis import air
from trackside.analysis.fitted_elsewhere import OtherCar, fitted_elsewhere
from trackside.analysis.gas_loss import charge_before, lost_charge
from trackside.analysis.tyre_sets import SetUse, age_contradicted, set_before
from trackside.analysis.weather import READ, WeatherRead, nearest_to_run
from trackside.crew.belonging import BELONGS
from trackside.crew.workspace import Workspace
from trackside.errors import TracksideError
from trackside.records import Adjuster
from trackside.records.fields import ADJUSTERS, field_of
from trackside.reports import cell_help
from trackside.reports.air_words import cold_words, density_words
from trackside.reports.fuel_words import fuel_words
from trackside.reports.gas_words import missing_words
from trackside.reports.lap_words import best_words, count_words
from trackside.reports.last_read_words import last_read_words
from trackside.reports.mark_words import problem_at
from trackside.reports.time_table import slot_said_of
from trackside.reports.tyre_words import age_from_runs, age_words, used_words
from trackside.reports.weather_words import value_at
from trackside.tui.widgets.cells import Shown, half_said

NO_FIELD = ("lap_times", *BELONGS)
"""Values of a session that are no field of it: a list, and what it belongs to."""


class SheetCells:
    """The values of the current session, as cells show them and the line below says them."""

    def __init__(self, desk: Callable[[], Workspace]) -> None:
        self._desk = desk
        self.unknown: dict[tuple[str, str], tuple[str, str]] = {}
        """What was typed for an event or a car that is not there, and the sentence about it."""
        self._asked: tuple[object, ...] = ()
        self._used: SetUse | None = None
        self._looked_out: tuple[object, ...] = ()
        self._weather: WeatherRead | None = None
        self._looked_round: tuple[object, ...] = ()
        self._elsewhere: dict[str, OtherCar] = {}

    @property
    def desk(self) -> Workspace:
        """The open logbook and the current session."""
        return self._desk()

    def shown(self, path: str) -> Shown:
        """What stands in the cell, its mark, and what is quiet beside it."""
        desk = self.desk
        if (desk.entity, path) in self.unknown:
            return Shown(self.unknown[desk.entity, path][0], "•")
        text = desk.text.shown(desk.session, path)
        last = self._beside(path, text)
        if path in desk.half_typed:
            return Shown(text, "…", (), desk.half_typed[path])
        if not desk.is_kept(path):
            return Shown(text, "•", last)
        if path in desk.disputes.places.get(desk.entity, ()):
            return Shown(text, "≠", last)
        return Shown(text, "!" if text and self.problem(path) else "", last)

    def _beside(self, path: str, text: str) -> tuple[str, ...]:
        """What was read before, with its day, beside a reading that nobody made yet; what was set
        in the session before, beside a setting that was changed since. An empty setting has nothing
        beside it that could look set."""
        desk = self.desk
        if not text:
            if is_set(path):
                return ()
            return self._from_laps(path) or self._of_the_day(path) or self.last_read(path)
        before = desk.text.shown(desk.before, path) if desk.before and path not in BELONGS else ""
        if not is_set(path) or before in ("", text):
            return ()
        return (f"was {before}",)

    def _from_laps(self, path: str) -> tuple[str, ...]:
        """What the lap times give where nobody typed a best lap, or a number of laps."""
        if path == "start" and self.desk.session.opened == self.desk.session.start:
            words = f"opened {self.desk.session.start}"
            return (words, f"opened {words[-5:]}")
        if path == "tyre_age":
            words = age_from_runs(used) if (used := self.set_used()) else ""
            return (words, words.partition(" (")[0]) if words else ()
        given = {"best_lap": best_words, "laps": count_words}.get(path)
        words = given(self.desk.session) if given else ""
        return (words, words.partition(" (")[0]) if words else ()

    def _of_the_day(self, path: str) -> tuple[str, ...]:
        """What the reading of the weather that is nearest to the start has there, with its time."""
        if path not in READ:
            return ()
        desk = self.desk
        session = desk.session
        asked = (desk.last_readings, desk.entity, session.event, session.start)
        if asked != self._looked_out:
            self._looked_out = asked
            self._weather = nearest_to_run(desk.logbook, desk.entity, session)
        words = value_at(self._weather, path, desk.preferences) if self._weather else ""
        return (f"read {words}", words) if words else ()

    def set_used(self) -> SetUse | None:
        """The tyre set of the current session, as it was before the run; looked up once."""
        desk = self.desk
        session = desk.session
        asked = (desk.last_readings, desk.entity, session.car, session.tyre_set, session.start)
        if asked != self._asked:
            self._asked, self._used = asked, set_before(desk.logbook, desk.entity, session)
        return self._used

    def _rear_used(self) -> SetUse | None:
        """The same of the rear axle's, where it is another."""
        desk = self.desk
        return set_before(desk.logbook, desk.entity, desk.session, rear=True)

    def last_read(self, path: str) -> tuple[str, ...]:
        """What was last read there, in words that get shorter; empty where nobody read it."""
        desk, found = self.desk, self.desk.last_read(path)
        if found is None:
            return ()
        words = last_read_words(*found, field_of(path), desk.preferences, desk.session.start)
        return tuple(words)

    def problem(self, path: str) -> str:
        """Why the value there cannot be right, or what it gives away; empty when nothing."""
        desk = self.desk
        if desk.shed is None or path in BELONGS or path.startswith("items."):
            return ""
        corner, _, name = path.partition(".")
        try:
            elsewhere = self.elsewhere() if name == "damper" else None
            problem = problem_at(path, desk.session, desk.shed, desk.preferences, elsewhere)
            if problem or name != "gas_pressure":
                return problem
            before = charge_before(desk.last_readings, desk.entity, desk.session, corner)
            lost = lost_charge(before, desk.session, corner)
            return missing_words(lost, desk.preferences) if lost else ""
        except TracksideError as error:
            return str(error)

    def elsewhere(self) -> dict[str, OtherCar]:
        """The dampers of the other cars in the session of the run in hand; looked up once."""
        desk, session = self.desk, self.desk.session
        asked = (
            *(desk.last_readings, desk.entity, session.car, session.event, session.start),
            *(session.kind, session.number),
        )
        if asked != self._looked_round and desk.is_settled:
            self._looked_round = asked
            self._elsewhere = fitted_elsewhere(desk.logbook, desk.entity)
        return self._elsewhere

    def clash(self, path: str, word: str) -> str:
        """That the damper which is about to be picked is at another corner, or on another car."""
        desk = self.desk
        if not path.endswith(".damper") or desk.shed is None or desk.shed.damper(word) is None:
            return ""
        picked = desk.session.with_value(path, word)
        return problem_at(path, picked, desk.shed, desk.preferences, self.elsewhere())

    def by_the_air(self, path: str) -> str:
        """What the day's air makes of that value: how dense it is, what to set cold."""
        desk, (corner, _, name) = self.desk, path.partition(".")
        if name == "cold_pressure":
            found = air.cold_as_before(desk.before, desk.session, corner)
            return cold_words(found, desk.preferences) if found else ""
        density = air.density(desk.session) if path == "air_pressure" else None
        return "" if density is None else density_words(density)

    def in_time_table(self, path: str) -> str:
        """From when to when the session is on, and what is on beside it, where its start or its
        length is told."""
        desk = self.desk
        if path not in ("start", "duration") or not desk.is_kept(path):
            return ""
        return slot_said_of(desk.logbook, desk.line())

    def adjuster(self, path: str) -> Adjuster | None:
        """The knob whose position stands there."""
        corner, _, name = path.partition(".")
        if self.desk.shed is None or name not in ADJUSTERS:
            return None
        build = self.desk.shed.build_at(self.desk.session, corner)
        return build.adjuster(name) if build else None

    # ── the line below the cells ────────────────────────────────────────────────────────────

    def waits(self, path: str) -> str:
        """What was typed there and waits for a person: for something that is not there, or half
        typed; empty where nothing does."""
        desk = self.desk
        if (desk.entity, path) in self.unknown:
            return self.unknown[desk.entity, path][1]
        return half_said(desk.half_typed[path]) if path in desk.half_typed else ""

    def is_plain(self, path: str) -> bool:
        """Whether the value has no field that says more of it."""
        return path in NO_FIELD or path.startswith("items.")

    def place(self, path: str) -> str:
        """What is in the cell: corner and label."""
        if self.is_plain(path):
            return path.removeprefix("items.").replace("_", " ")
        corner, _, name = path.partition(".")
        label = field_of(path).label
        return f"{corner} {label}" if name else label

    def text(self, path: str) -> str:
        """The value as the cell shows it."""
        return self.desk.text.shown(self.desk.session, path)

    def last(self, path: str) -> tuple[str, ...]:
        """What the lap times give, or what was read there last, where the cell is empty."""
        if self.text(path):
            return ()
        return self._from_laps(path) or self._of_the_day(path) or self.last_read(path)

    def meaning(self, path: str, typing: str | None) -> str:
        """What the value, or what is being typed, means."""
        preferences, adjuster = self.desk.preferences, self.adjuster(path)
        if typing is not None:
            return cell_help.of_text(typing, path, preferences, adjuster)
        value = self.desk.session.value(path) if path != "start" else self.text(path)
        said = cell_help.of_value(value, path, adjuster, preferences)
        return " · ".join(part for part in (said, self._worked_out(path)) if part)

    def _worked_out(self, path: str) -> str:
        """What the readings beside that one, and the runs before, come to."""
        session = self.desk.session
        if path == "fuel_end":
            return fuel_words(session, self.desk.preferences)
        if path == "rear_set" and (used := self._rear_used()):
            return f"{used_words(used)} before this run"
        if path == "tyre_set" and (used := self.set_used()):
            return f"{used_words(used)} before this run"
        if path == "tyre_age" and session.tyre_age and (used := self.set_used()):
            laps = age_contradicted(used, session)
            return "" if laps is None else age_words(session.tyre_age.typed, laps)
        return ""

    def hint(self, path: str) -> str:
        """What belongs in an empty cell."""
        return "" if self.text(path) else field_of(path).hint

    def before(self, path: str) -> str:
        """What was set in the session before, where that is another value."""
        desk = self.desk
        carried = desk.before if field_of(path).carried else None
        before = desk.text.shown(carried, path) if carried else ""
        return f"before: {before}" if before not in ("", self.text(path)) else ""


def is_set(path: str) -> bool:
    """Whether the value is set on the car, not read."""
    return path not in NO_FIELD and field_of(path).carried
