"""A strip-down job in words: on a line, step by step, and as a card that goes to the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from trackside.analysis.reseals import days_between
from trackside.analysis.shed import Shed
from trackside.crew.cell_text import describe_value, spread
from trackside.crew.forecasts import Outlook
from trackside.crew.forms import Entry, entries
from trackside.crew.strip_downs import StripDownJob, StripDowns, charge_at_20, planned_parts
from trackside.preferences import Preferences
from trackside.records import StripDown
from trackside.reports.cautions import FIRST, OPEN, STEPS, Cautions, whole
from trackside.reports.document import Block, Document, Said, Section, Table
from trackside.reports.forecast_words import outlook_blocks
from trackside.reports.job_words import DONE, who_ticked
from trackside.reports.job_words import OPEN as TO_DO
from trackside.reports.mark_words import figure_problem
from trackside.reports.origin_words import SEALS_IN_BAND
from trackside.units import one_line, show

TITLE: Final = "Strip-down job"
VALUES: Final = {
    "gas_out": ("gas_found", "gas_found_at"),
    "opened": ("found",),
    "goes_in": ("goes_in",),
    "nut": ("torque", "threadlocker"),
    "filled": ("oil", "oil_volume", "piston_level", "bleed_cycles"),
    "charged": ("charge", "charge_at"),
    "benched": ("bench",),
    "fitted": ("fitted_to",),
}
"""Step → what is written down at it."""
RESEALED: Final = "new seals, the valving as it was: the dyno sheet stays"


BENCH_TICKED: Final = "the bench run is ticked on its strip-down"


def stage_words(job: StripDownJob) -> str:
    """`on the bench, 4 of 9 steps done`."""
    record = job.record
    told = f"{job.stage}, {len(record.steps) - len(record.open_steps)} of {len(record.steps)} steps"
    return f"{told} done, closed" if record.closed and record.open_steps else f"{told} done"


def job_line(job: StripDownJob) -> str:
    """`TW-2241: on the bench, 4 of 9 steps done · next: Gas charged`."""
    record = job.record
    next_step = record.steps[record.open_steps[0]] if job.is_open else ""
    parts = (
        f"{record.damper}: {stage_words(job)}",
        "reseal" if record.reseal else "",
        f"build {record.build}" if record.build else "",
        f"next: {next_step}" if next_step else "",
    )
    return " · ".join(part for part in parts if part)


def step_line(job: StripDownJob, step: str, preferences: Preferences) -> str:
    """`☑ Gas charged: 14 bar at 22 °C (13.9 bar at 20 °C)`."""
    record = job.record
    told = ", ".join(values_of(job, step, preferences))
    mark = DONE if step in record.done else TO_DO
    return f"{mark} {record.steps[step]}" + (f": {told}" if told else "")


def values_of(job: StripDownJob, step: str, preferences: Preferences) -> Iterator[str]:
    """What was written down at that step, each with its name."""
    known = spread(job.stored)
    for name in VALUES.get(step, ()):
        if name in known:
            said = describe_value("strip_down", name, known[name], preferences)
            yield f"{_label(name)} {said}".strip()
    if step == "charged" and (at_20 := charge_at_20(job.record)) is not None:
        unit = preferences.unit("pressure")
        yield f"{show(at_20, 'pressure', unit, with_unit=True)} at {_reference(preferences)}"


def _reference(preferences: Preferences) -> str:
    return show(20.0, "temperature", preferences.unit("temperature"), with_unit=True)


def _label(name: str) -> str:
    entry = _entry(name)
    return "" if name in ("found", "goes_in", "bench", "fitted_to") else entry.label.lower()


def _entry(name: str) -> Entry:
    return entries("strip_down")[f"strip_down.{name}"]


def ticked_by(jobs: StripDowns, job: StripDownJob, step: str) -> str:
    """`Mara, 2026-05-09 14:20`; empty while it is open."""
    ticked = jobs.ticked(job, step)
    return who_ticked(ticked) if ticked else ""


def cautions_at(step: str) -> Cautions:
    """What is cautioned at that step; at one of the shop's own, what holds for an open damper."""
    return STEPS.get(step, (OPEN,))


def doubts(job: StripDownJob, preferences: Preferences) -> list[str]:
    """What cannot be right of what was written down, a sentence each."""
    found = (
        (entry, figure_problem(entry, job.stored, preferences))
        for entry in entries("strip_down").values()
    )
    told = [f"{entry.label}: {problem}" for entry, problem in found if problem]
    record = job.record
    told += [
        f"“{record.steps[step]}” is ticked, and “{record.steps[before]}” before it is not"
        for step, before in out_of_order(record)
    ]
    for value, at, name in (
        (record.charge, record.charge_at, "the charge"),
        (record.gas_found, record.gas_found_at, "the gas that was found"),
    ):
        if value is not None and at is None:
            told.append(f"{name} has no temperature: nobody can compare it")
    return told


