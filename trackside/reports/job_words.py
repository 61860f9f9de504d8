"""Jobs in words: on a line, on the pit board, on a run's sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from trackside.crew.jobs import JobOnList, Jobs, Ticked
from trackside.reports.document import Said, Section
from trackside.reports.naming import moment_in_words
from trackside.units import one_line

OPEN, DONE = "□", "☑"
TITLE: Final = "Jobs before this run"


def job_words(job: JobOnList) -> str:
    """`□ Change front pads: Jo`, on one line."""
    who = f": {job.record.who}" if job.record.who else ""
    return f"{OPEN if job.is_open else DONE} {job.record.words}{who}"


def written_for(job: JobOnList) -> str:
    """`from practice 1, Harrow Fen 2026-05-09`; empty for a job of no run."""
    if job.line is None:
        return ""
    place = " ".join(part for part in (job.line.venue, job.line.start[:10]) if part)
    return f"from {job.line.title}" + (f", {place}" if place else "")


def ticked_words(ticked: Ticked | None) -> str:
    """`done: Mara, 2026-05-09 14:20`, by this computer's clock."""
    return f"done: {who_ticked(ticked)}" if ticked else ""


def who_ticked(ticked: Ticked) -> str:
    """`Mara, 2026-05-09 14:20`, by this computer's clock."""
    when = moment_in_words(ticked.recorded_at)[:16]
    return f"{one_line(ticked.author) or 'unsigned'}, {when}"


def counted(counts: Mapping[str, int]) -> str:
    """`3 jobs to do: Coupé 2, Tourer 1`; empty for none."""
    jobs = count_words(sum(counts.values()))
    return f"{jobs}: {', '.join(f'{car} {n}'.strip() for car, n in counts.items())}" if jobs else ""


def count_words(count: int) -> str:
    """`2 jobs to do`; empty for none."""
    return f"{count} job{'' if count == 1 else 's'} to do" if count else ""


def jobs_said(jobs: Jobs, session: str) -> list[Section]:
    """The jobs on the sheet of that run, a box before each; nothing where there are none."""
    said = [Said(_on_sheet(jobs, job, session)) for job in jobs.on_sheet(session)]
    return [Section(TITLE, tuple(said))] if said else []


def _on_sheet(jobs: Jobs, job: JobOnList, session: str) -> str:
    carried = written_for(job) if job.record.session != session else ""
    ticked = ticked_words(jobs.ticked(job))
    more: Sequence[str] = [part for part in (carried, ticked) if part]
    return job_words(job) + (f" ({'; '.join(more)})" if more else "")
