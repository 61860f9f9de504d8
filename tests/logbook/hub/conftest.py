"""One PostgreSQL server for all of these tests; each test has a hub and a team of its own."""

from __future__ import annotations

import itertools
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
import pytest

from tests.postgres import MISSING, Server, programs, server
from trackside.logbook import Logbook
from trackside.logbook.hub import (
    HubConnection,
    Roles,
    SyncResult,
    Team,
    address_of,
    set_up,
    sync,
    team_of,
    wire_to,
)

_numbers = itertools.count(1)


@contextmanager
def own_server(*settings: str) -> Iterator[Server]:
    """A server in a folder with a short name that another user may enter."""
    if programs() is None:
        pytest.skip(MISSING)
    folder = Path(tempfile.mkdtemp(prefix="hub-"))
    os.chmod(folder, 0o755)
    try:
        with server(folder / "pg", *settings) as running:
            yield running
    finally:
        shutil.rmtree(folder)


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    with own_server() as running:
        yield running


@dataclass
class Hub:
    """A hub with one team: a login of its crew, one of its readers, and the keeper's."""

    server: Server
    database: str
    roles: Roles
    crew: str
    reader: str
    password: str = "a p@ss/word"

    def url(self, user: str | None = None) -> str:
        return self.server.url(user or self.crew, self.database)

    def wire(self, user: str | None = None) -> AbstractContextManager[HubConnection]:
        return wire_to(address_of(self.url(user)))

    def ask(self, query: Any, *values: object, user: str = "keeper") -> list[tuple]:
        return self.server.ask(self.database, query, *values, user=user)

    def meet(self, logbook: Logbook, user: str | None = None, **how: bool) -> SyncResult:
        with self.wire(user) as wire:
            return sync(logbook, wire, team_of(wire), **how)

    def add_team(self, name: str) -> Hub:
        """Another team on the same hub, with logins of its own."""
        with self.wire("keeper") as wire:
            roles = set_up(wire, name)
        return _with_logins(self.server, self.database, roles)

    def hold(self, user: str | None = None) -> psycopg.Connection:
        """A bare connection, for what no program of ours would do."""
        return psycopg.connect(self.url(user))

    def team(self, user: str | None = None) -> Team:
        with self.wire(user) as wire:
            return team_of(wire)


def _with_logins(server: Server, database: str, roles: Roles) -> Hub:
    number = next(_numbers)
    crew = server.new_login(f'Mara "{number}', roles.crew, password=Hub.password)
    reader = server.new_login(f"eye{number}", roles.reader, password=Hub.password)
    return Hub(server, database, roles, crew, reader)


def make_hub(server: Server, database: str, partitions: int = 0) -> Hub:
    """A new hub in that database, which is made when it is missing; an older hub in it goes."""
    if server.ask("postgres", "SELECT 1 FROM pg_database WHERE datname = %s", database):
        server.ask(database, "DROP SCHEMA IF EXISTS trackside_hub CASCADE")
    else:
        server.new_database(database)
    with wire_to(address_of(server.url(database=database))) as wire:
        roles = set_up(wire, "Harrow Fen", partitions)
    return _with_logins(server, database, roles)


@pytest.fixture(params=[0, 4], ids=["one table", "parted"])
def hub(postgres: Server, request: pytest.FixtureRequest) -> Hub:
    """A hub in both of its shapes."""
    return make_hub(postgres, "work", request.param)


@pytest.fixture
def one(postgres: Server) -> Hub:
    """A hub in one table, where the shape makes no difference."""
    return make_hub(postgres, "work")


@pytest.fixture
def laptop(tmp_path: Path) -> Iterator[Callable[[str], Logbook]]:
    """Opens a laptop's logbook by its name, and closes it in the end."""
    opened: dict[str, Logbook] = {}

    def opening(name: str) -> Logbook:
        if name not in opened:
            path = tmp_path / f"{name}.trackside"
            opened[name] = Logbook.open(path, author=name.title(), device=name)
        return opened[name]

    yield opening
    for logbook in opened.values():
        logbook.close()
