"""What stands before every page: the name asked for, the page it came from, the pass."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from urllib.parse import urlsplit

from aiohttp import web

from trackside.serve.address import Address, parted
from trackside.serve.opening import has_come_in
from trackside.serve.passes import PASS_LASTS, Passes
from trackside.serve.policy import policies

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

ENTER = "/enter"
"""The only path that answers without a pass."""
_NOT_OURS = "trackside is not served under this name; start it with --name for one of its own.\n"
_ELSEWHERE = "This request came from a page of another place.\n"


def is_upgrade(request: web.Request) -> bool:
    """Whether the browser asks for a WebSocket."""
    return request.headers.get("Upgrade", "").lower() == "websocket"


class Guard:
    """The checks, in the order in which they are made."""

    def __init__(self, address: Address, passes: Passes) -> None:
        self.address = address
        self.passes = passes
        self.cookie = f"trackside_{address.port}"
        """Cookies are shared by all ports of a machine: two servers need two names."""

    @property
    def middlewares(self) -> tuple[Callable[..., Awaitable[web.StreamResponse]], ...]:
        """What the application runs before its own handlers."""

        @web.middleware
        async def known_name(request: web.Request, handler: Handler) -> web.StreamResponse:
            if not self.address.knows(request.headers.get("Host", ""), _reached(request)):
                raise web.HTTPMisdirectedRequest(text=_NOT_OURS)
            return await handler(request)

        @web.middleware
        async def own_page(request: web.Request, handler: Handler) -> web.StreamResponse:
            if not _is_own(request):
                raise web.HTTPForbidden(text=_ELSEWHERE)
            return await handler(request)

        @web.middleware
        async def has_pass(request: web.Request, handler: Handler) -> web.StreamResponse:
            if self.passes.holds(request.cookies.get(self.cookie, "")):
                has_come_in(request)
            elif request.path != ENTER:
                if request.path == "/" and request.method == "GET":
                    raise web.HTTPSeeOther(ENTER)
                raise web.HTTPUnauthorized(text=f"Open {ENTER} first.\n")
            return await handler(request)

        return known_name, own_page, has_pass

    def let_in(self, request: web.Request) -> web.Response:
        """A pass, and the way to the first page."""
        has_come_in(request)
        answer = web.Response(status=303, headers={"Location": "/"})
        answer.set_cookie(
            self.cookie,
            self.passes.issue(),
            max_age=int(PASS_LASTS),
            path="/",
            httponly=True,
            samesite="Strict",
            secure=request.headers.get("Origin", "").startswith("https://"),
        )
        return answer

    async def on_answer(self, request: web.Request, answer: web.StreamResponse) -> None:
        """Put the policies on an answer."""
        host = request.headers.get("Host", "")
        if not self.address.knows(host, _reached(request)):
            host = ""
        answer.headers.update(policies(host))
        answer.headers.pop("Server", None)


def _reached(request: web.Request) -> str:
    """The address of this machine at which the connection came in."""
    transport = request.transport
    place = transport.get_extra_info("sockname") if transport else None
    return str(place[0]) if place else ""


def _is_own(request: web.Request) -> bool:
    """Whether the request comes from a page of ours. A browser names the page whenever it sends
    something, and for every WebSocket; for plain reading it need not."""
    origin = request.headers.get("Origin")
    if origin is None:
        return request.method == "GET" and not is_upgrade(request)
    split = urlsplit(origin)
    asked = parted(request.headers.get("Host", ""))
    return split.scheme in ("http", "https") and bool(asked[0]) and parted(split.netloc) == asked
