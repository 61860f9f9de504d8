"""All that the run sheet's panel says about the setting under the cursor, calculated once a key."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import Estimate, Floats, Setting, Speeds, drawn_speeds, setting
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.worth import ForceStep, moved, step_or_why
from trackside.errors import TracksideError
from trackside.records import Session


@dataclass(frozen=True)
class PanelData:
    """A setting and its neighbours, all at the same rod speeds: first the `reference` ones, then
    those that are drawn. `before` is the session before, None when it ran the same or is unknown;
    `since` the change from it, `click` the change of one step harder, None at the stop and without
    an adjuster. Where either has no estimate, `no_since` or `no_click` says why."""

    at: Setting
    reference: int
    estimate: Estimate
    before: Estimate | None
    since: ForceStep | None
    click: ForceStep | None
    no_since: str = ""
    no_click: str = ""


def speeds_for(reference: Speeds, peak: float) -> Floats:
    """The reference rod speeds (m/s), then those that are drawn up to `peak`."""
    return np.concatenate([np.asarray(reference, float), drawn_speeds(peak)])


def panel_data(
    session: Session,
    before: Session | None,
    corner: str,
    direction: str,
    known: EstimateCache,
    reference: int,
) -> PanelData:
    """The panel of that direction of a corner; `known` at the speeds of `speeds_for`, the
    first `reference` of them the reference ones. NoEstimate says why there is none."""
    shed = known.shed
    at = setting(session, corner, direction, shed)
    now = known.at(at)
    then = _then(before, at, known)
    harder = moved(at, at.adjuster, at.adjuster.step) if at.adjuster else None
    since, no_since = step_or_why(then, at, shed) if then is not None else (None, "")
    click, no_click = step_or_why(now, harder, shed)
    return PanelData(at, reference, now, then, since, click, no_since, no_click)


def _then(before: Session | None, at: Setting, known: EstimateCache) -> Estimate | None:
    if before is None:
        return None
    try:
        was = setting(before, at.corner, at.direction, known.shed)
        return None if was == at else known.at(was)
    except TracksideError:
        return None
