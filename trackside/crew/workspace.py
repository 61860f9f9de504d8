"""The open logbook, the damper shed and the current session, and what a crew does with them.

Every change goes through here: the session shows it at once, then it is handed to the logbook, and
it is called saved only when the logbook has committed it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trackside.crew import moments
from trackside.crew.corrections import Corrections, ReasonWanted
from trackside.crew.disputes import Disputes
from trackside.crew.drafts import Drafts
from trackside.crew.listener import Listener
from trackside.crew.outbox import Outbox
from trackside.crew.session_text import SessionText
from trackside.crew.signing import Signing
from trackside.errors import LogbookError, TracksideError, UnknownRecord
from trackside.logbook import Logbook, SessionLine, Write, dampers, patch, put
from trackside.logbook.drafts import EMPTIED, Aside
from trackside.logbook.fold import patched
from trackside.preferences import Preferences, data_folder, device_file

if TYPE_CHECKING:
    from trackside.analysis.last_read import LastReadings
    from trackside.analysis.shed import Shed
    from trackside.crew.deciding import Decision
    from trackside.crew.jobs import Jobs
    from trackside.crew.mirroring import Mirrored
    from trackside.crew.runs import RunWrites
    from trackside.crew.swapping import Swap
    from trackside.crew.verdicts import Verdicts
    from trackside.logbook.last_read import LastRead
    from trackside.records import Reading, Session

TELLS_WHICH = frozenset(("start", "car", "event", "date", "kind", "number", "run", "driver"))
"""Paths that say which session it is, and where in the order of the car's sessions: those of the
session, and of its event."""


class Workspace:
    """One logbook, one session in hand. `listener` is whoever shows it."""

    def __init__(
        self,
        path: Path,
        preferences: Preferences,
        listener: Listener,
        *,
        read_only: bool = False,
    ) -> None:
        self.path = path
        self.preferences = preferences
        device: str | Path = "reader" if read_only else device_file()
        self.logbook = Logbook.open(
            path, author=preferences.signed_by, device=device, read_only=read_only
        )
        self._listener = listener
        self.entity = ""
        self._session: Session | None = None
        self.before: Session | None = None
        """The session of this car before the one in hand: what empty cells show dim."""
        self.shed: Shed | None = None
        self.drafts = Drafts(self.logbook, Aside(data_folder(), path))
        self.outbox = Outbox(self.logbook, self.drafts, listener)
        self._last_readings: LastReadings | None = None
        self.half_typed: dict[str, str] = {}
        """What stood half typed in a cell of the current session when the program was cut off."""
        self._seen = self.logbook.data_version()
        self.corrections = Corrections(self.logbook, lambda: moments.today())
        self._verdicts: Verdicts | None = None
        self._jobs: Jobs | None = None
        self.signing = Signing(self.logbook, preferences)
        self.clock_behind = ""
        """When this computer wrote last, where its clock is behind that; empty where it is not."""
        self.disputes = Disputes(self.logbook)
        self.text = SessionText(self.logbook, preferences)

    # ── the current session ─────────────────────────────────────────────────────────────────

    @property
    def session(self) -> Session:
        """The session in hand; UnknownRecord when there is none yet."""
        if self._session is None:
            raise UnknownRecord("there is no current session", "open one on the pit board")
        return self._session

    @property
    def has_session(self) -> bool:
        """Whether a session is in hand."""
        return self._session is not None

    def line(self) -> SessionLine:
        """The pit board's line of the current session."""
        return self.logbook.session_line(self.entity)

    def take(self, entity: str) -> None:
        """Take that session in hand."""

        body = self.outbox.take_up(entity)
        if body is None:
            raise UnknownRecord("that session is no longer in the logbook", "undo brings it back")
        self.corrections.look_again()
        self._last_readings = None
        self.entity, self._session = entity, self.logbook.session_record(entity, body)
        self.compare_again()
        self.half_typed = {
            path: text
            for path, text in self.drafts.of(entity).items()
            if ": " not in path and self.is_kept(path) and not self._says(path, text)
        }

    def _says(self, path: str, text: str) -> bool:
        """Whether the current session says so at `path`; a path that is none says nothing."""
        with suppress(TracksideError, KeyError, AttributeError):
            return self.text.shown(self.session, path) == ("" if text == EMPTIED else text)
        return False

    def compare_again(self) -> None:
        """Look up which session of this car comes before the one in hand, as the logbook has their
        order now."""

        car = self._session.car if self._session else ""
        older = self.logbook.session_lines(car=car, before=self.entity, limit=1) if car else []
        self.before = self.logbook.session_record(older[0].entity) if older else None

    def take_newest(self) -> bool:
        """Take the newest session in hand; False when there is none."""
        newest = self.logbook.session_lines(limit=1)
        if newest:
            self.take(newest[0].entity)
        return bool(newest)

    def again(self) -> None:
        """Read the current session again, over it what is not yet kept."""
        if not self.entity:
            return
        if self.logbook.state(self.entity) is None:
            self.entity, self._session, self.before = "", None, None
            self.take_newest()
        else:
            self.take(self.entity)

    def catch_up(self) -> bool:
        """Read again when another window has written since the last reading, or when what it wrote
        can be taken up only now; whether it was read."""
        version = self.logbook.data_version()
        if self.outbox.caught_up():
            self._seen = -1  # until it has been read
        if version == self._seen:
            return False
        self.again()
        self._seen = version
        return True

    def newest_event(self) -> str:
        """The event that was entered last."""
        return self.logbook.newest("event")

    def event_is_over(self) -> bool:
        """Whether the event of the newest session lies behind us."""
        newest = self.logbook.session_lines(limit=1)
        return bool(newest) and self.corrections.is_over(newest[0].event)

    def settle(self, decision: Decision, why: str) -> None:
        """Decide a conflict so."""
        self.disputes.settle(decision, why)
        if decision.dispute.kind in dampers.KINDS:
            self._listener.shed_changed()
        self.again()

    def look_at_clock(self) -> str:
        """When this computer wrote last, where its clock is behind that; "" where it is not."""
        self.clock_behind = self.logbook.ahead_of_clock()
        return self.clock_behind

    # ── writing ─────────────────────────────────────────────────────────────────────────────

    def keep(self, path: str, value: Reading | str | None, text: str | None = None) -> None:
        """Set one value of the current session, and what follows from it, in one step of undo;
        `text` is what was typed for it."""
        more: dict[str, str | None] = {**self._build_of(path, value), **self._done_by(path, value)}
        if path == "start" and self.session.opened:
            more["opened"] = None
        swap = self._swap(path, {path: value, **more})
        cleared = dict.fromkeys(swap.cleared if swap else ())
        self._keep_together({path: value}, more | cleared, {} if text is None else {path: text})
        if swap and swap.cleared:
            self._listener.swapped(swap)

    def _swap(self, path: str, values: Mapping[str, Reading | str | None]) -> Swap | None:
        """What another damper, or build, at that corner makes unknown."""
        from trackside.crew.swapping import swapped

        corner, _, name = path.partition(".")
        if name not in ("damper", "build") or self.shed is None:
            return None
        after = self.session
        for place, value in values.items():
            after = after.with_value(place, value)
        return swapped(self.session, after, corner, self.shed)

    def _keep_together(
        self,
        values: Mapping[str, Reading | str | None],
        more: Mapping[str, str | None] | None = None,
        texts: Mapping[str, str] | None = None,
        signed: str = "",
    ) -> None:
        """Set several values in one step of undo, and what follows from them; `texts` are what was
        typed for them, `signed` the reason where the crew gives none."""
        from trackside.records import value_body

        reasons = [self.why(path) for path in values]
        body = {}
        for place, set_to in {**values, **(more or {})}.items():
            self._session = self.session.with_value(place, set_to)
            body[place] = value_body(set_to)
        change = patch("session", self.entity, body, reason=max(reasons) or signed)
        shown = {path: self.text.shown(self.session, path) for path in values}
        self.outbox.send(self.entity, change, shown | dict(texts or {}))

    def why(self, path: str, again: Callable[[], object] | None = None) -> str:
        """The reason that a change of that value is signed with; ReasonWanted when it corrects
        what stood at an event that is over, and none was given yet."""
        before = self.session.lap_times if path == "lap_times" else self.session.value(path)
        reason = self.corrections.reason(self.entity, self.session.event, before)
        if reason is None:
            raise ReasonWanted(path, again)
        return reason

    def _build_of(self, path: str, value: Reading | str | None) -> dict[str, str | None]:
        """With a damper's serial goes the build that it has today, so that the session keeps it
        when the damper is next stripped down."""
        corner, _, name = path.partition(".")
        if name != "damper" or self.shed is None:
            return {}
        build = self.shed.build(value) if isinstance(value, str) else None
        return {f"{corner}.build": build.version if build else None}

    def _done_by(self, path: str, value: Any) -> dict[str, str]:
        """A planned session with a value that only a run gives has run."""
        if not self.session.ran and self.session.with_value(path, value).ran and path != "status":
            return {"status": "done"}
        return {}

    def keep_text(self, path: str, text: str) -> bool:
        """Keep what was typed at `path`; False when it says what stands there already: what the
        logbook refused of it is tried again. The draft of it goes with the save; where it cannot
        even be sent, the text is held."""
        self.half_typed.pop(path, None)
        try:
            changed = self._keep_text(path, text)
        except ReasonWanted:
            self._hold_half(path, text)
            raise ReasonWanted(path, lambda: self.keep_text(path, text)) from None
        except LogbookError:
            self._hold_half(path, text)
            raise
        if not changed and self.is_kept(path):
            self.hold(path, "")
        elif not changed:
            self.outbox.again(aloud=True)
        return changed

    def _hold_half(self, path: str, text: str) -> None:
        self.hold(path, text)
        self.half_typed[path] = text

    def _keep_text(self, path: str, text: str) -> bool:
        if path == "lap_times":
            return self._keep_laps(text)
        if text == self.text.shown(self.session, path):
            return False
        value = self.text.read(self.entity, self.session, path, text)
        if value == self.session.value(path) and text == self.text.shown(self.session, path):
            return False
        self.keep(path, value, text)
        return True

    def _keep_laps(self, text: str) -> bool:
        from trackside.records.laps import read_laps

        laps = read_laps(text)
        if laps == self.session.lap_times:
            return False
        reason = self.why("lap_times")
        body = {"lap_times": list(laps), **self._done_by("lap_times", laps)}
        self._session = self.session.model_copy(update=body | {"lap_times": laps})
        change = patch("session", self.entity, body, reason=reason)
        self.outbox.send(self.entity, change, {"lap_times": text})
        return True

    def keep_all(self, values: dict[str, Any], reason: str = "") -> None:
        """Set several values of the current session in one step of undo."""
        self.logbook.write(patch("session", self.entity, values), reason=reason)
        self.take(self.entity)

    def add(self, kind: str, body: dict[str, Any], reason: str = "") -> str:
        """Write a new record down; its entity."""
        write = put(kind, body, reason=reason)
        self.write(write)
        return write.entity

    def write(self, *writes: Write, reason: str = "") -> None:
        """Write several records down in one step of undo."""
        self.logbook.write(*writes, reason=reason)
        self._shed_changes(*writes)

    def amend(
        self,
        kind: str,
        entity: str,
        values: dict[str, Any],
        typed: Mapping[str, str] | None = None,
    ) -> None:
        """Set values of a record other than the current session: an event, a car, a build; `typed`
        is what was typed for them, by the path of its draft."""
        write = patch(kind, entity, values)
        self.outbox.send(entity, write, typed)
        self._shed_changes(write)

    def _shed_changes(self, *writes: Write) -> None:
        if any(dampers.is_in_shed(write) for write in writes):
            self._listener.shed_changed()

    def is_kept(self, path: str) -> bool:
        """Whether the last value typed at `path` of the current session is committed."""
        return self.outbox.is_kept(self.entity, path)

    @property
    def is_settled(self) -> bool:
        """Whether nothing is on its way to the logbook: a look at it would wait behind that."""
        return self.outbox.is_settled and self.drafts.is_settled

    def flush(self) -> list[str]:
        """Wait until everything handed over is kept; the paths of what the logbook refused."""
        return [*self.outbox.flush(), *self.drafts.flush()]

    def close(self, wait: float | None = None) -> None:
        """Let go of the file; what is under way is kept first. Where another program holds the file
        that waits for `wait` seconds (None: five)."""
        try:
            if not self.logbook.held_for:
                self.flush()
        finally:
            self.logbook.close(wait)

    # ── what is half typed ──────────────────────────────────────────────────────────────────

    def hold(self, path: str, text: str) -> None:
        """Keep what is half typed at `path`, beside the truth; empty text lets it go."""
        if not text:
            self.half_typed.pop(path, None)
        self.drafts.hold(self.entity, path, text)

    def held(self, form: str) -> dict[str, str]:
        """What stands half typed in a form about the current session, by question."""
        start = f"{form}: "
        return {
            path.removeprefix(start): text
            for path, text in self.drafts.of(self.entity).items()
            if path.startswith(start)
        }

    def hold_form(self, form: str, answers: dict[str, str]) -> None:
        """Keep the answers of a form that was not finished; empty ones are let go."""
        for name, text in answers.items():
            self.hold(f"{form}: {name}", text)

    def last_read(self, path: str) -> tuple[LastRead, LastRead | None] | None:
        """What was last read at `path` before the current session, and the temperature at which it
        was read; None where nobody read it. Nothing is calculated from it."""
        if path == "lap_times":
            return None
        last, place = self.last_readings, (self.entity, self.session, path)
        found = last.at(*place)
        return (found, last.taken_at(*place)) if found else None

    @property
    def last_readings(self) -> LastReadings:
        """What was read before the current session, looked up at the first question."""
        from trackside.analysis.last_read import LastReadings

        if self._last_readings is None:
            self._last_readings = LastReadings(self.logbook)
        return self._last_readings

    # ── clicks ──────────────────────────────────────────────────────────────────────────────

    def turn(self, paths: Sequence[str], harder: float) -> dict[str, str]:
        """Turn the adjusters at these paths by clicks harder (softer: below zero), in one step of
        undo. Path to a sentence for each that cannot be turned."""
        from trackside.crew.turning import positions_after

        values, troubles = positions_after(self.session, self.shed, paths, harder)
        if values:
            self._keep_together(values)
        return troubles

    def set_alike(self, found: Mirrored) -> None:
        """Set the other side of an axle so, in one step of undo."""
        self._keep_together(found.by_path, signed=found.reason)

    # ── the next session ────────────────────────────────────────────────────────────────────

    def new_session(
        self,
        event: str | None = None,
        car: str | None = None,
        values: dict[str, Any] | None = None,
        reason: str = "",
    ) -> None:
        """Open the next session with the same set-up, `values` over it: next number, now.

        `event` and `car` (entities) default to those of the current session.
        """
        body = patched(self.next_session(event, car), values or {})
        self.take(self.add("session", body, reason))
        if self.look_at_clock():
            self._listener.clock_is_behind()

    def next_session(self, event: str | None = None, car: str | None = None) -> dict[str, Any]:
        """The body that the next session would start from."""
        from trackside.crew.next_session import next_session

        in_hand = (self.entity, self.session) if self.has_session else None
        return next_session(self.logbook, in_hand, event, car)

    # ── the runs of a session ───────────────────────────────────────────────────────────────

    def next_run(self, values: dict[str, Any] | None = None) -> None:
        """Open the next run of the current session with the same set-up, `values` over it."""
        from trackside.crew.runs import next_run

        self._take_run(next_run(self.logbook, (self.entity, self.session), values))
        if self.look_at_clock():
            self._listener.clock_is_behind()

    def run_between(self, start: str) -> None:
        """Write down a run of the current session that was forgotten, begun at `start`."""
        from trackside.crew.runs import run_between

        self._take_run(run_between(self.logbook, (self.entity, self.session), start))

    def sessions_beside(self) -> dict[str, SessionLine]:
        """The other sessions of this car at the event, by name: the current run may move there."""
        from trackside.crew.runs import sessions_beside

        return sessions_beside(self.logbook, self.line())

    def move_run(self, session: SessionLine) -> None:
        """Move the current run to that session, in its place by time."""
        from trackside.crew.runs import run_moved

        self._take_run(run_moved(self.logbook, self.entity, session))

    def split_session(self) -> None:
        """Make the current run, and those behind it, a session of their own."""
        from trackside.crew.runs import split_from

        self._take_run(split_from(self.logbook, self.entity))

    def _take_run(self, run: RunWrites) -> None:
        self.write(*run.writes)
        self.take(run.entity)

    @property
    def verdicts(self) -> Verdicts:
        """Notes and reasons, and what waits for its verdict."""
        from trackside.crew.verdicts import Verdicts

        if self._verdicts is None:
            self._verdicts = Verdicts(self.logbook, self.corrections)
        return self._verdicts

    @property
    def jobs(self) -> Jobs:
        """The job list of each car."""
        from trackside.crew.jobs import Jobs

        if self._jobs is None:
            self._jobs = Jobs(self.logbook)
        return self._jobs

    def car_name(self) -> str:
        """Name and number of the car in hand."""
        car = self.shed.cars.get(self.session.car) if self.shed and self.has_session else None
        return f"{car.name} #{car.number}" if car and car.number else car.name if car else ""
