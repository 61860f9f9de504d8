"""What somebody without business here tries, from another page, another name, or with no pass."""

from __future__ import annotations

import asyncio
import json
import re
from contextlib import suppress

import pytest
from yarl import URL

from tests.serve.conftest import NAME, PHRASE, Attack, Attacked, gone
from trackside.serve import opening, server, viewer
from trackside.serve.passes import TRIES
from trackside.serve.server import MOST_BYTES, Limits
from trackside.tui.touch import NAMES

aiohttp = pytest.importorskip("aiohttp")

PATHS = ("/", "/ws", "/static/js/textual.js", "/page/page.js", "/download/abc", "/nothing")
POLICY = (
    "default-src 'none'",
    "script-src 'self'",
    "frame-ancestors 'none'",
    "form-action 'self'",
)


async def begun(socket: aiohttp.ClientWebSocketResponse) -> tuple[int, str]:
    """The program behind a socket that just opened: its process, and the size it was given."""
    _, pid, size = (await socket.receive_bytes(timeout=20)).decode().split()
    return int(pid), size


async def closed(socket: aiohttp.ClientWebSocketResponse, seconds: float = 15) -> bool:
    """Whether the server closes it within so long."""
    async with asyncio.timeout(seconds):
        while (await socket.receive()).type in (aiohttp.WSMsgType.TEXT, aiohttp.WSMsgType.BINARY):
            pass
    return True


async def refused(attacked: Attacked, headers: dict[str, str]) -> int:
    """The status with which a socket is refused; 101 if it is not."""
    try:
        async with attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers):
            return 101
    except aiohttp.WSServerHandshakeError as error:
        return error.status


# ── names, origins, passes ──────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    "host",
    ["evil.example", "127.0.0.1.evil.example", "192.0.2.1", "", "a@127.0.0.1", "127.0.0.1/x"],
)
async def test_a_foreign_host_gets_nothing(attack: Attack, host: str) -> None:
    async with attack() as attacked:
        token = await attacked.come_in()
        for path in (*PATHS, "/enter"):
            answer = await attacked.client.get(
                attacked.url + path, headers=attacked.holding(token) | {"Host": host}
            )
            assert answer.status == 421, path
        assert await refused(attacked, attacked.holding(token) | {"Host": host}) == 421


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", "http://127.0.0.1:1", "http://localhost", "file://", ""],
)
async def test_a_foreign_origin_gets_nothing_even_with_a_pass(attack: Attack, origin: str) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in()) | {"Origin": origin}
        for path in PATHS:
            answer = await attacked.client.get(attacked.url + path, headers=headers)
            assert answer.status == 403, path
        assert await refused(attacked, headers) == 403


async def test_a_socket_without_an_origin_is_refused(attack: Attack) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        assert await refused(attacked, headers) == 101
        del headers["Origin"]
        assert await refused(attacked, headers) == 403


async def test_no_pass_and_a_wrong_one(attack: Attack) -> None:
    async with attack() as attacked:
        real = await attacked.come_in()
        for token in ("", "wrong", real[:-1], real + "A", real.swapcase(), "ü" * 40):
            headers = attacked.holding(token)
            for path in PATHS[1:]:
                answer = await attacked.client.get(attacked.url + path, headers=headers)
                assert answer.status == 401, path
            first = await attacked.client.get(
                attacked.url + "/", headers=headers, allow_redirects=False
            )
            assert (first.status, first.headers["Location"]) == (303, "/enter")
            assert await refused(attacked, headers) == 401
        assert await refused(attacked, attacked.holding(real)) == 101


async def test_the_link_works_once_and_the_cookie_is_guarded(attack: Attack) -> None:
    async with attack() as attacked:
        link = attacked.serving.link_now
        first = await attacked.client.get(link, allow_redirects=False)
        assert first.status == 303
        cookie = first.cookies[attacked.serving.guard.cookie]
        assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Strict", "/")
        assert len(cookie.value) >= 43  # 32 random bytes
        again = await attacked.client.get(link, allow_redirects=False)
        assert again.status == 403
        assert "Set-Cookie" not in again.headers
        assert attacked.serving.link_now != link
        head = await attacked.client.head(attacked.serving.link_now)
        assert head.status in (403, 405)  # a look at the link does not use it up
        assert await attacked.come_in() != cookie.value