def out_of_order(record: StripDown) -> Iterator[tuple[str, str]]:
    """Each step that is ticked over one that is not, with the first such one before it."""
    opened = ""
    for step in record.in_order:
        if step not in record.done:
            opened = opened or step
        elif opened:
            yield step, opened


def shed_lines(jobs: StripDowns, serial: str, shed: Shed) -> Iterator[tuple[str, str]]:
    """(style, line) of that damper's jobs for the shed: the one in hand, and new seals that the
    dyno sheet which counts has not felt."""
    for job in jobs.of(serial):
        if job.is_open:
            yield "bold", f"strip-down {job_line(job).partition(': ')[2]}"
    build = shed.build(serial)
    sheet = shed.sheet(build) if build else None
    if build and sheet and (days := shed.resealed(build, sheet)):
        age = days_between(sheet.date, days[-1])
        yield (
            "bold",
            f"resealed {days[-1]}: its dyno sheet of {sheet.date} was run with the old seals, "
            f"{age} day{'' if age == 1 else 's'} before; {SEALS_IN_BAND}. A new bench run "
            "says what they did",
        )


def taken_over_words(values: Mapping[str, Any], build: str) -> str:
    """`the build before has bump stack, needle, and build B has not`; empty for none."""
    names = list(dict.fromkeys(path.partition(".")[0].replace("_", " ") for path in values))
    return f"the build before has {', '.join(names)}, and build {build} has not" if names else ""


def about(record: StripDown) -> Iterator[str]:
    """What the job is, a line each."""
    if record.why:
        yield one_line(record.why)
    if record.reseal:
        yield RESEALED
    day = f"planned for {record.date}" if record.date else ""
    who = f"by {record.who}" if record.who else ""
    if told := " ".join(part for part in (day, who) if part):
        yield told


def planned_lines(job: StripDownJob, preferences: Preferences) -> Iterator[str]:
    """What is planned of the build that comes of it, a line for each direction."""
    plan = planned_parts(job)
    for direction in ("bump", "rebound"):
        told = [
            f"{_named(path)} {describe_value('strip_down', path, value, preferences)}"
            for path, value in plan.items()
            if path.startswith(direction)
        ]
        if told:
            yield f"planned, {direction}: {', '.join(told)}"


def _named(path: str) -> str:
    entry = entries("strip_down").get(f"strip_down.{path}")
    return entry.label.lower() if entry else path.rpartition(".")[2]


def job_card(
    jobs: StripDowns, job: StripDownJob, preferences: Preferences, seen: Outlook | None = None
) -> Document:
    """The card that goes to the bench: each step with its box, what is written down there, and its
    caution at it; what is not known yet is a line to be filled in by hand."""
    record = job.record
    rows = [
        (
            DONE if step in record.done else TO_DO,
            _with_caution(record.steps[step], step),
            _boxes(job, step, preferences),
            ticked_by(jobs, job, step),
        )
        for step in record.in_order
    ]
    about_job = [*about(record), *planned_lines(job, preferences)]
    blocks: list[Block] = [
        Section(
            "Before a hand is on it", (Said(FIRST, "caution"), Said(whole((OPEN,)), "caution"))
        ),
        Section("What is done", tuple(Said(line) for line in about_job) or (Said("–"),)),
        Table(
            "Steps, in the order of the work", tuple(rows), ("", "step", "read, set", "who, when")
        ),
    ]
    if told := doubts(job, preferences):
        blocks.append(Section("To be looked at", tuple(Said(f"! {one}") for one in told)))
    if seen is not None:
        blocks += outlook_blocks(seen, preferences)
    blocks.append(Table("Signed", (("done", "", ""), ("checked", "", "")), ("", "name", "day")))
    blocks.append(Section("Cautions", tuple(Said(one.text) for one in _every_caution(record))))
    build = f" · build {record.build}" if record.build else ""
    return Document(f"{TITLE}: {record.damper}", f"{stage_words(job)}{build}", tuple(blocks))


def _with_caution(words: str, step: str) -> str:
    told = "; ".join(one.short for one in cautions_at(step))
    return f"{words} (! {told})" if told else words


def _boxes(job: StripDownJob, step: str, preferences: Preferences) -> str:
    """What is known, and a line to write on for what is not."""
    known = spread(job.stored)
    told = list(values_of(job, step, preferences))
    for name in VALUES.get(step, ()):
        if name not in known:
            entry = _entry(name)
            label = _label(name) or entry.label.lower()
            told.append(f"{label} ________ {entry.unit_in(preferences)}".strip())
    return ", ".join(told)


def _every_caution(record: StripDown) -> Cautions:
    told = [one for step in record.in_order for one in cautions_at(step)]
    return tuple(dict.fromkeys(told))
