"""An application on a socket: so many connections and no more, and a line for a bad request."""

from __future__ import annotations

import asyncio
import socket
from collections import Counter
from collections.abc import Awaitable, Callable
from typing import Any

from aiohttp import web

from trackside.crew import error_log
from trackside.serve.address import network_of
from trackside.serve.policy import policies

CONNECTIONS = 96
"""Open at once, used or not."""
KEPT_ALIVE = 20.0
"""Seconds that a connection without a request stays open for the next one."""
_UNREADABLE = "This request cannot be read.\n"
_FAULT = "A fault in the program; what was saved is safe.\n"


class Opening:
    """The application on its socket; `say` is told of bad requests."""

    def __init__(
        self,
        make: Callable[[], Awaitable[web.Application]],
        listening: socket.socket,
        say: Callable[[str], object],
    ) -> None:
        self.make = make
        self.listening = listening
        self.say = say

    async def __aenter__(self) -> None:
        app = await self.make()
        self.runner = web.AppRunner(app, handle_signals=False, shutdown_timeout=2.0)
        await self.runner.setup()
        loop = asyncio.get_running_loop()
        crowd = _Crowd(self.runner.server, self.say)
        self.server = await loop.create_server(crowd, sock=self.listening)

    async def __aexit__(self, *_: object) -> None:
        self.server.close()
        await self.runner.cleanup()


def has_come_in(request: web.BaseRequest) -> None:
    """The connection of that request holds a pass: it makes room for nobody."""
    if isinstance(request.protocol, _Connection):
        request.protocol.holds_pass = True


class _Crowd:
    """Makes the protocol of a new connection. Where there are too many, the oldest connection
    without a pass goes, of the address that holds most of these: whoever only holds connections
    open gets into nobody's way."""

    def __init__(self, server: Any, say: Callable[[str], object]) -> None:
        self._server = server
        self.say = say
        self._open: dict[_Connection, None] = {}

    def __call__(self) -> asyncio.BaseProtocol:
        return _Connection(
            self._server,
            self,
            loop=asyncio.get_running_loop(),
            access_log=None,
            keepalive_timeout=KEPT_ALIVE,
        )

    def came(self, one: _Connection) -> None:
        """Room for one more."""
        self._open[one] = None
        if len(self._open) <= CONNECTIONS:
            return
        strangers = [each for each in self._open if not each.holds_pass and each is not one]
        held = Counter(each.network for each in strangers)
        most = max(held.values(), default=0)
        oldest = next((each for each in strangers if held[each.network] == most), one)
        self.went(oldest)
        oldest.cut()

    def went(self, one: _Connection) -> None:
        """It is closed, or about to be."""
        self._open.pop(one, None)


class _Connection(web.RequestHandler):
    """aiohttp's own, counted; what it cannot answer is one line, and no traceback."""

    def __init__(self, server: Any, crowd: _Crowd, **named: Any) -> None:
        super().__init__(server, **named)
        self._crowd = crowd
        self.holds_pass = False
        self.network = ""
        """The part of the network that it came from."""

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """A browser, or whatever it is, is there."""
        super().connection_made(transport)
        place = transport.get_extra_info("peername")
        self.network = network_of(str(place[0])) if place else ""
        self._crowd.came(self)

    def connection_lost(self, exc: BaseException | None) -> None:
        """It went."""
        self._crowd.went(self)
        super().connection_lost(exc)

    def cut(self) -> None:
        """End it without a word."""
        if self.transport is not None:
            self.transport.abort()

    def handle_error(
        self,
        request: web.BaseRequest,
        status: int = 500,
        exc: BaseException | None = None,
        message: str | None = None,
    ) -> web.StreamResponse:
        """An answer under the same policies as every other, and one line to whoever serves."""
        if status < 500:
            self._crowd.say(f"a request from {request.remote} cannot be read ({status})")
        else:
            self.log_exception(exc_info=exc)
        if request.writer.output_size > 0:
            raise ConnectionError("the answer was begun already")
        answer = web.Response(status=status, text=_UNREADABLE if status < 500 else _FAULT)
        answer.headers.update(policies(""))
        answer.headers["Server"] = "trackside"  # else the library would name its version and ours
        answer.force_close()
        return answer

    def log_exception(self, *_: Any, exc_info: Any = None, **__: Any) -> None:
        """A fault of the program: one line, and the rest in its log. A body that cannot be read is
        none, and was answered."""
        if isinstance(exc_info, web.RequestPayloadError):
            return
        path = error_log.note(exc_info) if isinstance(exc_info, BaseException) else None
        where = f", details in {path}" if path else ""
        self._crowd.say(f"a fault in the program ({type(exc_info).__name__}){where}")
