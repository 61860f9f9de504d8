"""Finding: kept set-ups, notes and reasons by their words, runs by anything that is on record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say, table
from trackside.errors import BadInput

if TYPE_CHECKING:
    from trackside.analysis.recall import Recalled
    from trackside.analysis.run_search import FoundRun
    from trackside.logbook import Logbook
    from trackside.preferences import Preferences

_NAMES = {"kept": "kept", "note": "note", "change": "reason"}


@click.command(short_help="Kept set-ups, notes, reasons and runs, by words and conditions.")
@click.argument("words", nargs=-1, metavar="WORDS...")
@click.option("--venue", default="", metavar="NAME", help="Where you are: its set-ups first.")
@click.option("--limit", type=click.IntRange(min=1), default=50, show_default=True)
@scripted
@click.pass_obj
def find(
    context: CommandContext, words: tuple[str, ...], venue: str, limit: int, as_json: bool
) -> None:
    """Kept set-ups, notes and reasons, then runs, that all WORDS fit.

    Runs go by anything on record: venue, driver, serial, tyre set, a phrase in double quotes; and
    by conditions on what the run sheet shows, in quotes: 'rebound > 8', 'hot fl between 1.8 and
    1.95 bar', 'driver = Vannick', 'date > 2026-05'. Kept set-ups also go by cold, hot, winner and
    comparisons of air, track, humidity, laps, fuel. Without words, the whole shelf. Bare numbers
    are in the crew's units, with --json in °C, L and so on.
    """
    preferences = context.tell_in(as_json)
    text = " ".join(words)
    with context.reader() as logbook:
        runs, total, refused = _runs(logbook, text, limit, preferences)
        found = _recalled(logbook, text, venue, limit, preferences, refused)
        short = {one.session: logbook.session_line(one.session).short for one in found}
    if as_json:
        bodies = (_recalled_body(item, preferences) for item in found)
        emit({
            "found": [{"id": short[i.session], **b} for i, b in zip(found, bodies, strict=True)],
            "runs_total": total,
            "runs": [_run_body(run, preferences) for run in runs],
        })  # fmt: skip
        return
    if not found and not runs:
        say("Nothing matches all of these words.")
    _say_recalled(found, short, preferences)
    _say_runs(runs, total, preferences)


def _runs(
    logbook: Logbook, text: str, limit: int, preferences: Preferences
) -> tuple[list[FoundRun], int, BadInput | None]:
    """The newest runs that fit, how many fit in all, and why the text cannot be asked of runs."""
    from trackside.analysis.run_query import read_query
    from trackside.analysis.run_search import Runs

    if not text.strip():
        return [], 0, None
    known = Runs(logbook)
    try:
        query = read_query(text, preferences.unit, known.items)
    except BadInput as error:
        return [], 0, error
    places = known.places(query)
    return [known.found(place, query) for place in places[:limit]], len(places), None


def _recalled(
    logbook: Logbook,
    text: str,
    venue: str,
    limit: int,
    preferences: Preferences,
    refused: BadInput | None,
) -> list[Recalled]:
    """What the shelf, notes and reasons have; nothing where they do not know what is asked of runs.
    BadInput where neither knows it."""
    from trackside.analysis.recall import find as recall

    try:
        return recall(
            logbook, text, venue=venue, shelf_only=False, limit=limit, unit=preferences.unit
        )
    except BadInput:
        if refused is not None:
            raise refused from None
        return []


def _say_recalled(found: list[Recalled], short: dict[str, str], preferences: Preferences) -> None:
    from trackside.reports.recall_words import conditions_words

    for item in found:
        place = " · ".join(p for p in (item.venue, item.date, item.car, item.driver) if p)
        say(f"{short[item.session]}  {_NAMES[item.kind]}: {item.title}  ({place})")
        conditions = conditions_words(item, preferences)
        for detail in (item.why, item.result and f"result: {item.result}", conditions):
            if detail:
                say(f"        {detail}")


def _say_runs(runs: list[FoundRun], total: int, preferences: Preferences) -> None:
    from trackside.reports.find_words import hits_words, run_words

    if not runs:
        return
    say(f"Runs: {total}")
    rows = [(one.run.short, *run_words(one.run), hits_words(one, preferences)) for one in runs]
    table(rows, indent=2)
    if len(runs) < total:
        say(f"{total - len(runs)} older ones are not shown.")


def _run_body(found: FoundRun, preferences: Preferences) -> dict[str, Any]:
    from trackside.reports.find_words import hit_words, run_words

    run = found.run
    date, venue, session, car, driver = run_words(run)
    return {
        "id": run.short, "entity": run.entity, "date": date, "venue": venue, "session": session,
        "car": car, "driver": driver,
        "matched": [{**vars(hit), "told": hit_words(hit, preferences)} for hit in found.hits],
    }  # fmt: skip


def _recalled_body(item: Recalled, preferences: Preferences) -> dict[str, Any]:
    from trackside.reports.recall_words import conditions_words, match_words

    facts = vars(item)
    return {
        **{name: value for name, value in facts.items() if name not in ("air", "track")},
        "conditions": conditions_words(item, preferences),
        "air_C": item.air,
        "track_C": item.track,
        "matched": [match_words(match, preferences) for match in item.matched],
    }
