"""A PostgreSQL server of our own: a cluster in a folder, a Unix socket, and TCP with TLS."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg
import trustme
from psycopg.sql import SQL, Identifier, Literal

PLACES = "/usr/lib/postgresql/*/bin"
MISSING = "no PostgreSQL server is found: install Debian's package postgresql (15 or newer)"
KEEPER = "keeper"


def programs() -> Path | None:
    """The folder of initdb and postgres; None when they are not installed."""
    found = sorted(Path("/").glob(PLACES[1:] + "/initdb"), key=lambda p: int(p.parts[-3]))
    if found:
        return found[-1].parent
    elsewhere = shutil.which("initdb")
    return Path(elsewhere).resolve().parent if elsewhere else None


@dataclass
class Server:
    """A running server; `folder` must be one that everybody may enter, with a short name."""

    folder: Path
    port: int
    settings: tuple[str, ...] = ()
    process: subprocess.Popen | None = None

    def make(self) -> None:
        """The cluster, its certificate, and who may come in how."""
        folder = programs()
        assert folder is not None
        self.folder.mkdir(parents=True, exist_ok=True)
        if os.geteuid() == 0:
            owner = self._account()
            os.chown(self.folder, owner.pw_uid, owner.pw_gid)
        self._run(
            str(folder / "initdb"), "-D", str(self.data), "-U", KEEPER, "-E", "UTF8", "-N",
            "--locale=C.UTF-8", "--auth-local=trust", "--auth-host=scram-sha-256",
        )  # fmt: skip
        authority = trustme.CA()
        certificate = authority.issue_cert("localhost", "hub.example", "127.0.0.1")
        certificate.private_key_pem.write_to_path(str(self.data / "server.key"))
        (self.data / "server.crt").write_bytes(
            b"".join(blob.bytes() for blob in certificate.cert_chain_pems)
        )
        os.chmod(self.data / "server.key", 0o600)
        authority.cert_pem.write_to_path(str(self.folder / "root.crt"))
        if os.geteuid() == 0:
            for name in ("server.key", "server.crt"):
                os.chown(self.data / name, owner.pw_uid, owner.pw_gid)

    @property
    def data(self) -> Path:
        return self.folder / "data"

    @property
    def root(self) -> Path:
        """The certificate that proves this server."""
        return self.folder / "root.crt"

    def start(self) -> None:
        """Start it, and wait until it answers."""
        folder = programs()
        assert folder is not None
        options = {
            "port": str(self.port),
            "listen_addresses": "*",
            "unix_socket_directories": str(self.folder),
            "ssl": "on",
            "fsync": "off",
            "max_connections": "60",
        } | dict(setting.split("=", 1) for setting in self.settings)
        given = [part for name, value in options.items() for part in ("-c", f"{name}={value}")]
        log = (self.folder / "log").open("ab")
        self.process = subprocess.Popen(
            [str(folder / "postgres"), "-D", str(self.data), *given],
            stdout=log,
            stderr=log,
            **self._as_owner(),
        )
        log.close()
        for _ in range(300):
            try:
                psycopg.connect(self.url()).close()
                return
            except psycopg.Error:
                assert self.process.poll() is None, (self.folder / "log").read_text()[-2000:]
                time.sleep(0.05)
        raise AssertionError("the server does not answer")

    def stop(self, how: int = signal.SIGINT) -> None:
        """Stop it: SIGINT puts it in order, SIGQUIT leaves that to the next start."""
        if self.process:
            self.process.send_signal(how)
            self.process.wait(30)
            self.process = None

    def url(self, user: str = KEEPER, database: str = "postgres") -> str:
        """An address by the Unix socket, where every login is trusted."""
        return (
            f"postgresql://{quote(user)}@{quote(str(self.folder), safe='')}:{self.port}/{database}"
        )

    def tcp(self, user: str, password: str, database: str, host: str = "127.0.0.1") -> str:
        """An address by TCP, where a password is asked for."""
        return (
            f"postgresql://{quote(user)}:{quote(password, safe='')}@{host}:{self.port}/{database}"
        )

    def ask(self, database: str, query: Any, *values: object, user: str = KEEPER) -> list[tuple]:
        """Run one statement."""
        with closing(psycopg.connect(self.url(user, database), autocommit=True)) as connection:
            cursor = connection.execute(query, values or None)
            return cursor.fetchall() if cursor.description else []

    def new_database(self, name: str) -> str:
        """An empty database; its name."""
        self.ask("postgres", SQL("CREATE DATABASE {}").format(Identifier(name)))
        return name

    def new_login(self, name: str, *roles: str, password: str = "") -> str:
        """A login that is a member of those roles; its name."""
        self.ask(
            "postgres",
            SQL("CREATE ROLE {} LOGIN PASSWORD {} IN ROLE {}").format(
                Identifier(name), Literal(password or "x"), SQL(", ").join(map(Identifier, roles))
            ),
        )
        return name

    def _account(self) -> pwd.struct_passwd:
        try:
            return pwd.getpwnam("postgres")
        except KeyError:
            return pwd.getpwnam("nobody")

    def _as_owner(self) -> dict[str, Any]:
        """PostgreSQL refuses to run as root."""
        if os.geteuid() != 0:
            return {"cwd": self.folder}
        owner = self._account()
        return {"user": owner.pw_uid, "group": owner.pw_gid, "extra_groups": [], "cwd": self.folder}

    def _run(self, *command: str) -> None:
        ran = subprocess.run(command, capture_output=True, text=True, **self._as_owner())
        assert ran.returncode == 0, ran.stdout + ran.stderr


def free_port() -> int:
    """A TCP port that nobody uses now."""
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def server(folder: Path, *settings: str) -> Iterator[Server]:
    """A server that runs for a while."""
    running = Server(folder, free_port(), settings)
    running.make()
    running.start()
    try:
        yield running
    finally:
        running.stop(signal.SIGQUIT)
