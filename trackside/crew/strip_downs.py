"""A strip-down as a job: planned, worked through step by step, and what comes of it.

Nothing is written here: each function gives the writes, to be kept in one step of undo.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, Literal, NamedTuple

from trackside.crew.jobs import Ticked
from trackside.damper.gas import pressure_at_20
from trackside.errors import BadInput, BadNumber, BadRecord, UnknownRecord
from trackside.logbook import Logbook, Write, dampers, patch, put
from trackside.logbook.fold import leaves, normal, patched
from trackside.logbook.rows import text
from trackside.logbook.uuid7 import uuid7
from trackside.records import Build, DynoSheet, StripDown
from trackside.units import one_line

Stage = Literal["planned", "on the bench", "done", "fitted"]

STEPS: Final = {
    "gas_out": "Gas read and released",
    "opened": "Taken apart, parts looked at",
    "goes_in": "New parts in: stack, piston, seals",
    "nut": "Piston nut torqued, threadlocker on",
    "filled": "Oil in, floating piston set, bled",
    "charged": "Gas charged",
    "benched": "Run on the bench",
    "labelled": "Label on",
    "fitted": "Fitted to the car",
}
"""What a shop begins with, in the order of the work: our own list. A new job takes over the steps
of the shop's last one, so that what was changed there stays changed."""
PARTS_IN, CLOSED_UP, CHARGED, FITTED = "goes_in", "filled", "charged", "fitted"
BENCHED: Final = "benched"
PLANNED: Final = ("bump_stack", "rebound_stack", "bump_parts", "rebound_parts")
"""What a job may plan of the build that comes of it."""
PART_FIELDS: Final = (
    *("piston", "bump_stack", "rebound_stack", "preload", "bleed", "needle", "family"),
    *("piston_diameter", "rod_diameter", "stroke", "oil", "oil_viscosity_40", "oil_viscosity_100"),
    *("oil_grade", "oil_index", "oil_expansion", "bump_parts", "rebound_parts"),
)
"""What is inside a build, as far as it is read off parts."""


class StripDownJob(NamedTuple):
    """A job as it stands."""

    entity: str
    record: StripDown
    stored: Mapping[str, Any]

    @property
    def code(self) -> str:
        """The end of its code."""
        return self.entity[-6:]

    @property
    def stage(self) -> Stage:
        """How far it is: by what is ticked."""
        record = self.record
        left = [name for name in record.open_steps if name != FITTED]
        if record.closed is None and left:
            return "on the bench" if record.done else "planned"
        return "fitted" if FITTED in record.done else "done"

    @property
    def is_open(self) -> bool:
        """Whether there is work left on it."""
        return self.record.closed is None and bool(self.record.open_steps)


def planned_job(plan: Write) -> StripDownJob:
    """The job that such a write begins."""
    return StripDownJob(plan.entity, StripDown.checked(plan.body), plan.body)


