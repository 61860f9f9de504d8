"""A team on the hub: which one a login belongs to, and making a new one."""

from __future__ import annotations

import re
import unicodedata
import uuid
from typing import TYPE_CHECKING, Final, NamedTuple

from trackside.errors import BadInput, HubError
from trackside.logbook.hub.schema import SCHEMA, VERSION, schema
from trackside.logbook.hub.wire import Wire
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook.hub.wire import Step

LONGEST_NAME: Final = 80
CREW_GROUP: Final = "trackside_hub_crew"
READER_GROUP: Final = "trackside_hub_reader"
"""They hold the grants, and every team's roles are members: a table's list of grants must fit into
one page of the catalogue, which some hundreds of roles would fill."""


class Team(NamedTuple):
    """A team as this login sees it; `number` and `chain` are those of its last revision."""

    id: int
    code: str
    name: str
    may_append: bool
    number: int
    chain: bytes


class Roles(NamedTuple):
    """A team's two roles, and whether they were made just now."""

    team: str
    crew: str
    reader: str
    is_new: bool


def team_of(wire: Wire, name: str = "") -> Team:
    """The team of this login, or of that `name` among several; HubError when there is none."""
    _check_version(wire)
    found = [
        Team(*row)
        for row in wire.ask(
            "SELECT id, code::text, name, pg_has_role(session_user, crew::name, 'USAGE'), number,"
            " chain FROM trackside_hub.team ORDER BY name"
        )
    ]
    chosen = [team for team in found if team.name == name] if name else found
    if not found or (name and not chosen):
        raise HubError(
            f"This login belongs to no team “{one_line(name)}” on the hub"
            if name
            else "This login belongs to no team on the hub",
            "ask its keeper to make it a member of the team's crew or reader role",
        )
    if len(chosen) > 1:
        some = ", ".join(team.name for team in chosen[:8]) + (" …" if len(chosen) > 8 else "")
        raise BadInput(f"This login belongs to several teams ({some})", "say which, with --team")
    return chosen[0]


def _check_version(wire: Wire) -> None:
    [(version,)] = wire.ask("SELECT version FROM trackside_hub.about")
    if version > VERSION:
        raise HubError("The hub was made by a newer trackside", "update trackside here")


def set_up(wire: Wire, name: str, partitions: int = 0) -> Roles:
    """Make the hub, if the database has none, and the team with its roles, if it is new.

    The login must be allowed to make schemas and roles. BadInput for a name that is none.
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
    if there:
        _check_version(wire)
        known = wire.ask("SELECT crew, reader FROM trackside_hub.team WHERE name = %s", name)
        if known:
            crew, reader = known[0]
            return Roles(name, crew, reader, is_new=False)
    code = uuid.uuid4()
    stem = f"trackside_{_slug(name)}_{code.hex[-6:]}"
    roles = Roles(name, f"{stem}_crew", f"{stem}_reader", is_new=True)
    wire.run("" if there else schema(partitions) + _GRANTS, *_making(roles, code))
    return roles


def _making(roles: Roles, code: uuid.UUID) -> list[Step]:
    """Statements with their identifiers and values."""
    return [
        ("CREATE ROLE {} NOLOGIN", (roles.reader,), ()),
        ("CREATE ROLE {} NOLOGIN", (roles.crew,), ()),
        ("GRANT {} TO {}", (READER_GROUP, roles.reader), ()),
        ("GRANT {} TO {}", (CREW_GROUP, roles.crew), ()),
        ("GRANT {} TO {}", (roles.reader, roles.crew), ()),
        (
            "INSERT INTO trackside_hub.team (code, name, crew, reader) VALUES (%s, %s, %s, %s)",
            (),
            (str(code), roles.team, roles.crew, roles.reader),
        ),
    ]


def _slug(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub("[^a-z0-9]+", "_", plain).strip("_")[:24] or "team"


_GRANTS: Final = f"""
DO $$ BEGIN
  IF to_regrole('{READER_GROUP}') IS NULL THEN CREATE ROLE {READER_GROUP} NOLOGIN; END IF;
  IF to_regrole('{CREW_GROUP}') IS NULL THEN CREATE ROLE {CREW_GROUP} NOLOGIN; END IF;
END $$;
GRANT USAGE ON SCHEMA trackside_hub TO {READER_GROUP}, {CREW_GROUP};
GRANT SELECT ON trackside_hub.about, trackside_hub.team, trackside_hub.revision TO {READER_GROUP};
GRANT EXECUTE ON FUNCTION trackside_hub.append(int, bytea[], text[]) TO {CREW_GROUP};
"""
