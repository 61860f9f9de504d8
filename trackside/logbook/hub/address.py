"""Where the hub is, and how it may be reached: over TLS, unless it is on this machine.

The password of a URL goes to the server and nowhere else: it is not kept, shown or put into an
error. PGPASSWORD and the password file work as with every PostgreSQL client.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import ip_address
from pathlib import Path
from typing import Final
from urllib.parse import parse_qsl, quote, unquote, urlencode, urlsplit, urlunsplit

from trackside.errors import BadInput
from trackside.units import clean

SPELLED: Final = "give one like postgresql://mara@hub.example/team"
SCHEMES: Final = ("postgresql", "postgres")
PROVED: Final = "verify-full"
ENCRYPTED: Final = (PROVED, "verify-ca", "require")
_SECRET: Final = ("password", "sslpassword", "oauth_client_secret", "scram_client_key")
_PATIENCE: Final = {
    "connect_timeout": "10",
    "keepalives_idle": "10",
    "keepalives_interval": "5",
    "keepalives_count": "3",
    "tcp_user_timeout": "30000",
}
"""What a network that comes and goes needs (s; the last in ms), unless the URL says otherwise."""


@dataclass(frozen=True)
class Address:
    """A hub's address. `shown` is the URL without a password; `secrets` never leave this object."""

    shown: str
    hosts: tuple[str, ...]
    options: Mapping[str, str]
    secrets: dict[str, str] = field(default_factory=dict, repr=False)

    def is_local(self, environ: Mapping[str, str] = os.environ) -> bool:
        """Whether it can only be on this machine: a Unix socket or a loopback address."""
        if "service" in self.options or environ.get("PGSERVICE"):
            return False
        named = (*self.hosts, *_parted(self.options.get("host", "")))
        hosts = named or _parted(environ.get("PGHOST", ""))
        addresses = _parted(self.options.get("hostaddr") or environ.get("PGHOSTADDR", ""))
        return all(_is_here(host) for host in (*hosts, *addresses))

    def parameters(self, environ: Mapping[str, str] = os.environ) -> dict[str, str]:
        """What libpq needs beside the URL; BadInput where the connection would be in the clear."""
        found = {name: value for name, value in _PATIENCE.items() if name not in self.options}
        found |= {"client_encoding": "UTF8", "application_name": "trackside"}
        if self.is_local(environ):
            return found | self.secrets
        asked = self.options.get("sslmode") or environ.get("PGSSLMODE") or PROVED
        if asked not in ENCRYPTED:
            raise BadInput(
                f"sslmode={clean(asked)} would let the hub be reached unencrypted",
                f"say sslmode={PROVED}, and sslrootcert=FILE where the hub's certificate is your "
                "own; without TLS a hub is reached on this machine only",
            )
        found |= {"sslmode": asked, "gssencmode": "disable"}
        if asked == PROVED and not self._knows_a_root(environ):
            found["sslrootcert"] = "system"
        return found | self.secrets

    def _knows_a_root(self, environ: Mapping[str, str]) -> bool:
        named = self.options.get("sslrootcert") or environ.get("PGSSLROOTCERT")
        return bool(named) or (Path.home() / ".postgresql" / "root.crt").exists()


def address_of(url: str) -> Address:
    """The address in a URL; BadInput, without the URL in it, when it is none."""
    try:
        parts = urlsplit(url)
        pairs = parse_qsl(parts.query, keep_blank_values=True, strict_parsing=bool(parts.query))
    except ValueError:
        raise BadInput("This is not the address of a hub", SPELLED) from None
    is_cut = "@" in parts.path + parts.query + parts.fragment
    if is_cut and parts.scheme in SCHEMES:  # what follows the cut would be taken for a place
        raise BadInput(
            "This is not the address of a hub", "write / ? and # in a password as %2F %3F %23"
        )
    if parts.scheme not in SCHEMES or clean(url) != url or parts.fragment or "\n" in url:
        raise BadInput("This is not the address of a hub", SPELLED)
    login, _, place = parts.netloc.rpartition("@")
    user, _, password = login.partition(":")
    secrets = {name: value for name, value in pairs if name in _SECRET}
    if password:
        secrets["password"] = unquote(password)
    options = {name: value for name, value in pairs if name not in _SECRET}
    netloc = f"{user}@{place}" if user else place
    shown = urlunsplit(
        (SCHEMES[0], netloc, parts.path, urlencode(options, quote_via=quote, safe="/"), "")
    )
    if not netloc and not shown.startswith(f"{SCHEMES[0]}://"):
        shown = shown.replace(":", "://", 1)
    return Address(shown, tuple(filter(None, map(_host, place.split(",")))), options, secrets)


def _host(place: str) -> str:
    """The host of host:port, [v6]:port, or a Unix socket's folder that is percent-encoded."""
    if place.startswith("["):
        return place[1:].partition("]")[0]
    return unquote(place.partition(":")[0])


def _parted(text: str) -> tuple[str, ...]:
    return tuple(filter(None, text.split(",")))


def _is_here(host: str) -> bool:
    if host.startswith(("/", "@")) or host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False
