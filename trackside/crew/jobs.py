"""The job list of each car: written down for a run, and on the list of every run behind it until
somebody ticks it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final, NamedTuple

from trackside.errors import BadInput, UnknownRecord
from trackside.logbook import Logbook, SessionLine, Write, drop, patch, put
from trackside.logbook.rows import text
from trackside.records import Job
from trackside.units import one_line

SHORTEST: Final = 4
"""Of so many letters at least is the end of a code, by which a job is named."""
DONE_SHOWN: Final = 40
"""So many jobs that are done are listed below the open ones, the last first (our own)."""


class JobOnList(NamedTuple):
    """A job as it stands: the line of the run it was written down for (None: for none that is
    there), its car's name, and what the logbook has of it."""

    entity: str
    record: Job
    line: SessionLine | None
    car_name: str
    stored: Mapping[str, Any]

    @property
    def is_open(self) -> bool:
        """Whether nobody has ticked it."""
        return self.record.done is None

    @property
    def code(self) -> str:
        """The end of its code."""
        return self.entity[-6:]


class Ticked(NamedTuple):
    """Who ticked a job, and when (UTC)."""

    author: str
    recorded_at: str


class Jobs:
    """The jobs of a logbook, and what is to be written to change one."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook
        self._found: tuple[JobOnList, ...] = ()
        self._read_at: object = None

    def all(self) -> tuple[JobOnList, ...]:
        """Every job in the order of writing down; read again when the logbook has grown."""
        extent = self._logbook.extent()
        if extent != self._read_at:
            self._found = self._logbook.in_one_turn(self._listed)
            self._read_at = extent
        return self._found

    def _listed(self) -> tuple[JobOnList, ...]:
        stored = dict(self._logbook.all("job"))
        return tuple(
            JobOnList(
                entity,
                job,
                self._line(job.session) if job.session else None,
                self._car_name(job.car) if job.car else "",
                stored.get(entity, {}),
            )
            for entity, job in self._logbook.records(Job, "job")
        )

    def _line(self, session: str) -> SessionLine | None:
        try:
            return self._logbook.session_line(session)
        except UnknownRecord:  # taken off the logbook: the job is still to be done
            return None

    def _car_name(self, car: str) -> str:
        return one_line(text((self._logbook.state(car) or {}).get("name")))

    def open_of(self, car: str) -> list[JobOnList]:
        """That car's open jobs, the oldest first."""
        return [job for job in self.all() if job.is_open and job.record.car == car]

    def open_counts(self) -> dict[str, int]:
        """How many jobs are open on each car, by its name; cars in the order of their first."""
        counts: dict[str, int] = {}
        for job in self.all():
            if job.is_open:
                counts[job.car_name] = counts.get(job.car_name, 0) + 1
        return counts

    def shown(self, car: str) -> list[JobOnList]:
        """The open ones, that car's first; then what is done, the last first."""
        open_, done = [j for j in self.all() if j.is_open], [j for j in self.all() if not j.is_open]
        open_.sort(key=lambda job: job.record.car != car)
        done.sort(key=lambda job: (job.record.car == car, job.entity), reverse=True)
        return [*open_, *done[:DONE_SHOWN]]

    def on_sheet(self, session: str) -> list[JobOnList]:
        """Those that belong on the sheet of that run: what was written down for it, done or not,
        and what is still open of the runs before it on the same car."""
        line = self._logbook.session_line(session)
        at = (line.sort_key, line.entity)
        found = [
            job
            for job in self.all()
            if job.record.session == session
            or (
                job.is_open
                and job.record.car == line.car
                and (job.line is None or (job.line.sort_key, job.line.entity) < at)
            )
        ]
        return sorted(found, key=lambda job: (not job.is_open, job.entity))

    def ticked(self, job: JobOnList) -> Ticked | None:
        """Who ticked it, and when; None while it is open."""
        entries = [] if job.is_open else self._logbook.history(job.entity, "done")
        return Ticked(entries[0].author, entries[0].recorded_at) if entries else None

    def named(self, name: str) -> JobOnList:
        """The job that `name` means, by the end of its code; UnknownRecord where that is none, or
        several."""
        code = name.strip().lower()
        found = [j for j in self.all() if len(code) >= SHORTEST and j.entity.endswith(code)]
        if len(found) != 1:
            many = "Several jobs answer to" if found else "There is no job"
            raise UnknownRecord(f"{many} “{one_line(name)}”", "trackside jobs lists their ids")
        return found[0]

    # ── what is to be written ───────────────────────────────────────────────────────────────

    def added(self, words: str, who: str, car: str, session: str = "") -> Write:
        """A new job on that car, for that run; BadInput without words or a car."""
        if not one_line(words):
            raise BadInput("a job needs words", "say what is to be done")
        if not car:
            raise BadInput("a job belongs to a car", "enter the car first")
        body = {"car": car, "session": session, "words": words, "who": one_line(who) or None}
        return put("job", Job.checked(body).body())

    def turned(self, job: JobOnList, done: bool) -> Write | None:
        """Ticked, or open again; None where it is so already. BadInput where it is gone."""
        if job.is_open != done:
            return None
        return self._changed(job, {"done": "yes" if done else None})

    def edited(self, job: JobOnList, words: str, who: str) -> Write | None:
        """Other words, or another hand; None where nothing differs. BadInput without words."""
        if not one_line(words):
            raise BadInput("a job needs words", "say what is to be done, or take it away")
        wanted = {"words": one_line(words), "who": one_line(who) or None}
        values = {n: v for n, v in wanted.items() if v != getattr(job.record, n)}
        return self._changed(job, values) if values else None

    def taken_away(self, job: JobOnList) -> Write:
        """Off the list; undo brings it back. BadInput where it is gone already."""
        self._now(job)
        return drop("job", job.entity)

    def _changed(self, job: JobOnList, values: Mapping[str, Any]) -> Write:
        """BadInput where somebody wrote something else there meanwhile."""
        now = self._now(job)
        other = [name for name in values if now.get(name) != job.stored.get(name)]
        if other:
            there = str(now.get(other[0]) or "nothing")
            raise BadInput(
                f"it was changed meanwhile: {other[0]} now says “{there}”", "look at it again"
            )
        return patch("job", job.entity, dict(values))

    def _now(self, job: JobOnList) -> Mapping[str, Any]:
        now = self._logbook.state(job.entity)
        if now is None:
            raise BadInput("it was taken off the list meanwhile", "undo brings it back")
        return now


def cars(logbook: Logbook) -> list[tuple[str, str]]:
    """The cars that can have a job, each once: code and name."""
    found = ((entity, one_line(text(body.get("name")))) for entity, body in logbook.once("car"))
    return [(entity, name) for entity, name in found if name]


def car_named(logbook: Logbook, name: str) -> str:
    """The code of the car of that name, or of the start of one name; UnknownRecord else."""
    wanted, known = one_line(name).casefold(), cars(logbook)
    whole: Sequence[str] = [e for e, n in known if n.casefold() == wanted]
    found = whole or [e for e, n in known if wanted and n.casefold().startswith(wanted)]
    if len(found) != 1:
        names = ", ".join(n for _, n in known) or "none"
        raise UnknownRecord(f"There is no one car “{one_line(name)}”", f"cars here: {names}")
    return found[0]
