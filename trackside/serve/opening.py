"""An application on a socket, with no more connections than are allowed."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Awaitable, Callable
from typing import Any

from aiohttp import web

CONNECTIONS = 96
"""Open at once, used or not."""


class Opening:
    """The application on its socket, no more connections than are allowed."""

    def __init__(
        self, make: Callable[[], Awaitable[web.Application]], listening: socket.socket
    ) -> None:
        self.make = make
        self.listening = listening

    async def __aenter__(self) -> None:
        app = await self.make()
        self.runner = web.AppRunner(
            app, access_log=None, handle_signals=False, shutdown_timeout=2.0, keepalive_timeout=20
        )
        await self.runner.setup()
        loop = asyncio.get_running_loop()
        crowd = _Crowd(self.runner.server)
        self.server = await loop.create_server(crowd, sock=self.listening)

    async def __aexit__(self, *_: object) -> None:
        self.server.close()
        await self.runner.cleanup()


class _Crowd:
    """Makes the protocol of a new connection; of too many, one that closes it."""

    def __init__(self, server: Any) -> None:
        self._server = server

    def __call__(self) -> asyncio.BaseProtocol:
        here = self._server.connections
        return _TurnAway() if len(here) >= CONNECTIONS else self._server()


class _TurnAway(asyncio.Protocol):
    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        transport.abort()  # type: ignore[attr-defined]
