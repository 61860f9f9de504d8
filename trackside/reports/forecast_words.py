"""The forecast of a planned build in words: before the bench, as it was kept, and against it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from trackside.analysis.forecast import Alone, Forecast, Proof, TrackRecord
from trackside.crew.forecasts import Outlook
from trackside.errors import NoEstimate
from trackside.preferences import Preferences
from trackside.records.strip_down import ForecastPoint, KeptForecast
from trackside.reports.document import Block, Said, Section, Table
from trackside.reports.formatting import force, percent, speed
from trackside.reports.naming import moment_in_words
from trackside.reports.origin_words import origin_words

NO_BUILD = "No new build comes of this job: there is nothing to forecast."
NOT_KEPT = "No forecast was kept before the bench run: there is nothing to compare."
NAMES = ("click", "speed", "forecast", "bench", "%", "")


def outlook_blocks(found: Outlook, preferences: Preferences) -> list[Block]:
    """All that is known, as parts of a page; nothing where no build comes of the job."""
    if found.build is None:
        return []
    name = found.build.version
    blocks: list[Block] = []
    for direction, one in found.fresh.items():
        title = f"Forecast of build {name}: {direction}, {preferences.unit('force')}"
        if isinstance(one, NoEstimate):
            blocks.append(Section(title, (Said(f"no forecast: {one}"),)))
            continue
        names, rows = forecast_table(one.points, preferences)
        blocks.append(Table(title, rows, names))
        blocks.append(Section("It rests on", tuple(Said(line) for line in rests_on(one))))
    if found.against is not None and found.kept:
        blocks.append(
            Table(
                f"Build {name}: forecast against bench, {preferences.unit('force')}",
                tuple(proof_rows(found.against, preferences)),
                NAMES,
            )
        )
    said = [*_kept_lines(found, preferences)]
    if said:
        blocks.append(Section("Forecast and bench", tuple(Said(line) for line in said)))
    return blocks


def outlook_lines(found: Outlook, preferences: Preferences) -> Iterator[tuple[str, str]]:
    """The same as (style, line), for a screen or a terminal."""
    if found.build is None:
        yield "", NO_BUILD
    for block in outlook_blocks(found, preferences):
        if isinstance(block, Table):
            yield "bold", block.title
            for n, line in enumerate(_padded((block.names, *block.rows))):
                yield ("underline" if n == 0 else ""), f"  {line}"
        elif isinstance(block, Section):
            for said in block.said:
                yield "", f"  {said.text}"


def _padded(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    wide = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    for row in rows:
        yield "  ".join(cell.rjust(wide[n]) for n, cell in enumerate(row)).rstrip()


def forecast_table(
    points: Sequence[ForecastPoint], preferences: Preferences
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Names of the columns, and a row for each position: force with its band at each speed."""
    speeds = list(dict.fromkeys(point.speed for point in points))
    names = ("click", *(f"{speed(v, preferences)} {preferences.unit('speed')}" for v in speeds))
    rows = []
    for position, here in groupby(points, key=lambda point: point.position):
        cells = [_between(one, preferences) for one in here]
        rows.append(("" if position is None else f"{position:g}", *cells))
    return names, tuple(rows)


def _between(one: ForecastPoint, preferences: Preferences) -> str:
    """`746 607–917`."""
    at, low, high = (force(newton, preferences) for newton in (one.force, one.low, one.high))
    return f"{at} {low}–{high}"


def rests_on(found: Forecast) -> Iterator[str]:
    """What a forecast is from, and how much surer it is than the parts alone."""
    yield f"{found.direction}: {origin_words(found.origin)}"
    pairs = [(p, a) for p, a in zip(found.points, found.alone, strict=True) if a]
    if found.origin.kind == "carried over" and pairs:
        own, alone = (_half_band([pair[n] for pair in pairs]) for n in (0, 1))
        yield f"its band is ±{own:.0f} % on average; the parts alone give ±{alone:.0f} %"


def _half_band(points: Sequence[ForecastPoint | Alone]) -> float:
    wide = [(one.high - one.low) / one.force for one in points if one.force > 0.0]
    return 50.0 * sum(wide) / len(wide) if wide else 0.0


def proof_rows(found: Proof, preferences: Preferences) -> Iterator[tuple[str, ...]]:
    """A row for each point that the bench ran: forecast with band, bench, miss, inside or not."""
    for one in found.checked:
        at = one.point
        yield (
            f"{at.direction} {'' if at.position is None else f'{at.position:g}'}".strip(),
            speed(at.speed, preferences, with_unit=True),
            _between(at, preferences),
            force(one.measured, preferences),
            percent(100.0 * one.miss),
            "inside" if one.inside else "OUTSIDE",
        )


def _kept_lines(found: Outlook, preferences: Preferences) -> Iterator[str]:
    if found.kept:
        yield kept_words(found.kept)
    elif not found.fresh:
        yield NOT_KEPT
    if found.against is not None:
        yield proof_words(found.against)
    if found.shop is not None:
        yield shop_words(found.shop)


def kept_words(kept: KeptForecast) -> str:
    """`a forecast of build B was kept 2026-05-09 14:20`."""
    return f"a forecast of build {kept.build} was kept {moment_in_words(kept.at)}"


def proof_words(found: Proof) -> str:
    """`18 of 20 points inside the band, the bench 4 % higher on average; 4 were not run`."""
    if not found.checked:
        return "the bench ran none of the positions and speeds that were forecast"
    inside = sum(one.inside for one in found.checked)
    off = 100.0 * sum(one.miss for one in found.checked) / len(found.checked)
    left = f"; {found.not_run} were not run" if found.not_run else ""
    return f"{inside} of {len(found.checked)} points inside the band, {_off(off)}{left}"


def shop_words(found: TrackRecord) -> str:
    """How good the shop's forecasts have been."""
    builds = "1 build" if found.builds == 1 else f"{found.builds} builds"
    share = 100.0 * found.inside / found.points
    return (
        f"the shop's forecasts so far: {builds}, {share:.0f} % of {found.points} points inside the "
        f"band, off by {100.0 * found.miss:.0f} % on average, {_off(100.0 * found.off)}"
    )


def _off(of: float) -> str:
    if abs(of) < 0.5:
        return "the bench neither higher nor lower on average"
    return f"the bench {abs(of):.0f} % {'higher' if of > 0 else 'lower'} on average"
