"""The server: the library's, with a guard before it and a limit to everything."""

from __future__ import annotations

import asyncio
import signal
import socket
from asyncio import Semaphore
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from html import escape
from importlib import resources
from pathlib import Path
from string import Template
from typing import Any
from urllib.parse import parse_qsl

from aiohttp import WSCloseCode, WSMsgType, web
from textual_serve.server import Server

from trackside.serve.address import Address
from trackside.serve.guard import ENTER, Guard
from trackside.serve.opening import Opening
from trackside.serve.passes import Link, Passes, Phrase
from trackside.serve.viewer import COLUMNS, ROWS, Viewer, place, within
from trackside.tui.touch import NAMES, action_buttons, page_buttons

MOST_BYTES = 64 * 1024
"""Of one message from a browser; no paste into a cell is longer."""
HEARTBEAT = 15.0
"""Seconds: a browser that answers no ping is gone."""
PLACE_IN = 3.0
"""Seconds that a browser waits for a place: that of its own page, which was just loaded again."""
TYPED_IN = 10.0
"""Seconds within which a phrase has to come in whole; it is one short line."""
FONT_SIZES = (8, 40)
FRESH = b"\x1b[?1049h\x1b[?1000h\x1b[?1003h\x1b[?1015h\x1b[?1006h\x1b[?25l\x1b[?2004h"
"""What a new terminal of the same browser is told: the other screen, the mouse, no cursor, pastes
in brackets (the modes of the library's driver, by their numbers in xterm's control sequences)."""
_HAND = ('["stdin"', '["act"')
"""So the messages begin that a hand sends."""


@dataclass(frozen=True)
class Limits:
    """How many browsers at once, and how long (s) one may stay without a key or a touch."""

    viewers: int = 4
    idle: float = 3600.0


