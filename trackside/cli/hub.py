"""The team hub: meeting it, making it, and where logbook and hub stand."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say
from trackside.cli.sharing import carried_body, say_carried, say_open, say_problems
from trackside.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trackside.logbook.hub import Address, HubConnection, Roles, Team

TEAM_HELP = "Which team, for a login of several."


class _Hub(click.Group):
    """A group whose first word may be an address instead of a command."""

    def parse_args(self, click_context: click.Context, args: list[str]) -> list[str]:
        if not args or args[0] not in (*self.commands, *click_context.help_option_names):
            args = ["meet", *args]
        return super().parse_args(click_context, args)

    def format_options(self, click_context: click.Context, formatter: click.HelpFormatter) -> None:
        """The options of a meeting, which is what the group does without a command; then the
        commands."""
        params = self.commands["meet"].get_params(click_context)
        options = (one for one in params if isinstance(one, click.Option))
        records = [record for one in options if (record := one.get_help_record(click_context))]
        with formatter.section("Options"):
            formatter.write_dl(records)
        self.format_commands(click_context, formatter)


@click.group(
    cls=_Hub,
    short_help="Sync with the team's hub.",
    subcommand_metavar="[URL] [--team NAME] [--files] [--anew] [--json] | COMMAND",
)
def hub() -> None:
    """Take in what is new on the team's hub, then give it what is new here.

    The hub is a PostgreSQL database (15 or newer). URL is like postgresql://mara@hub.example/team
    and is remembered, without a password: keep that in ~/.pgpass or PGPASSWORD. Nothing is ever
    overwritten on either side, and nothing given can be taken back: look at the logbook first.
    Photos and files of notes go along only with --files; one that the keeper deletes from the hub
    comes back from a laptop that has it still.
    When the hub can't be reached the exit status is 3, and everything is kept here.
    """


@hub.command("meet", hidden=True)
@click.argument("url", required=False)
@click.option("--team", metavar="NAME", default="", help=TEAM_HELP)
@click.option("--files", is_flag=True, help="Take and give what notes name, too.")
@click.option("--anew", is_flag=True, help="Compare everything, not only what is new.")
@scripted
@click.pass_obj
def hub_meet(
    context: CommandContext, url: str | None, team: str, files: bool, anew: bool, as_json: bool
) -> None:
    """Take in what is new on the hub, then give it what is new here."""
    from trackside.logbook.attached import folder_of
    from trackside.logbook.hub import meet_files, remember, sync

    with _at_the_hub(url, team) as (address, wire, mine):
        if not url:
            _check_has_met(context, address, mine)
        with context.writer() as logbook:
            met = sync(logbook, wire, mine, anew=anew)
            open_ = len(logbook.open_conflicts())
            if url:
                remember(address.shown, team)
            carried = meet_files(logbook, wire, mine) if files else None
            here = folder_of(logbook.path)
    taken, given_files = carried or (None, None)
    if as_json:
        emit(
            {"logbook": context.log, "hub": address.shown, "team": mine.name, **met._asdict()}
            | {"conflicts": open_}
            | carried_body(taken, "files_taken")
            | carried_body(given_files, "files_given")
        )
        return
    given = f"{met.pushed} given" if mine.may_append else "none given: this login only reads"
    say(f"{met.pulled} revisions taken from the hub of {mine.name}, {given}")
    say_carried(taken, here)
    say_carried(given_files, f"the hub of {mine.name}")
    say_problems(met.problems)
    if met.left:
        say(f"{met.left} revisions of the hub could not be taken: they are tried again each time")
    say_open(open_)


def _check_has_met(context: CommandContext, address: Address, team: Team) -> None:
    """A hub that is only remembered is no place for a logbook that never went there."""
    from trackside.logbook.hub import status

    with context.reader() as logbook:
        if not status(logbook, team).has_met:
            raise BadInput(
                f"{context.log} has not met this hub yet, and what is given stays there",
                f"name the hub if this is the team's logbook: trackside hub {address.shown}",
            )


@hub.command("status", short_help="How far logbook and hub are apart.")
@click.argument("url", required=False)
@click.option("--team", metavar="NAME", default="", help=TEAM_HELP)
@scripted
@click.pass_obj
def hub_status(context: CommandContext, url: str | None, team: str, as_json: bool) -> None:
    """Say how far the logbook and the hub are apart; nothing is taken or given."""
    from trackside.logbook.hub import status

    with _at_the_hub(url, team) as (address, wire, mine), context.reader() as logbook:
        found = status(logbook, mine)
        how = wire.how
    if as_json:
        emit(
            {"logbook": context.log, "hub": address.shown, "team": mine.name}
            | {"may_append": mine.may_append, "connection": how, **found._asdict()}
        )
        return
    say(f"{address.shown}, {how}")
    say(f"team {mine.name}: this login {'reads and gives' if mine.may_append else 'only reads'}")
    say(f"{found.there} revisions on the hub, {found.to_pull} of them not looked at yet")
    say(f"{found.here} revisions here, {found.to_push} of them not offered yet")
    if found.left:
        say(f"{found.left} revisions of the hub could not be taken")


@hub.command("init", short_help="Make a hub, or a team on it.")
@click.argument("url")
@click.option("--team", metavar="NAME", required=True, help="The team's name.")
@click.option(
    "--partitions",
    metavar="N",
    type=click.IntRange(0, 256),
    default=0,
    help="Part a new hub's tables by team: for hundreds of teams.",
)
@scripted
def hub_init(url: str, team: str, partitions: int, as_json: bool) -> None:
    """Make the hub in the database of URL, if it has none, and the team with its two roles.

    URL needs a login that may make schemas and roles. A member of the crew role appends and reads;
    a member of the reader role reads. Neither can change or delete, nor see another team. A
    superuser's login also closes what the server tells every login of its tables and roles; give
    the hub a database of its own. An older hub is brought up to date, its roles are renamed then.
    """
    from trackside.logbook.hub import address_of, set_up, wire_to

    with wire_to(address_of(url)) as wire:
        roles = set_up(wire, team, partitions)
    if as_json:
        emit(roles._asdict())
    else:
        _say_roles(roles)


@hub.command("set-aside", short_help="Keep back what a member should not have given.")
@click.argument("url")
@click.option("--team", metavar="NAME", required=True, help="The team's name.")
@click.option("--numbers", metavar="N-M", help="Revisions by their numbers on the hub.")
@click.option("--by", metavar="LOGIN", help="Only what this login gave.")
@click.option("--back", is_flag=True, help="Hand it out again.")
@scripted
def hub_set_aside(
    url: str, team: str, numbers: str | None, by: str | None, back: bool, as_json: bool
) -> None:
    """Hand out no more what a member should not have given; for whoever keeps the hub.

    Nothing is deleted: the list stays whole, and laptops that took it in before keep it. What is
    handed out again reaches those that passed it by with trackside hub --anew.
    """
    from trackside.logbook.hub import EVERY, address_of, set_aside, wire_to

    if not numbers and not by:
        raise click.UsageError("say what: --numbers N-M, --by LOGIN, or both")
    chosen = _numbers(numbers) if numbers else EVERY
    with wire_to(address_of(url)) as wire:
        given = set_aside(wire, team, chosen, by, back)
    if as_json:
        emit({"team": team, "revisions": sum(given.values()), "given_by": given, "back": back})
        return
    done = "handed out again" if back else "set aside"
    say(f"{sum(given.values())} revisions {done}", *(f"  {n} of {who}" for who, n in given.items()))


def _numbers(text: str) -> tuple[int, int]:
    """`7` or `7-20`, first and last."""
    first, _, last = text.partition("-")
    if not (first.isdecimal() and (last or first).isdecimal()) or len(text) > 30:
        raise BadInput("--numbers takes one number, or the first and the last", "as in 7-20")
    return int(first), int(last or first)


def _say_roles(roles: Roles) -> None:
    say(f"team {roles.team} {'is made' if roles.is_new else 'is there already'}; its roles:")
    say(f"  {roles.crew}  appends and reads", f"  {roles.reader}  reads")
    say(
        "A login for each person, in psql; then \\password NAME asks for the password:",
        f"  CREATE ROLE mara LOGIN IN ROLE {roles.crew};",
    )
    if not roles.is_closed:
        say(
            "This login is no superuser, so the server's own statistics stay open: every login can",
            "read there how many rows the hub has in all, and which logins there are. A superuser",
            "closes them by running the same line.",
        )


@contextmanager
def _at_the_hub(url: str | None, team: str) -> Iterator[tuple[Address, HubConnection, Team]]:
    """The hub of that URL, or the one that is remembered, with this login's team."""
    from trackside.logbook.hub import address_of, recall, team_of, wire_to

    if not url:
        known = recall()
        if known is None:
            raise BadInput("no hub is known yet", "name one: trackside hub postgresql://…")
        url, team = known.url, team or known.team
    address = address_of(url)
    with wire_to(address) as wire:
        yield address, wire, team_of(wire, team)
