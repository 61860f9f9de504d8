"""The connection to the hub: opened, watched, and its errors put into words without a secret."""

from __future__ import annotations

import re
import socket
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING, Any, Final

from trackside.errors import BadInput, HubAway, HubError, HubFull
from trackside.logbook.hub.address import PROVED, SPELLED, Address
from trackside.logbook.hub.doors import LONGEST_WAIT
from trackside.units import one_line

if TYPE_CHECKING:
    from typing import LiteralString

    import psycopg

    Step = tuple[LiteralString, tuple[str, ...], tuple[str, ...]]

OLDEST_SERVER: Final = 150000
SLOWEST_S: Final = 120.0
"""How long one question to the hub may take before the line counts as dead."""

_FULL: Final = "53"
_REFUSED: Final = {
    "28": (
        "The hub does not let this login in",
        "check the name and password, or ask the hub's administrator",
    ),
    "3D": ("The hub has no such database", "check the end of the address"),
    "42501": ("The hub does not allow this", "ask the hub's administrator for a login of the crew"),
    "42P01": ("There is no hub in that database", "make one with trackside hub init URL"),
    "3F": ("There is no hub in that database", "make one with trackside hub init URL"),
    "23": ("The hub refused what it was given", "check the logbook with trackside verify"),
    "22": ("The hub refused what it was given", "check the logbook with trackside verify"),
    _FULL: ("The hub has no room left", "tell the hub's administrator; everything is kept here"),
}
_AWAY: Final = ("08", "57", "40")
"""SQLSTATE classes (PostgreSQL documentation, appendix A, from memory) that pass by themselves."""
_HELD: Final = "55P03"
"""A lock was not to be had in time (the same)."""

_STRANGER: Final = ("authentication failed", "no password supplied", "no pg_hba.conf entry")
_UNTRUSTED: Final = ("certificate", "SSL")


class HubConnection:
    """An open connection. Each `ask` is a transaction of its own, so none is ever left open."""

    def __init__(self, connection: psycopg.Connection[tuple], address: Address) -> None:
        self._connection = connection
        self.address = address

    @property
    def is_encrypted(self) -> bool:
        """Whether TLS carries it."""
        return bool(self._connection.pgconn.ssl_in_use)

    @property
    def how(self) -> str:
        """How it is carried, in words."""
        if not self.is_encrypted:
            return "on this machine, not encrypted"
        asked = self._connection.info.get_parameters().get("sslmode")
        return "encrypted" if asked == PROVED else "encrypted, but who answers is not verified"

    def ask(self, query: LiteralString, *values: Any, slowest_s: float = 0.0) -> list[tuple]:
        """The rows that answer a query; HubAway when the hub went away, HubError if it refuses.
        `slowest_s` is for what takes longer than `SLOWEST_S`."""
        with in_words(self.address), self._watched(slowest_s or SLOWEST_S):
            cursor = self._connection.execute(query, values or None, binary=True)
            return cursor.fetchall() if cursor.description else []

    def run(self, script: str, *steps: Step) -> None:
        """Run our own `script`, then statements with identifiers and values: all or none."""
        from psycopg.sql import SQL, Identifier

        with in_words(self.address), self._watched(SLOWEST_S), self._connection.transaction():
            if script:
                self._connection.execute(script.encode())
            for statement, names, values in steps:
                quoted = SQL(statement).format(*map(Identifier, names))
                self._connection.execute(quoted, values or None)

    @contextmanager
    def _watched(self, slowest_s: float) -> Iterator[None]:
        """Cut the line when an answer takes too long: a dead network says nothing by itself."""
        watch = threading.Timer(slowest_s, _cut, (self._connection.fileno(),))
        watch.daemon = True
        watch.start()
        try:
            yield
        finally:
            watch.cancel()


@contextmanager
def wire_to(address: Address) -> Iterator[HubConnection]:
    """A connection to the hub; HubAway when it cannot be reached, HubError when it refuses."""
    try:
        import psycopg
    except ImportError as error:
        raise HubError(
            "The hub needs psycopg, which is not installed here",
            "install it with pip install 'trackside[hub]'",
        ) from error
    parameters = address.parameters()
    try:
        target = psycopg.conninfo.make_conninfo(address.shown, **parameters)
    except psycopg.Error:
        raise BadInput("This is not the address of a hub", SPELLED) from None
    with in_words(address):
        connection = psycopg.connect(target, autocommit=True, prepare_threshold=None)
    with closing(connection):
        wire = HubConnection(connection, address)
        _refuse_in_the_clear(wire, connection)
        if connection.info.server_version < OLDEST_SERVER:
            raise HubError(
                "The hub's PostgreSQL is older than 15", "ask the hub's administrator to update it"
            )
        wire.ask(
            "SELECT set_config('statement_timeout', '60s', false),"
            f" set_config('lock_timeout', '{LONGEST_WAIT}', false),"
            " set_config('default_transaction_isolation', 'read committed', false)"
        )
        yield wire


def _refuse_in_the_clear(wire: HubConnection, connection: psycopg.Connection[tuple]) -> None:
    """Whatever was asked for, what counts is what came of it."""
    if not wire.is_encrypted and not wire.address.is_local():
        connection.close()
        raise HubError("The hub answered unencrypted", "have its administrator turn TLS on")


def _cut(handle: int) -> None:
    """Shut a socket, whoever waits for it."""
    try:
        with socket.fromfd(handle, socket.AF_INET, socket.SOCK_STREAM) as line:
            line.shutdown(socket.SHUT_RDWR)
    except OSError:
        pass


@contextmanager
def in_words(address: Address) -> Iterator[None]:
    """psycopg's errors as the hub's."""
    import psycopg

    try:
        yield
    except psycopg.Error as error:
        raise _in_words(error, address) from None


def _in_words(error: psycopg.Error, address: Address) -> HubError:
    import psycopg

    state = error.sqlstate or ""
    said = _said(error, address)
    if state == _HELD:
        return HubAway(
            "Another member's transfer holds the team's list on the hub",
            "everything is kept here; run it again in a minute, and if it goes on have the hub's "
            "administrator end that connection",
        )
    if not state.startswith(_AWAY):
        for start, (cause, remedy) in _REFUSED.items():
            if state.startswith(start):
                kind = HubFull if start == _FULL else HubError
                return kind(f"{cause}{said}", remedy)
        if any(word in str(error) for word in _STRANGER) or re.search(
            'role ".*" does not exist', str(error)
        ):
            return HubError(f"{_REFUSED['28'][0]}{said}", _REFUSED["28"][1])
        if re.search('database ".*" does not exist', str(error)):
            return HubError(f"{_REFUSED['3D'][0]}{said}", _REFUSED["3D"][1])
        if any(word in str(error) for word in _UNTRUSTED) and "SYSCALL" not in str(error):
            return HubError(
                f"The hub cannot be trusted with TLS as it is{said}",
                "check sslrootcert in the address, and ask for the hub's certificate",
            )
        if not isinstance(error, psycopg.OperationalError):
            return HubError(f"The hub does not understand this program{said}", "update both")
    return HubAway(
        f"The hub can't be reached{said}", "everything is kept here; run it again when it can"
    )


def _said(error: psycopg.Error, address: Address) -> str:
    """The server's own first line in brackets; nothing where it repeats a secret."""
    detail = error.diag.message_primary or str(error).partition("\n")[0]
    if not detail or any(secret in str(error) for secret in address.secrets.values() if secret):
        return ""
    return f" ({one_line(detail)[:200].rstrip('.')})"
