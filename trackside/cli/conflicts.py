"""Where two laptops, or two windows, differ; and the decision of a person, with its reason."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say
from trackside.cli.sharing import say_open
from trackside.errors import UnknownRecord
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook import Conflict, Version

LETTERS = "abcdefghijklmnopqrstuvwxyz"
_LEAST = 4
"""Letters that name a conflict; more where two begin alike."""


@click.command(short_help="Where two laptops, or two windows, differ.")
@scripted
@click.pass_obj
def conflicts(context: CommandContext, as_json: bool) -> None:
    """Every value on which two laptops, or two windows, differ: what stood before, and each version
    with author and time. The names and letters are those of `settle`."""
    from trackside.reports.naming import place_in_words, record_in_words
    from trackside.reports.undone import spoken

    with context.reader() as logbook:
        found = logbook.open_conflicts()
        named_so = dict(zip(_names(found), found, strict=True))
        if as_json:
            emit([_body(name, dispute) for name, dispute in named_so.items()])
            return
        here = _this_laptop()
        for name, dispute in named_so.items():
            named = record_in_words(logbook, dispute.entity, dispute.kind)
            say(f"{name}  {place_in_words(dispute.path)}  ({named})")
            before, *values = (
                spoken(logbook, dispute.kind, dispute.path, value, context.preferences)
                for value in (dispute.before, *(version.value for version in dispute.versions))
            )
            said = "now     a counts, until it is decided" if dispute.twins else f"before  {before}"
            say(f"   {said}")
            for letter, version, value in zip(LETTERS, dispute.versions, values, strict=False):
                said = f"   {letter}       {value:<16} {_signed(version, here)}"
                say(said + (f": {version.reason}" if version.reason else ""))
    if found:
        say("Decide: trackside settle NAME a (or b, or --value VALUE) --why TEXT")
    else:
        say("No conflicts.")


@click.command(short_help="Decide a conflict.")
@click.argument("name")
@click.argument("version", required=False)
@click.option("--value", metavar="VALUE", help="Another value than any version's.")
@click.option("--why", default="", metavar="TEXT", help="The reason; it stays in the history.")
@scripted
@click.pass_obj
def settle(
    context: CommandContext,
    name: str,
    version: str | None,
    value: str | None,
    why: str,
    as_json: bool,
) -> None:
    """Settle the conflict NAME of `conflicts`: for VERSION (a, b …), or for another --value.

    Of what was entered twice, VERSION holds and takes what only the other has; with --value they
    are two things, and the second goes on under that name.

    A name stays while its versions do: it never comes to mean another conflict. The decision is a
    revision of its own; every version stays in the history.
    """
    from trackside.crew.deciding import for_text, for_version
    from trackside.crew.deciding import settle as decide
    from trackside.reports.naming import place_in_words, record_in_words
    from trackside.reports.undone import spoken

    if (version is None) == (value is None):
        raise click.UsageError("name one version (a, b …), or another value with --value")
    with context.writer() as logbook:
        dispute = _named(logbook.open_conflicts(), name)
        decision = (
            for_text(logbook, dispute, value or "", context.preferences)
            if version is None
            else for_version(dispute, _place_named(dispute, version))
        )
        revision = decide(logbook, decision, why)
        named = record_in_words(logbook, revision.entity, dispute.kind)
        told = spoken(logbook, dispute.kind, dispute.path, decision.value, context.preferences)
        if dispute.twins and version is None:
            told = "they are two things"
        left = len(logbook.open_conflicts())
    if as_json:
        body = {"entity": dispute.entity, "path": dispute.path, "value": decision.verdict}
        emit({**body, "reason": revision.reason, "revision": revision.rev, "conflicts": left})
        return
    say(f"{place_in_words(dispute.path)}: {told}  ({named})")
    say_open(left)


def _digest(dispute: Conflict) -> str:
    """Made of the place and of all its versions, so another version makes another name."""
    parts = (dispute.entity, dispute.path, *(version.rev for version in dispute.versions))
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def _names(found: list[Conflict]) -> list[str]:
    """A name for each: the first letters of its digest, as many as tell them all apart."""
    digests = [_digest(dispute) for dispute in found]
    letters = _LEAST
    while len({digest[:letters] for digest in digests}) < len(digests):
        letters += 1
    return [digest[:letters] for digest in digests]


def _named(found: list[Conflict], name: str) -> Conflict:
    """The one of that name, or whose longer name begins so."""
    is_name = len(name) >= _LEAST
    meant = [one for one in found if is_name and _digest(one).startswith(name.lower())]
    if len(meant) == 1:
        return meant[0]
    why = "two conflicts are named" if meant else "there is no conflict"
    raise UnknownRecord(f"{why} {one_line(name)}", "see trackside conflicts for the names")


def _place_named(dispute: Conflict, letter: str) -> int:
    offered = LETTERS[: len(dispute.versions)]
    if len(letter) != 1 or letter.lower() not in offered:
        raise UnknownRecord(f"there is no version “{letter}”", f"say {' or '.join(offered)}")
    return offered.index(letter.lower())


def _signed(version: Version, here: str) -> str:
    from trackside.reports.naming import moment_in_words, who_in_words

    who = who_in_words(version.author, version.device, here)
    return f"{who}, {moment_in_words(version.recorded_at)}"


def _this_laptop() -> str:
    """This laptop's name for revisions; "" when it has none yet."""
    from trackside.preferences import device_file

    try:
        return device_file().read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _body(name: str, dispute: Conflict) -> dict[str, Any]:
    versions = [
        {"version": letter, **version._asdict()}
        for letter, version in zip(LETTERS, dispute.versions, strict=False)
    ]
    return {"name": name, **dispute._asdict(), "versions": versions}
