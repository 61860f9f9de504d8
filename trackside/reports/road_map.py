"""A corner's map of a road: tyre load against body over all positions, drawn and told."""

from __future__ import annotations

from collections.abc import Iterator

from trackside.analysis.road_map import RoadMap
from trackside.charts import Series
from trackside.preferences import Preferences
from trackside.reports.road_words import scales

AXES = "body, rms in g, to the right; tyre load, rms in {} up"


def map_series(
    found: RoadMap, preferences: Preferences, other: RoadMap | None = None
) -> list[Series]:
    """A line over the bump positions for the hardest, the middle and the softest rebound; and the
    settings, as a point each."""
    body, force, _ = scales(preferences)
    columns = found.body.shape[1]
    roles = ("bump", "other", "rebound")
    series = []
    for role, column in zip(roles, dict.fromkeys((0, columns // 2, columns - 1)), strict=False):
        name = "" if found.shared or columns == 1 else f"reb {found.rebound[column]:g}"
        x, y = found.body[:, column] * body.factor, found.tyre[:, column] * force.factor
        series.append(Series(x, y, role, name, marked=[]))
    for role, name, one in (("before", "as set", found), ("after", "the other", other)):
        if one is not None:
            at = [one.here[2] * body.factor], [one.here[3] * force.factor]
            series.append(Series(*at, role, name))
    return series


def map_lines(
    found: RoadMap, preferences: Preferences, other: RoadMap | None = None
) -> Iterator[str]:
    """Where it stands, and where body and tyre load are least; between which they lie at all."""
    yield _at("as set", found, found.here, preferences)
    if other is not None:
        yield _at("the other", other, other.here, preferences)
    yield _at("least tyre load", found, found.least(found.tyre), preferences)
    yield _at("least body", found, found.least(found.body), preferences)
    body, force, _ = scales(preferences)
    ends = [
        f"{scale.text(float(rows.min()))} to {scale.text(float(rows.max()))} {scale.unit}"
        for scale, rows in ((body, found.body), (force, found.tyre))
    ]
    yield f"all {found.body.size} positions: body {ends[0]}, tyre load {ends[1]}"
    good = found.as_good(found.tyre), found.as_good(found.body)
    doubt = f"±{body.text(found.doubt[0])} {body.unit}, ±{force.text(found.doubt[1])} {force.unit}"
    yield f"the damper's band as set: {doubt}"
    yield f"as good as the least within it: {good[0]} for tyre load, {good[1]} for body"
    yield AXES.format(force.unit)


def _at(
    name: str, found: RoadMap, pair: tuple[float, float, float, float], preferences: Preferences
) -> str:
    body, force, _ = scales(preferences)
    knobs = (
        [f"both {pair[0]:g}"]
        if found.shared
        else [f"{way} {at:g}" for way, at in zip(("bump", "reb"), pair, strict=False) if at == at]
    )
    at = f"body {body.text(pair[2])} {body.unit}, tyre load {force.text(pair[3])} {force.unit}"
    return f"{name:<16}{' '.join(knobs):<16}{at}"
