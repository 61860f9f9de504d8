"""The verdict on a change, once it is known."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say, table
from trackside.errors import BadInput

if TYPE_CHECKING:
    from trackside.crew.verdicts import SaidOnce, Verdicts
    from trackside.logbook import Logbook


@click.command(short_help="What waits for its verdict; give it.")
@click.argument("which", required=False, metavar="[REASON]")
@click.argument("given", required=False, metavar="[VERDICT]")
@click.argument("words", required=False, default="")
@click.option("--reason", "why", default="", metavar="TEXT", help="Of a correction.")
@scripted
@click.pass_obj
def verdict(
    context: CommandContext,
    which: str | None,
    given: str | None,
    words: str,
    why: str,
    as_json: bool,
) -> None:
    """Which changes wait for their verdict; with REASON and VERDICT, give it.

    REASON is an id as this command lists it, or the session where only one waits. VERDICT is
    better, no difference, worse or unclear, or the start of it. WORDS say what it changed.
    """
    if which is None:
        with context.reader() as logbook:
            waiting = [*_verdicts(logbook, "", "").waiting()]
        _tell(waiting, as_json)
        return
    from trackside.crew.corrections import ReasonWanted
    from trackside.records.fields import VERDICTS, completed

    if completed(given or "", VERDICTS) not in VERDICTS:
        raise BadInput(f"“{given or ''}” is no verdict", f"say {', '.join(VERDICTS)}")
    context.must_exist()
    with context.writer() as logbook:
        said = _verdicts(logbook, "", "").named(which)
        verdicts = _verdicts(logbook, said.line.entity, why)
        try:
            write = verdicts.judged(said, completed(given or "", VERDICTS), words)
        except ReasonWanted:
            raise BadInput(
                "a correction after the event needs its reason", "give it with --reason"
            ) from None
        logbook.write(write)
        said = verdicts.named(said.entity)
    _tell([said], as_json)


def _verdicts(logbook: Logbook, session: str, why: str) -> Verdicts:
    from trackside.crew.corrections import Corrections
    from trackside.crew.verdicts import Verdicts

    corrections = Corrections(logbook, date.today)
    if session and why.strip():
        corrections.give(session, why.strip())
    return Verdicts(logbook, corrections)


def _tell(reasons: list[SaidOnce], as_json: bool) -> None:
    from trackside.reports.said_words import said_briefly

    if as_json:
        emit({"reasons": [_body(one) for one in reasons]})
        return
    if not reasons:
        say("No change waits for its verdict.")
    table(
        (one.entity[-6:], one.line.start, one.line.title, said_briefly(one.kind, one.record))
        for one in reasons
    )


def _body(one: SaidOnce) -> dict[str, Any]:
    body = one.record.body()
    return {"id": one.entity[-6:], "entity": one.entity, "waits": one.waits, **body}