async def test_neither_a_pass_nor_a_used_link_is_said(attack: Attack) -> None:
    async with attack() as attacked:
        tokens = [await attacked.come_in() for _ in range(3)]
        link = attacked.serving.link_now
        await attacked.come_in()
        for token in tokens:
            await refused(attacked, attacked.holding(token))
            await refused(attacked, attacked.holding(token) | {"Origin": "http://evil.example"})
        said = "\n".join(attacked.said)
        assert not any(token in said for token in tokens)
        assert link not in attacked.said[-1]


# ── the pass phrase ─────────────────────────────────────────────────────────────────────────────


async def test_the_phrase_lets_in_and_wrong_ones_are_counted(attack: Attack) -> None:
    async with attack(names=(NAME,), phrase=PHRASE) as attacked:
        assert attacked.serving.link_now == ""
        at_name = {"Host": NAME, "Origin": f"https://{NAME}"}

        async def give(phrase: str, headers: dict[str, str]) -> aiohttp.ClientResponse:
            return await attacked.client.post(
                f"{attacked.url}/enter", data={"phrase": phrase}, headers=headers,
                allow_redirects=False,
            )  # fmt: skip

        right = await give(PHRASE, at_name)
        assert right.status == 303
        assert right.cookies[attacked.serving.guard.cookie]["secure"]
        plain = await give(PHRASE, {"Host": NAME, "Origin": f"http://{NAME}"})
        assert not plain.cookies[attacked.serving.guard.cookie]["secure"]
        assert (await give(PHRASE, {"Host": NAME})).status == 403  # no origin
        assert (await give(PHRASE, at_name | {"Origin": "http://evil.example"})).status == 403
        for wrong in ("", PHRASE[:-1], PHRASE + " ", PHRASE.upper(), "\x00")[:TRIES]:
            answer = await give(wrong, at_name)
            assert answer.status == 403
            assert "Set-Cookie" not in answer.headers
        late = await give(PHRASE, at_name)
        assert late.status == 429
        assert 0 < int(late.headers["Retry-After"]) <= 60
        huge = await give("x" * (2 * MOST_BYTES), at_name)
        assert huge.status in (413, 429)
        assert PHRASE not in "\n".join(attacked.said)


async def test_the_program_of_a_browser_does_not_hold_the_phrase(
    attack: Attack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRACKSIDE_PASSPHRASE", PHRASE)
    monkeypatch.setenv("TERM", "dumb")
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        async with attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers) as socket:
            await begun(socket)
            await socket.send_json(["stdin", "environment"])
            said = (await socket.receive_bytes(timeout=10)).decode()
        assert "TRACKSIDE_SERVER" in said
        assert "'TERM': 'xterm-256color'" in said  # the page is one, whatever the server's own is
        assert PHRASE not in said


# ── what is handed out ──────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    "path",
    [
        "/static/../server.py",
        "/static/..%2fserver.py",
        "/static/%2e%2e/server.py",
        "/static/..%5cserver.py",
        "/static//etc/passwd",
        "/static/js/../../server.py",
        "/page/../terminal.html",
        "/page/..%2fterminal.html",
        "/page/%2e%2e/%2e%2e/server.py",
        "/page/",
        "/static/",
        "/static/js/",
        "/download/../etc/passwd",
        "/download/..%2f..%2fetc%2fpasswd",
        "/download/%00",
        "/download/" + "a" * 4000,
        "/download/0123456789abcdef",
        "/download/",
    ],
)
async def test_no_file_but_those_of_the_pages(attack: Attack, path: str) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        assert (await attacked.client.get(attacked.url + "/page/page.js", headers=headers)).ok
        answer = await attacked.client.get(URL(attacked.url + path, encoded=True), headers=headers)
        assert answer.status in (400, 403, 404)
        assert len(await answer.text()) < 200


async def test_every_answer_carries_the_policies(attack: Attack) -> None:
    async with attack() as attacked:
        token = await attacked.come_in()
        for headers in ({}, attacked.holding(token), {"Host": "evil.example"}):
            for path in (*PATHS, "/enter", "/enter?key=no"):
                answer = await attacked.client.get(
                    attacked.url + path, headers=headers, allow_redirects=False
                )
                policy = answer.headers["Content-Security-Policy"]
                assert all(rule in policy for rule in POLICY)
                assert "evil" not in policy
                assert not re.search(r"https?://|\*", policy)
                assert answer.headers["X-Content-Type-Options"] == "nosniff"
                assert answer.headers["Referrer-Policy"] == "same-origin"
                assert answer.headers["Cache-Control"] == "no-store"
                assert "Access-Control-Allow-Origin" not in answer.headers


