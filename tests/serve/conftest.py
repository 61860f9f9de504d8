"""Servers to attack: one in this process over a small program, and the real one as a process."""

from __future__ import annotations

import asyncio
import logging
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio

aiohttp = pytest.importorskip("aiohttp")
pytest.importorskip("textual_serve")

from tests.serve.browser import Browser  # noqa: E402
from trackside.serve.address import Address  # noqa: E402
from trackside.serve.server import Limits, Serving  # noqa: E402

ROOT = Path(__file__).resolve().parents[2]
PHRASE = "four corners of one car"
NAME = "pits.example"

SMALL_PROGRAM = """
import json, os, sys
out, read = sys.stdout.buffer, sys.stdin.buffer.read
def say(kind, data): out.write(kind + len(data).to_bytes(4, "big") + data); out.flush()
out.write(b"__GANGLION__\\n"); out.flush()
say(b"D", f"begun {os.getpid()} {os.environ['COLUMNS']}x{os.environ['ROWS']}".encode())
while True:
    head = read(5)
    if len(head) < 5: break
    data = read(int.from_bytes(head[1:], "big"))
    if head[:1] == b"D":
        if data == b"flood": data = b"x" * 20_000_000
        if data == b"environment": data = repr(dict(os.environ)).encode()
        say(b"D", data)
    else:
        meta = json.loads(data)
        if meta["type"] == "quit": break
        say(b"D", json.dumps(meta).encode())
"""
"""Speaks the library's protocol: says what it is given, floods when told to."""


@dataclass
class Attacked:
    """A server in this process and a client of it that keeps no cookies by itself."""

    serving: Serving
    client: aiohttp.ClientSession
    said: list[str]

    @property
    def url(self) -> str:
        """Where it is."""
        return self.serving.origin

    @property
    def own(self) -> dict[str, str]:
        """The header that a browser sends from a page of ours."""
        return {"Origin": self.url}

    async def come_in(self) -> str:
        """A pass, by the link; the value of the cookie."""
        answer = await self.client.get(self.serving.link_now, allow_redirects=False)
        assert answer.status == 303
        return answer.cookies[self.serving.guard.cookie].value

    def holding(self, token: str) -> dict[str, str]:
        """The headers of a browser with that pass, on a page of ours."""
        return self.own | {"Cookie": f"{self.serving.guard.cookie}={token}"}


Attack = Callable[..., AbstractAsyncContextManager[Attacked]]


@pytest.fixture
def attack(caplog: pytest.LogCaptureFixture) -> Iterator[Attack]:
    """`async with attack() as attacked`; names and phrase as for a server that others reach. No
    attack may end in an error of the server's own."""

    @asynccontextmanager
    async def attacking(
        *, names: tuple[str, ...] = (), phrase: str = "", limits: Limits | None = None
    ) -> AsyncIterator[Attacked]:
        address = Address("127.0.0.1", 0, names)
        listening = address.listen()
        address = replace(address, port=listening.getsockname()[1])
        said: list[str] = []
        serving = Serving(
            (sys.executable, "-c", SMALL_PROGRAM),
            address,
            title="small <program>",
            phrase=phrase,
            limits=limits or Limits(viewers=3),
            say=said.append,
        )
        async with (
            serving.open(listening),
            aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as client,
        ):
            yield Attacked(serving, client, said)

    yield attacking
    assert [r.getMessage() for r in caplog.records if r.levelno >= logging.ERROR] == []


class Served:
    """`trackside serve` as a process of its own."""

    def __init__(self, log: Path, home: Path, *arguments: str, phrase: str = "") -> None:
        environment = {k: v for k, v in os.environ.items() if not k.startswith("TEXTUAL")}
        environment |= {"TRACKSIDE_DATA": str(home / "data"), "TRACKSIDE_CONFIG": str(home / "c")}
        if phrase:
            environment["TRACKSIDE_PASSPHRASE"] = phrase
        self.process = subprocess.Popen(
            [sys.executable, "-m", "trackside", "--log", str(log), "serve", "--port", "0",
             *arguments],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=ROOT, env=environment,
        )  # fmt: skip
        self.said = ""
        while "Ctrl+C" not in self.said:
            line = self._line()
            assert line, self.said
            self.said += line
        self._began = self.said

    def _line(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline()

    def link(self) -> str:
        """The link of the moment; reads on until there is one that was not given out before."""
        while not (found := re.findall(r"http://\S+key=\S+", self.said)):
            self.said += self._line()
        self.said = self.said.replace(found[-1], "(given out)")
        return found[-1]

    def port(self) -> int:
        """The port that it listens on."""
        found = re.search(r"(?:port |:)(\d+)", self._began)
        assert found, self._began
        return int(found[1])

    def children(self) -> set[int]:
        """The processes that it started and that live."""
        return {pid for pid, parent in _parents().items() if parent == self.process.pid}

    def end(self, word: signal.Signals | None = signal.SIGTERM) -> str:
        """Send it that, and wait; all that it said."""
        if word is not None and self.process.poll() is None:
            self.process.send_signal(word)
        rest, _ = self.process.communicate(timeout=30)
        return self.said + rest


def _parents() -> dict[int, int]:
    """Process to parent, of every process of this machine that is no zombie."""
    table = {}
    listed = subprocess.run(
        ["ps", "-A", "-o", "pid=,ppid=,stat="], capture_output=True, text=True, check=True
    ).stdout
    for line in listed.splitlines():
        pid, parent, state = line.split()[:3]
        if not state.startswith("Z"):
            table[int(pid)] = int(parent)
    return table


def lives(pid: int) -> bool:
    """Whether that process is there, and no zombie."""
    return pid in _parents()


async def gone(*pids: int, seconds: float = 15) -> bool:
    """Whether those processes end within so long."""
    for _ in range(int(seconds * 10)):
        if not any(lives(pid) for pid in pids):
            return True
        await asyncio.sleep(0.1)
    return False


Serve = Callable[..., Served]


@pytest_asyncio.fixture(scope="session", loop_scope="session")
async def _one_browser(tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[Browser]:
    async with Browser(tmp_path_factory.mktemp("browser")) as opened:
        yield opened


@pytest_asyncio.fixture(loop_scope="session")
async def browser(_one_browser: Browser) -> AsyncIterator[Browser]:
    """A browser with no page open and no cookies yet; its start takes longer than most tests."""
    yield _one_browser
    await _one_browser.close_pages()


@pytest.fixture
def season_file(samples_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own."""
    return Path(shutil.copy(samples_log, tmp_path / "season.trackside"))


@pytest.fixture
def serve(season_file: Path, tmp_path: Path) -> Iterator[Serve]:
    """Starts the real server on the sample season."""
    started: list[Served] = []

    def starting(*arguments: str, **more: Any) -> Served:
        started.append(Served(season_file, tmp_path, *arguments, **more))
        return started[-1]

    yield starting
    for served in started:
        if served.process.poll() is None:
            served.end(signal.SIGKILL)
