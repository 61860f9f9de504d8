"""The forecast of a build that a strip-down job plans: made, kept, and set against the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from trackside.analysis.forecast import (
    Forecast,
    Proof,
    TrackRecord,
    forecast,
    proof,
    track_record,
)
from trackside.analysis.shed import Shed
from trackside.crew.strip_downs import StripDownJob, StripDowns
from trackside.errors import BadInput, NoEstimate
from trackside.logbook import Logbook, Write, patch
from trackside.logbook.clock import now, stamp
from trackside.logbook.uuid7 import uuid7
from trackside.records import Build
from trackside.records.strip_down import KeptForecast


@dataclass(frozen=True)
class Outlook:
    """What is known of the curve of a job's build: `build` as it is planned, or as it is by now;
    `fresh`, each direction or why there is none, while no bench has run it; `kept`, the forecast
    that was kept last; `against` the bench; and how good the shop's forecasts have been."""

    build: Build | None
    kept: KeptForecast | None = None
    fresh: dict[str, Forecast | NoEstimate] = field(default_factory=dict)
    against: Proof | None = None
    shop: TrackRecord | None = None


def outlook(logbook: Logbook, job: StripDownJob, speeds: Sequence[float]) -> Outlook:
    """All of that, at rod speeds (m/s). Fits sheets: not for the thread that draws."""
    jobs = StripDowns(logbook)
    build, kept, shed = jobs.build_to_come(job), jobs.again(job).record.forecast, Shed.of(logbook)
    if build is None:
        return Outlook(None)
    benched = shed.sheet(build) is not None
    against = proof(kept, build, shed) if kept and kept.build == build.version else None
    fresh = {} if benched else forecast(build, shed, speeds)
    return Outlook(build, kept, fresh, against, track_record(_proofs(jobs, shed)))


def _proofs(jobs: StripDowns, shed: Shed) -> list[Proof]:
    """Of every job whose build was forecast and then ran on a bench."""
    found = []
    for job in jobs.all():
        kept, build = job.record.forecast, shed.build(job.record.damper, job.record.build or "")
        if kept and build and kept.build == build.version and (one := proof(kept, build, shed)):
            found.append(one)
    return found


def kept_forecast(logbook: Logbook, job: StripDownJob, speeds: Sequence[float]) -> Write | None:
    """What keeps the forecast as it is now; None where the last one says the same. BadInput where
    no build comes of the job, or a bench has run it: that would be no forecast. NoEstimate where
    nothing can be forecast."""
    jobs = StripDowns(logbook)
    job, shed = jobs.again(job), Shed.of(logbook)
    build = jobs.build_to_come(job)
    if build is None:
        raise BadInput("no new build comes of this job", "there is nothing to forecast")
    if shed.sheet(build) is not None:
        raise BadInput(
            f"build {build.version} has been on the bench",
            "a forecast is kept before that; the last one is compared with the sheet",
        )
    found = forecast(build, shed, speeds)
    made = [one for one in found.values() if isinstance(one, Forecast)]
    if not made:
        raise next(one for one in found.values() if isinstance(one, NoEstimate))
    kept = KeptForecast(
        at=stamp(now()),
        build=build.version,
        basis={one.direction: one.origin.kind for one in made},
        points=tuple(point for one in made for point in one.points),
    )
    last = job.record.forecast
    if last and (last.build, last.points) == (kept.build, kept.points):
        return None
    name = f"forecasts.{uuid7()[-12:]}"
    reason = "before the bench run"
    return patch("strip_down", job.entity, {name: kept.body()}, reason=reason)