async def test_a_title_is_never_markup(attack: Attack) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        for path in ("/", "/enter", "/?fontsize=%3Cscript%3E"):
            text = await (await attacked.client.get(attacked.url + path, headers=headers)).text()
            assert "small &lt;program&gt;" in text
            assert "<program>" not in text
            assert "%3C" not in text
            assert "https://" not in text


# ── too much ────────────────────────────────────────────────────────────────────────────────────


async def test_fifty_sessions_and_a_place_that_comes_free(
    attack: Attack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "PLACE_IN", 1.0)
    async with attack(limits=Limits(viewers=3)) as attacked:
        headers = attacked.holding(await attacked.come_in())

        async def one() -> aiohttp.ClientWebSocketResponse | int:
            try:
                return await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
            except aiohttp.WSServerHandshakeError as error:
                return error.status

        found = await asyncio.gather(*(one() for _ in range(50)))
        sockets = [each for each in found if not isinstance(each, int)]
        assert len(sockets) == 3
        assert {each for each in found if isinstance(each, int)} == {503}
        programs = [(await begun(socket))[0] for socket in sockets]
        await sockets[0].close()
        assert await gone(programs[0])
        assert await refused(attacked, headers) == 101
        assert sum("found no place" in line for line in attacked.said) == 47


async def test_too_many_connections_are_turned_away(
    attack: Attack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(opening, "CONNECTIONS", 5)
    async with attack() as attacked:
        await attacked.come_in()
        place = ("127.0.0.1", attacked.serving.address.port)
        crowd = [await asyncio.open_connection(*place) for _ in range(20)]
        await asyncio.sleep(0.2)
        ended = [reader.at_eof() or reader.exception() is not None for reader, _ in crowd]
        assert sum(ended) >= 15
        for _, writer in crowd:
            writer.close()
        await asyncio.sleep(0.2)
        assert (await attacked.client.get(f"{attacked.url}/enter")).status == 200


async def test_a_phrase_that_never_comes_in_whole_holds_no_connection(
    attack: Attack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "TYPED_IN", 0.3, raising=False)
    monkeypatch.setattr(opening, "CONNECTIONS", 5)
    async with attack(names=(NAME,), phrase=PHRASE) as attacked:
        place = ("127.0.0.1", attacked.serving.address.port)
        head = (
            f"POST /enter HTTP/1.1\r\nHost: {NAME}\r\nOrigin: http://{NAME}\r\n"
            "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 50\r\n\r\nphrase="
        )
        crowd = [await asyncio.open_connection(*place) for _ in range(5)]
        for _, writer in crowd:
            writer.write(head.encode())
        for reader, writer in crowd:
            async with asyncio.timeout(5):
                with suppress(ConnectionError):
                    await reader.read()
            writer.close()
        entered = await attacked.client.get(f"{attacked.url}/enter", headers=attacked.own)
        assert entered.status == 200


async def test_without_a_phrase_no_body_is_waited_for(attack: Attack) -> None:
    async with attack() as attacked:
        place = ("127.0.0.1", attacked.serving.address.port)
        reader, writer = await asyncio.open_connection(*place)
        port = attacked.serving.address.port
        writer.write(
            f"POST /enter HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: {attacked.url}\r\n"
            "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 50\r\n\r\n".encode()
        )
        async with asyncio.timeout(5):
            assert b" 403 " in await reader.readline()
        writer.close()


async def test_an_oversized_message_ends_that_view_alone(attack: Attack) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        other = await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
        await begun(other)
        socket = await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
        program, _ = await begun(socket)
        await socket.send_json(["stdin", "x" * (MOST_BYTES + 1)])
        assert await closed(socket)
        assert socket.close_code == 1009
        assert await gone(program)
        await other.send_json(["stdin", "still here"])
        assert await other.receive_bytes(timeout=10) == b"still here"
        await other.close()


@pytest.mark.parametrize(
    "message",
    [
        "no json",
        "[]",
        "{}",
        '["stdin"]',
        '["stdin", 7]',
        '["stdin", ["x"]]',
        '["resize", 5]',
        '["quit"]',
        '["ping", {}]',
        "[" * 20_000,
        '["stdin", "x", "y"]',
        '["act", "turn(99)"]',
        '["act", "take_off"]',
        '["act", ["undo"]]',
        '["act", ""]',
        '["draw", 1]',
    ],
)
async def test_what_is_no_message_of_ours_ends_the_view(attack: Attack, message: str) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        socket = await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
        program, _ = await begun(socket)
        await socket.send_str(message)
        assert await closed(socket)
        assert await gone(program)


async def test_a_button_is_handed_on_by_name(attack: Attack) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        async with attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers) as socket:
            await begun(socket)
            for name in sorted(NAMES):
                await socket.send_json(["act", name])
                told = json.loads(await socket.receive_bytes(timeout=10))
                assert told == {"type": "act", "name": name}