class StripDowns:
    """The strip-down jobs of a logbook, and what is to be written to change one."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook

    def all(self) -> list[StripDownJob]:
        """Every job, in the order of writing down."""
        stored = dict(self._logbook.all("strip_down"))
        return [
            StripDownJob(entity, record, stored.get(entity, {}))
            for entity, record in self._logbook.records(StripDown, "strip_down")
        ]

    def of(self, serial: str) -> list[StripDownJob]:
        """Those of that damper, the newest first."""
        mine = serial.casefold()
        return [job for job in self.all()[::-1] if job.record.damper.casefold() == mine]

    def in_hand(self, serial: str) -> StripDownJob | None:
        """The newest job of that damper on which there is work left."""
        return next((job for job in self.of(serial) if job.is_open), None)

    def again(self, job: StripDownJob) -> StripDownJob:
        """The same as it stands now. UnknownRecord where it is gone."""
        found = next((one for one in self.all() if one.entity == job.entity), None)
        if found is None:
            raise UnknownRecord("that strip-down was taken off the logbook", "undo brings it back")
        return found

    def ticked(self, job: StripDownJob, step: str) -> Ticked | None:
        """Who ticked that step, and when; None while it is open."""
        if step not in job.record.done:
            return None
        entries = self._logbook.history(job.entity, f"done.{step}")
        return Ticked(entries[0].author, entries[0].recorded_at) if entries else None

    # ── what is to be written ───────────────────────────────────────────────────────────────

    def planned(
        self,
        serial: str,
        why: str,
        *,
        reseal: bool = False,
        day: str = "",
        parts: Mapping[str, Any] | None = None,
    ) -> Write:
        """A new job on that damper, with the steps of the shop's last one; `parts` of the planned
        build by path (`PLANNED`). BadInput where it has work left on another, or is not in the
        shed."""
        entity = dampers.damper_of(self._logbook, serial)
        body = self._logbook.state(entity) if entity else None
        if body is None:
            raise BadInput(f"{one_line(serial)} is not in the shed", "enter the damper first")
        if other := self.in_hand(serial):
            raise BadInput(
                f"{text(body.get('serial'))} has a strip-down that is {other.stage}",
                "finish it, or close it, first",
            )
        last = next((job.record for job in self.all()[::-1] if job.record.steps), None)
        steps = dict(last.steps) if last else dict(STEPS)
        order = last.in_order if last else tuple(STEPS)
        record = {
            "damper": text(body.get("serial")),
            "date": day,
            "why": why.strip(),
            "reseal": "yes" if reseal else None,
            "steps": steps,
            "places": {name: 10.0 * n for n, name in enumerate(order, 1)},
        }
        body = StripDown.checked(record).body()
        return put("strip_down", patched(body, dict(parts or {})))

    def turned(self, job: StripDownJob, step: str, done: bool) -> tuple[Write, ...]:
        """That step ticked, or open again, and what comes of it: with its parts in, a damper has a
        new build; a charge that was typed with its temperature is the build's. Nothing where it is
        so already."""
        now = self.again(job)
        if step not in now.record.steps:
            raise BadInput("that step is not on the job any more", "look at it again")
        if (step in now.record.done) == done:
            return ()
        ticked: dict[str, Any] = {f"done.{step}": "yes" if done else None}
        if done and step == PARTS_IN and not now.record.reseal and not now.record.build:
            build = self._new_build(now)
            ticked["build"] = build.body["version"]
            return build, patch("strip_down", now.entity, ticked)
        tick = patch("strip_down", now.entity, ticked)
        if done and step == CHARGED and (charge := self._charge_to_keep(now)):
            return charge, tick
        return (tick,)

    def _new_build(self, job: StripDownJob) -> Write:
        build = dampers.strip_down(self._logbook, job.record.damper, job.record.why)
        body = normal(build.body)
        if job.record.oil:
            body |= {"oil": job.record.oil}
        return build._replace(body=patched(body, planned_parts(job)))

    def build_to_come(self, job: StripDownJob) -> Build | None:
        """The build that comes of the job: as it is planned, or as it is in the shed once its parts
        are in. None where none comes of it, or its figures cannot be read."""
        now = self.again(job)
        if now.record.reseal:
            return None
        name = now.record.build
        builds = self._builds(now)
        body = next((b for _, b in builds if name and text(b.get("version")) == name), None)
        try:
            return Build.checked(body or self._new_build(now).body)
        except BadRecord:
            return None

    def benched(self, sheet: DynoSheet) -> tuple[Write, ...]:
        """What ticks the bench step of the job on which that sheet was run: of the build that came
        of it, or after new seals; none where there is no such job, or it is ticked."""
        job = self.in_hand(sheet.damper)
        if job is None or BENCHED not in job.record.open_steps:
            return ()
        if job.record.reseal:
            seals = self.ticked(job, PARTS_IN)
            ran = seals is not None and bool(sheet.date) and sheet.date >= seals.recorded_at[:10]
        else:
            ran = bool(job.record.build) and job.record.build.casefold() == sheet.build.casefold()
        return self.turned(job, BENCHED, True) if ran else ()

    def _charge_to_keep(self, job: StripDownJob) -> Write | None:
        at_20, builds = charge_at_20(job.record), self._builds(job)
        if at_20 is None or not builds:
            return None
        entity, _ = builds[-1]
        return patch("build", entity, {"gas_pressure": at_20}, reason="charged at the strip-down")

    def _builds(self, job: StripDownJob) -> list[tuple[str, dict[str, Any]]]:
        return dampers.builds_of(self._logbook, job.record.damper)

    def added(self, job: StripDownJob, words: str, after: str = "") -> Write:
        """One more step, behind the step `after`, or behind all. BadInput without words."""
        said, now = _needs_words(words), self.again(job).record
        order = now.in_order
        at = order.index(after) if after in order else len(order) - 1
        here = now.places.get(order[at], 0.0) if order else 0.0
        behind = now.places.get(order[at + 1], here + 20) if at + 1 < len(order) else here + 20
        name = uuid7()[-8:]
        values = {f"steps.{name}": said, f"places.{name}": (here + behind) / 2}
        return patch("strip_down", job.entity, values)

    def reworded(self, job: StripDownJob, step: str, words: str) -> Write | None:
        """Other words for that step; None where nothing differs. BadInput without words."""
        said, now = _needs_words(words), self.again(job).record
        if now.steps.get(step) == said:
            return None
        return patch("strip_down", job.entity, {f"steps.{step}": said})

    def taken_away(self, job: StripDownJob, step: str) -> Write:
        """That step off this job, and off those that begin with its list."""
        values = dict.fromkeys((f"steps.{step}", f"places.{step}", f"done.{step}"))
        return patch("strip_down", self.again(job).entity, values)

    def closed(self, job: StripDownJob, *, though_open: bool = False) -> Write:
        """Put away. BadInput names the steps that are open, unless that is known."""
        now = self.again(job)
        if now.record.open_steps and not though_open:
            left = ", ".join(now.record.steps[name] for name in now.record.open_steps)
            count = len(now.record.open_steps)
            raise BadInput(
                f"{count} step{' is' if count == 1 else 's are'} open: {left}",
                "tick them, take them away, or close it all the same",
            )
        return patch("strip_down", now.entity, {"closed": "yes"})

    # ── what the build before was found to have ─────────────────────────────────────────────

    def entered_since(self, job: StripDownJob) -> dict[str, Any]:
        """What the build before has by now, and the build that came of this job, copied from it,
        has not: parts that were measured or entered afterwards. Path → value."""
        builds = [body for _, body in self._builds(job)]
        names = [text(body.get("version")) for body in builds]
        if not job.record.build or job.record.build not in names[1:]:
            return {}
        at = names.index(job.record.build)
        before, after = (dict(leaves(normal(body))) for body in builds[at - 1 : at + 1])
        return {
            ".".join(path): value
            for path, value in before.items()
            if path[0] in PART_FIELDS and path not in after
        }

    def taken_over(self, job: StripDownJob) -> Write | None:
        """Those values in the new build; None where there are none."""
        values = self.entered_since(self.again(job))
        if not values:
            return None
        builds = self._builds(job)
        entity = next(e for e, body in builds if text(body.get("version")) == job.record.build)
        reason = "entered on the build before"
        return patch("build", entity, values, reason=reason)


def planned_parts(job: StripDownJob) -> dict[str, Any]:
    """What the job plans of its build: path → value, as stored."""
    return {
        ".".join(path): value
        for path, value in leaves(normal(dict(job.stored)))
        if path[0] in PLANNED and value not in ("", None)
    }


def charge_at_20(job: StripDown) -> float | None:
    """The charge (gauge Pa) as it would read at 20 °C; None without its temperature, or where the
    two cannot be."""
    if job.charge is None or job.charge_at is None:
        return None
    try:
        return float(pressure_at_20(job.charge, job.charge_at))
    except BadNumber:
        return None


def _needs_words(words: str) -> str:
    if not one_line(words):
        raise BadInput("a step needs words", "say what is to be done")
    return one_line(words)