class Serving(Server):
    """`command` is run once for each browser. With a phrase, browsers come in by it; on this
    machine alone, by a link that works once. `say` is told what happens, never a secret but the
    link."""

    def __init__(
        self,
        command: Sequence[str],
        address: Address,
        *,
        title: str,
        phrase: str = "",
        limits: Limits | None = None,
        say: Callable[[str], object] = print,
    ) -> None:
        super().__init__(command[0], host=address.host, port=address.port, title=title)
        self.words = tuple(command)
        self.address = address
        self.limits = limits or Limits()
        self.say = say
        self.guard = Guard(address, Passes())
        self.phrase = Phrase(phrase) if phrase else None
        self.link = None if address.beyond else Link()
        self._places = Semaphore(self.limits.viewers)
        self._open: dict[web.WebSocketResponse, Viewer] = {}

    @property
    def origin(self) -> str:
        """Where the first page is, as this machine names it."""
        host = f"[{self.address.host}]" if ":" in self.address.host else self.address.host
        return f"http://{host}:{self.address.port}"

    @property
    def link_now(self) -> str:
        """The link that lets one browser in, once; "" when the phrase does."""
        return f"{self.origin}{ENTER}?key={self.link.key}" if self.link else ""

    # ── start and end ───────────────────────────────────────────────────────────────────────

    async def run(self, listening: socket.socket) -> None:
        """Serve on that socket until SIGINT, SIGTERM or SIGHUP; every program has ended then."""
        told = asyncio.Event()
        for word in ("SIGINT", "SIGTERM", "SIGHUP"):
            with suppress(NotImplementedError, AttributeError):
                asyncio.get_running_loop().add_signal_handler(getattr(signal, word), told.set)
        async with self.open(listening):
            await told.wait()
            self.say("closing: what is half typed is saved first")

    def open(self, listening: socket.socket) -> Opening:
        """`async with` it: served meanwhile."""
        return Opening(self._make_app, listening, self.say)

    async def _make_app(self) -> web.Application:
        app = web.Application(client_max_size=MOST_BYTES, middlewares=self.guard.middlewares)
        app.add_routes(
            [
                web.get("/", self.handle_index, name="index", allow_head=False),
                web.get(ENTER, self.handle_enter, allow_head=False),
                web.post(ENTER, self.handle_phrase),
                web.get("/ws", self.handle_websocket, name="websocket", allow_head=False),
                web.get("/download/{key}", self.handle_download, name="download", allow_head=False),
                web.static("/static", self.statics_path, name="static"),
                web.static("/page", _pages(), name="page"),
            ]
        )
        app.on_response_prepare.append(self.guard.on_answer)
        app.on_shutdown.append(self.on_shutdown)
        return app

    async def on_shutdown(self, app: web.Application) -> None:
        """Let every program keep what is half typed and go."""
        await asyncio.gather(*(viewer.stop() for viewer in list(self._open.values())))
        for websocket in list(self._open):
            with suppress(TimeoutError, ConnectionError, RuntimeError):
                async with asyncio.timeout(1):
                    await websocket.close(code=WSCloseCode.GOING_AWAY)

    # ── pages ───────────────────────────────────────────────────────────────────────────────

    async def handle_enter(self, request: web.Request) -> web.Response:
        """The link, or the form for the phrase."""
        key = request.query.get("key")
        if key is None:
            return self._form("" if self.phrase else "Open the link that the program shows.")
        if self.link is None or not self.link.use(key):
            return self._form("This link was used, or is not one of ours.", 403)
        self.say(f"a browser came in by the link; for one more: {self.link_now}")
        return self.guard.let_in(request)

    async def handle_phrase(self, request: web.Request) -> web.Response:
        """The phrase was typed."""
        who = request.remote or ""
        if self.phrase is None:
            return self._form("Open the link that the program shows.", 403)
        if wait := self.phrase.wait(who):
            return self._too_often(wait)
        try:
            async with asyncio.timeout(TYPED_IN):
                given = _phrase_in(await request.read())
        except web.RequestPayloadError:
            return self._form("The phrase cannot be read.", 400)
        except (TimeoutError, ConnectionError):
            if request.transport is not None:
                request.transport.abort()
            return self._form("The phrase did not come in whole.", 408)
        if wait := self.phrase.wait(who):  # others were tried while this one came in
            return self._too_often(wait)
        if not self.phrase.is_right(given, who):
            self.say(f"a wrong pass phrase from {who}")
            return self._form("That is not the pass phrase.", 403)
        self.say(f"a browser at {who} came in by the pass phrase")
        return self.guard.let_in(request)

    def _too_often(self, wait: float) -> web.Response:
        answer = self._form(f"Too many wrong phrases: wait {wait:.0f} s.", 429)
        answer.headers["Retry-After"] = f"{wait:.0f}"
        return answer

    def _form(self, words: str, status: int = 200) -> web.Response:
        asks = "" if self.phrase else " hidden"
        text = _page("enter.html", title=self.title, words=words, asks=asks)
        return web.Response(text=text, status=status, content_type="text/html")

    async def handle_index(self, request: web.Request) -> web.Response:  # type: ignore[override]
        """The page with the terminal and, for hands without a keyboard, buttons: of the pages, and
        of what can be done."""
        reading = "--read-only" in self.words
        pages, actions = _buttons(page_buttons()), _buttons(action_buttons(reading))
        asked = request.query.get("fontsize")
        size = str(within(asked, FONT_SIZES, 16)) if asked else ""
        text = _page("terminal.html", pages=pages, actions=actions, title=self.title, size=size)
        return web.Response(text=text, content_type="text/html")

    async def handle_download(self, request: web.Request) -> web.StreamResponse:
        """A file that a program hands out; nothing under a key that is none."""
        key = request.match_info["key"]
        if not key.replace("-", "").isalnum() or len(key) > 64:
            raise web.HTTPNotFound
        try:
            return await super().handle_download(request)
        except ValueError as error:
            raise web.HTTPNotFound from error

    # ── one browser ─────────────────────────────────────────────────────────────────────────

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """A browser and its program, as long as there is a place, and a hand at it."""
        try:
            async with asyncio.timeout(PLACE_IN):
                await self._places.acquire()
        except TimeoutError:
            self.say(f"a browser at {request.remote} found no place: {self.limits.viewers} are in")
            raise web.HTTPServiceUnavailable(text="Every place is taken.\n") from None
        try:
            return await self._viewing(request)
        finally:
            self._places.release()

    async def _viewing(self, request: web.Request) -> web.WebSocketResponse:
        websocket = web.WebSocketResponse(
            heartbeat=HEARTBEAT, max_msg_size=MOST_BYTES, compress=False, timeout=2.0
        )
        transport = request.transport

        def cut_off() -> None:
            if transport is not None:
                transport.abort()

        await websocket.prepare(request)
        viewer = self._open[websocket] = Viewer(
            self.words,
            cut_off,
            place(request.query.get("place", "")),
            write_bytes=websocket.send_bytes,
            write_str=websocket.send_str,
            close=websocket.close,
            download_manager=self.download_manager,
        )
        try:
            width = within(request.query.get("width"), COLUMNS, 80)
            height = within(request.query.get("height"), ROWS, 24)
            await viewer.start(width, height)
            await self._process_messages(websocket, viewer)
        except OSError as error:
            self.say(f"a browser's program cannot be started ({error.strerror or error})")
        finally:
            del self._open[websocket]
            await asyncio.shield(viewer.stop())
            with suppress(TimeoutError, ConnectionError, RuntimeError):
                async with asyncio.timeout(2):
                    await websocket.close()
        return websocket

    async def _process_messages(  # type: ignore[override]
        self, websocket: web.WebSocketResponse, viewer: Viewer
    ) -> None:
        """Hand on keys and touches until the browser goes, sends what is no message of ours, or
        stays idle too long."""
        clock = asyncio.get_running_loop().time
        idle_at = clock() + self.limits.idle
        while True:
            try:
                async with asyncio.timeout_at(idle_at):
                    message = await websocket.receive()
            except TimeoutError:
                self.say("a browser was idle too long, and was let go")
                return
            if message.type is not WSMsgType.TEXT:
                return
            if not await self._took(message, websocket, viewer):
                await websocket.close(code=1008)
                return
            if message.data.startswith(_HAND):
                idle_at = clock() + self.limits.idle

    async def _took(self, message: Any, websocket: web.WebSocketResponse, viewer: Viewer) -> bool:
        """Whether it was a message of the library's page."""
        try:
            said = message.json()
        except (ValueError, RecursionError):
            return False
        match said:
            case ["stdin", str(keys)]:
                await viewer.send_bytes(keys.encode("utf-8", "replace"))
            case ["act", str(name)] if name in NAMES:
                await viewer.send_meta({"type": "act", "name": name})
            case ["draw"]:
                await websocket.send_bytes(FRESH)
                await viewer.send_meta({"type": "draw"})
            case ["resize", {"width": width, "height": height}]:
                await viewer.set_terminal_size(width, height)
            case ["ping", str(when)] if len(when) <= 32:
                await websocket.send_json(["pong", when])
            case ["blur"]:
                await viewer.blur()
            case ["focus"]:
                await viewer.focus()
            case _:
                return False
        return True


def _phrase_in(body: bytes) -> str:
    """The phrase of the form; "" where there is none."""
    with suppress(ValueError):
        return dict(parse_qsl(body.decode("utf-8"), max_num_fields=8)).get("phrase", "")
    return ""


def _pages() -> Path:
    return Path(str(resources.files("trackside.serve") / "page" / "open"))


def _buttons(named: Iterable[tuple[str, str]]) -> str:
    return "".join(
        f'<button type="button" data-act="{escape(name)}">{escape(label)}</button>'
        for name, label in named
    )


def _page(name: str, *, pages: str = "", actions: str = "", **words: str) -> str:
    """A page with its words, each escaped; `pages` and `actions` are markup of ours."""
    text = (_pages().parent / name).read_text("utf-8")
    escaped = {key: value if key == "asks" else escape(value) for key, value in words.items()}
    return Template(text).substitute(escaped, pages=pages, actions=actions)
