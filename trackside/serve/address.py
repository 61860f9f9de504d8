"""Where the pages are served, and the names under which a browser may ask for them.

A page of another site can make a browser ask us, under that site's own name (a name that is made
to point at this machine). So the name a request was made for is checked, and so is the page it
came from.
"""

from __future__ import annotations

import errno
import ipaddress
import os
import socket
from contextlib import suppress
from dataclasses import dataclass
from urllib.parse import urlsplit

from trackside.errors import BadInput

LOOPBACK_NAMES = ("localhost",)


@dataclass(frozen=True)
class Address:
    """`host` and `port` are listened on; `names` are further names that lead here, each with or
    without a port: those of a reverse proxy, or of this machine on the network."""

    host: str = "127.0.0.1"
    port: int = 8000
    names: tuple[str, ...] = ()

    @property
    def beyond(self) -> bool:
        """Whether anybody but this machine is meant to reach it."""
        return bool(self.names) or not is_loopback(self.host)

    def listen(self) -> socket.socket:
        """A socket that listens there; BadInput says why there cannot be one."""
        try:
            found = socket.getaddrinfo(
                self.host, self.port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
            )
            family, _, _, _, place = found[0]
            return socket.create_server(place[:2], family=family, backlog=32)
        except (OSError, UnicodeError, OverflowError) as error:
            raise BadInput(*_why_not(self, error)) from error

    def knows(self, asked: str, reached: str) -> bool:
        """Whether `asked` (a Host header) is a name of ours, for a connection that came in at the
        address `reached`.

        On loopback every port is taken: a tunnel may begin at another one.
        """
        host, port = parted(asked)
        if not host:
            return False
        if any(_same_name(name, host, port, self.port) for name in self.names):
            return True
        if is_loopback(reached) and is_loopback(host):
            return True
        return _same_address(host, reached) and port in (self.port, None)


def parted(asked: str) -> tuple[str, int | None]:
    """Name (lower case, without brackets) and port of a Host header; an empty name when it is not
    one."""
    with suppress(ValueError):
        split = urlsplit(f"//{asked}")
        if asked and split.netloc == asked and not split.username and "@" not in asked:
            return (split.hostname or "").rstrip("."), split.port
    return "", None


def is_loopback(host: str) -> bool:
    """Whether that name or address is this machine alone."""
    if host.lower() in LOOPBACK_NAMES:
        return True
    with suppress(ValueError):
        return ipaddress.ip_address(host.partition("%")[0]).is_loopback
    return False


def network_of(address: str) -> str:
    """What one machine may hold as a whole, and so is counted as one: an address, or the 64 bits in
    front of an IPv6 address (RFC 4291, from memory: the rest is the machine's own to choose)."""
    with suppress(ValueError):
        parsed = ipaddress.ip_address(address.partition("%")[0])
        if isinstance(parsed, ipaddress.IPv4Address):
            return str(parsed)
        if parsed.ipv4_mapped is not None:
            return str(parsed.ipv4_mapped)
        return str(ipaddress.ip_network((parsed, 64), strict=False))
    return address


def _same_address(one: str, other: str) -> bool:
    with suppress(ValueError):
        parsed = ipaddress.ip_address(other.partition("%")[0])
        return ipaddress.ip_address(one) in (parsed, getattr(parsed, "ipv4_mapped", None))
    return False


def _same_name(name: str, host: str, port: int | None, served: int) -> bool:
    known, known_port = parted(name.lower())
    return known == host and port in ((known_port,) if known_port else (None, served))


def _why_not(address: Address, error: Exception) -> tuple[str, str]:
    """Cause and remedy."""
    code = getattr(error, "errno", None)
    if isinstance(error, (socket.gaierror, UnicodeError)) or code == errno.EADDRNOTAVAIL:
        return (
            f"{address.host} is not an address of this machine",
            "give one of its own with --host, or leave it out for this machine alone",
        )
    if code == errno.EADDRINUSE:
        return f"port {address.port} is in use", "name a free one with --port, as in --port 8010"
    if code == errno.EACCES:
        return f"port {address.port} is not ours to open", "take one above 1023 with --port"
    reason = os.strerror(code) if code else str(error)
    return f"{address.host} port {address.port} cannot be listened on ({reason})", "name another"
