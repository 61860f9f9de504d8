"""A team on the hub: which one a login belongs to, and making a new one."""

from __future__ import annotations

import secrets
import uuid
from typing import TYPE_CHECKING, Final, NamedTuple

from trackside.errors import BadInput, HubError
from trackside.logbook.hub.closing import close
from trackside.logbook.hub.connection import HubConnection
from trackside.logbook.hub.doors import CREW_GROUP, DOORS, READER_GROUP, from_first
from trackside.logbook.hub.file_doors import FILE_DOORS, takes_files
from trackside.logbook.hub.schema import ASIDE, SCHEMA, VERSION, schema
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook.hub.connection import Step

LONGEST_NAME: Final = 80


class Team(NamedTuple):
    """A team as this login sees it; `number` and `chain` are those of its last revision."""

    id: int
    code: str
    name: str
    may_append: bool
    number: int
    chain: bytes


class Roles(NamedTuple):
    """A team's two roles, whether they were made just now, and whether the server's own statistics
    are closed to them."""

    team: str
    crew: str
    reader: str
    is_new: bool
    is_closed: bool = False


def team_of(wire: HubConnection, name: str = "") -> Team:
    """The team of this login, or of that `name` among several; HubError when there is none."""
    check_version(wire)
    found = [
        Team(*row)
        for row in wire.ask(
            "SELECT id, code, name, may_append, number, chain FROM trackside_hub.teams()"
        )
    ]
    chosen = [team for team in found if team.name == name] if name else found
    if not found or (name and not chosen):
        raise HubError(
            f"This login belongs to no team “{one_line(name)}” on the hub"
            if name
            else "This login belongs to no team on the hub",
            "ask the hub's administrator to make it a member of the team's crew or reader role",
        )
    if len(chosen) > 1:
        some = ", ".join(team.name for team in chosen[:8]) + (" …" if len(chosen) > 8 else "")
        raise BadInput(f"This login belongs to several teams ({some})", "say which, with --team")
    return chosen[0]


def check_version(wire: HubConnection) -> None:
    """HubError where the hub is of another version than this program's."""
    if _version(wire) < VERSION:
        raise HubError(
            "The hub was made by an older trackside",
            "its administrator brings it up to date: trackside hub init URL --team NAME",
        )


def _version(wire: HubConnection) -> int:
    [(version,)] = wire.ask("SELECT version FROM trackside_hub.about")
    if version > VERSION:
        raise HubError("The hub was made by a newer trackside", "update trackside here")
    return int(version)


def set_up(wire: HubConnection, name: str, partitions: int = 0) -> Roles:
    """Make the hub, if the database has none, or bring an older one up to date; and the team with
    its roles, if it is new.

    The login must be allowed to make schemas and roles. BadInput for a name that is none, and for
    partitions of a hub that is there.
    """
    name = one_line(name)
    if not 0 < len(name) <= LONGEST_NAME:
        raise BadInput("This is no name for a team", f"give one to {LONGEST_NAME} letters")
    [(encoding, there)] = wire.ask(
        "SELECT current_setting('server_encoding'), to_regnamespace(%s) IS NOT NULL", SCHEMA
    )
    if encoding != "UTF8":
        raise HubError(
            f"The database is kept in {encoding}", "make one with createdb --encoding UTF8"
        )
    if there and partitions:
        raise BadInput(
            "The hub is there already, and its tables can be parted only when it is made",
            "leave --partitions out, or name another database",
        )
    making = "" if there else schema(partitions) + DOORS + FILE_DOORS
    if there and _version(wire) < VERSION:
        wire.run(from_first(ASIDE))
    if there and not takes_files(wire):
        wire.run(FILE_DOORS)
    known = there and wire.ask("SELECT crew, reader FROM trackside_hub.team WHERE name = %s", name)
    if known:
        [(crew, reader)] = known
        return Roles(name, crew, reader, is_new=False, is_closed=close(wire))
    code = uuid.uuid4()
    stem = f"trackside_{code.hex[:16]}"  # every login can read the name of every role
    roles = Roles(name, f"{stem}_crew", f"{stem}_reader", is_new=True)
    wire.run(making, *_making(roles, code))
    return roles._replace(is_closed=close(wire))


def _making(roles: Roles, code: uuid.UUID) -> list[Step]:
    """Statements with their identifiers and values."""
    return [
        ("CREATE ROLE {} NOLOGIN", (roles.reader,), ()),
        ("CREATE ROLE {} NOLOGIN", (roles.crew,), ()),
        ("GRANT {} TO {}", (READER_GROUP, roles.reader), ()),
        ("GRANT {} TO {}", (CREW_GROUP, roles.crew), ()),
        ("GRANT {} TO {}", (roles.reader, roles.crew), ()),
        (
            "INSERT INTO trackside_hub.team (id, code, name, crew, reader)"
            " OVERRIDING SYSTEM VALUE VALUES (%s, %s, %s, %s, %s)",
            (),
            (_any_number(), str(code), roles.team, roles.crew, roles.reader),
        ),
    ]


def _any_number() -> str:
    """A team's number that does not say how many there are."""
    return str(1 + secrets.randbelow((1 << 31) - 1))