@pytest.mark.parametrize(
    ("place", "kept"),
    [
        ("debrief 0198-x FL rebound", True),
        ("sheet x FL bump items.Front bar", True),
        ("x" * 201, False),
        ("sheet\n--log=/etc/passwd", False),
        ("a\x1b[2J", False),
    ],
)
async def test_only_a_short_line_of_text_is_a_place(attack: Attack, place: str, kept: bool) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        url = URL(f"{attacked.url}/ws").with_query(place=place)
        async with attacked.client.ws_connect(url, headers=headers) as socket:
            await begun(socket)
            await socket.send_json(["stdin", "environment"])
            said = (await socket.receive_bytes(timeout=10)).decode()
        assert f"'TRACKSIDE_PLACE': {place if kept else ''!r}" in said


@pytest.mark.parametrize("size", [(10**9, 10**9), (-5, 0), (1e300, None), ("9", "x"), ([], {})])
async def test_a_window_of_any_size_is_brought_within_bounds(attack: Attack, size: tuple) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        url = f"{attacked.url}/ws?width={size[0]}&height={size[1]}"
        async with attacked.client.ws_connect(url, headers=headers) as socket:
            _, drawn = await begun(socket)
            columns, rows = map(int, drawn.split("x"))
            await socket.send_json(["resize", {"width": size[0], "height": size[1]}])
            told = json.loads(await socket.receive_bytes(timeout=10))
        for wide, high in ((columns, rows), (told["width"], told["height"])):
            assert 20 <= wide <= 400
            assert 5 <= high <= 200


async def test_a_browser_that_takes_nothing_is_let_go(
    attack: Attack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(viewer, "SLOW", 1.0)
    async with attack() as attacked:
        token = await attacked.come_in()
        place = ("127.0.0.1", attacked.serving.address.port)
        reader, writer = await asyncio.open_connection(*place, limit=1024)
        host = f"127.0.0.1:{place[1]}"
        headers = {
            "Host": host, "Upgrade": "websocket", "Connection": "Upgrade",
            "Sec-WebSocket-Version": "13", "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==",
            **attacked.holding(token),
        }  # fmt: skip
        lines = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
        writer.write(f"GET /ws HTTP/1.1\r\n{lines}\r\n".encode())
        answer = await reader.readuntil(b"\r\n\r\n")
        assert b" 101 " in answer.splitlines()[0]
        head = await reader.readexactly(2)
        program = int((await reader.readexactly(head[1])).split()[1])
        flood = b'["stdin", "flood"]'
        writer.write(bytes((0x81, 0x80 | len(flood), 0, 0, 0, 0)) + flood)  # RFC 6455, mask of 0
        await writer.drain()
        assert await gone(program, seconds=10)  # before the heartbeat would notice
        assert (await attacked.client.get(f"{attacked.url}/enter")).status == 200
        writer.close()


async def test_an_idle_browser_is_let_go_and_a_busy_one_not(attack: Attack) -> None:
    async with attack(limits=Limits(viewers=3, idle=2.0)) as attacked:
        headers = attacked.holding(await attacked.come_in())
        idle = await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
        busy = await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
        await begun(idle)
        await begun(busy)
        for _ in range(8):
            await busy.send_json(["stdin", "x"])
            await idle.send_json(["ping", "1"])  # no hand at it
            await asyncio.sleep(0.5)
        assert not busy.closed
        assert await closed(idle, 3)
        await busy.send_json(["stdin", "y"])
        assert not busy.closed
        assert any("idle" in line for line in attacked.said)
        await busy.close()


async def test_a_program_that_ends_ends_the_view(attack: Attack) -> None:
    async with attack() as attacked:
        attacked.serving.words = ("/nonexistent/program",)
        headers = attacked.holding(await attacked.come_in())
        socket = await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
        assert await closed(socket)
        attacked.serving.words = ("/bin/false",)
        socket = await attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers)
        assert await closed(socket)
