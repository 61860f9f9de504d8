"""One corner over many sessions: the force it ran, and what was turned in between."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trackside.analysis.estimate import Estimate, Setting, Speeds, as_reason, estimate_at, setting
from trackside.analysis.shed import Shed
from trackside.errors import TracksideError
from trackside.records import Session


@dataclass(frozen=True)
class TrendPoint:
    """One session. `estimate` is None when there is none, and `why` says why; `moved` says what
    differs from the point before (position, damper), empty when nothing does."""

    session: str
    start: str
    estimate: Estimate | None
    why: str
    moved: str


def trend(
    sessions: Iterable[tuple[str, Session]],
    corner: str,
    direction: str,
    shed: Shed,
    speeds: Speeds,
) -> list[TrendPoint]:
    """The points in the order of `sessions` (oldest first), one estimate per distinct setting."""
    known: dict[tuple, Estimate] = {}
    points: list[TrendPoint] = []
    last: Setting | None = None
    for entity, session in sessions:
        try:
            at = setting(session, corner, direction, shed)
            key = (
                at.damper,
                at.build.version,
                at.from_hard,
                at.preload_from_hard,
                at.day if shed.reseals else "",
            )
            if key not in known:
                known[key] = estimate_at(at, shed, speeds)
        except TracksideError as error:
            points.append(TrendPoint(entity, session.start, None, str(as_reason(error)), ""))
            continue
        points.append(TrendPoint(entity, session.start, known[key], "", _moved(last, at)))
        last = at
    return points


def _moved(last: Setting | None, at: Setting) -> str:
    if last is None:
        return ""
    if last.damper != at.damper:
        return f"damper {at.damper}"
    if last.build != at.build:
        return f"build {at.build.version}"
    turned = []
    if at.from_hard != last.from_hard:
        turned.append(_turn(last.from_hard - at.from_hard))
    if None not in (at.preload_from_hard, last.preload_from_hard) and (
        at.preload_from_hard != last.preload_from_hard
    ):
        turned.append("preload " + _turn(last.preload_from_hard - at.preload_from_hard))  # type: ignore[operator]
    return ", ".join(turned)


def _turn(harder: float) -> str:
    return f"{abs(harder):g} {'harder' if harder > 0 else 'softer'}"
