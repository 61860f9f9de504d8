"""Strangers in numbers, and bad requests: nobody else is shut out, and nothing is betrayed."""

from __future__ import annotations

import asyncio
import subprocess
from contextlib import AsyncExitStack, suppress

import pytest

from tests.serve.conftest import NAME, PHRASE, Attack, Attacked, Serve
from tests.serve.test_attacks import POLICY, begun
from trackside.serve.address import network_of
from trackside.serve.opening import CONNECTIONS
from trackside.serve.passes import TRIES

aiohttp = pytest.importorskip("aiohttp")

Held = list[tuple[asyncio.StreamReader, asyncio.StreamWriter]]

NONSENSE = [
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(64),  # TLS, as to another port
    b"GET / HTTP/9.9\r\n\r\n",
    b"G\x00T / HTTP/1.1\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\nnonsense\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + b"x" * 20_000 + b"\r\n\r\n",
    b"GET /" + b"x" * 20_000 + b" HTTP/1.1\r\n\r\n",
    b"POST /enter HTTP/1.1\r\nHost: pits.example\r\nContent-Length: -5\r\n\r\n",
    b"POST /enter HTTP/1.1\r\nHost: pits.example\r\nContent-Length: 5\r\n"
    b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
    b"\r\n\r\n\x1b[2J\r\n\r\n",
]
BODIES = [
    (b"Transfer-Encoding: chunked\r\n", b"zz\r\nnonsense\r\n"),
    (b"Content-Encoding: deflate\r\nContent-Length: 8\r\n", b"nonsense"),
    (b"Content-Type: multipart/form-data\r\nContent-Length: 8\r\n", b"nonsense"),
    (b"Content-Type: text/plain; charset=none\r\nContent-Length: 10\r\n", b"phrase=\xff\xfe\x00"),
    (b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 40\r\n", b"a=1&" * 10),
]
"""Headers and body of a form that no browser sends."""


async def hold(attacked: Attacked, count: int, here: str = "127.0.0.1") -> Held:
    """So many connections from that address that ask for nothing."""
    place = ("127.0.0.1", attacked.serving.address.port)
    return [await asyncio.open_connection(*place, local_addr=(here, 0)) for _ in range(count)]


def let_go(held: Held) -> None:
    for _, writer in held:
        writer.close()


async def is_open(reader: asyncio.StreamReader) -> bool:
    """Whether the server still holds the other end."""
    with suppress(TimeoutError, ConnectionError):
        async with asyncio.timeout(0.2):
            await reader.read(1)
        return False
    return not reader.at_eof() and reader.exception() is None


async def raw(attacked: Attacked, sent: bytes) -> bytes:
    """All that is answered to those bytes."""
    place = ("127.0.0.1", attacked.serving.address.port)
    reader, writer = await asyncio.open_connection(*place)
    writer.write(sent)
    answer = b""
    with suppress(ConnectionError, TimeoutError):
        async with asyncio.timeout(15):
            answer = await reader.read()
    writer.close()
    return answer


async def test_idle_connections_of_one_address_shut_nobody_out(attack: Attack) -> None:
    async with attack() as attacked:
        headers = attacked.holding(await attacked.come_in())
        async with attacked.client.ws_connect(f"{attacked.url}/ws", headers=headers) as socket:
            await begun(socket)
            crowd = await hold(attacked, CONNECTIONS, "127.0.0.9")
            other = await hold(attacked, 1, "127.0.0.8")
            crowd += await hold(attacked, CONNECTIONS, "127.0.0.9")
            answer = await attacked.client.get(f"{attacked.url}/enter")
            assert answer.status == 200
            assert await is_open(other[0][0])  # one from elsewhere makes room for none of them
            await socket.send_json(["stdin", "still here"])
            assert await socket.receive_bytes(timeout=10) == b"still here"
        let_go(crowd + other)
        came = await attacked.client.get(attacked.serving.link_now, allow_redirects=False)
        assert came.status == 303


async def test_a_crowd_from_everywhere_makes_room_for_who_asks(attack: Attack) -> None:
    async with attack() as attacked:
        crowd: Held = []
        for number in range(2, CONNECTIONS + 40):
            crowd += await hold(attacked, 1, f"127.0.1.{number}")
        assert await attacked.come_in()
        let_go(crowd)


async def test_wrong_phrases_from_many_addresses_shut_nobody_out(attack: Attack) -> None:
    async with attack(names=(NAME,), phrase=PHRASE) as attacked, AsyncExitStack() as clients:
        own = {"Host": NAME, "Origin": f"http://{NAME}"}

        async def give(phrase: str, here: str, times: int = 1) -> list[int]:
            client = await clients.enter_async_context(
                aiohttp.ClientSession(connector=aiohttp.TCPConnector(local_addr=(here, 0)))
            )
            form = {"data": {"phrase": phrase}, "headers": own, "allow_redirects": False}
            return [
                (await client.post(f"{attacked.url}/enter", **form)).status for _ in range(times)
            ]

        for number in range(2, 22):
            answered = await give("wrong", f"127.0.2.{number}", TRIES + 1)
            assert answered == [403] * TRIES + [429]
        assert await give(PHRASE, "127.0.2.99") == [303]
        assert await give(PHRASE, "127.0.2.2") == [429]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("192.0.2.1", "192.0.2.2", False),
        ("192.0.2.1", "::ffff:192.0.2.1", True),
        ("2001:db8::1", "2001:db8::ffff:0:0:2", True),
        ("2001:db8:0:1::1", "2001:db8:0:2::1", False),
        ("fe80::1%eth0", "fe80::2%eth0", True),
        ("", "192.0.2.1", False),
    ],
)
def test_what_counts_as_one_network(one: str, other: str, same: bool) -> None:
    """Addresses for documentation: RFC 5737 and RFC 3849, from memory."""
    assert (network_of(one) == network_of(other)) is same


@pytest.mark.parametrize("sent", NONSENSE)
async def test_a_bad_request_is_one_line_and_betrays_nothing(
    attack: Attack, sent: bytes, capfd: pytest.CaptureFixture[str]
) -> None:
    async with attack(names=(NAME,), phrase=PHRASE) as attacked:
        answer = await raw(attacked, sent)
        head = answer.partition(b"\r\n\r\n")[0].decode("latin-1")
        assert head.split()[1].startswith("4"), head
        assert all(rule in head for rule in POLICY)
        assert "aiohttp" not in head
        assert "Python" not in head
        assert len(attacked.said) == 1, attacked.said
        assert attacked.said[0].isprintable()
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(("headers", "body"), BODIES)
async def test_a_form_that_cannot_be_read_is_no_phrase(
    attack: Attack, headers: bytes, body: bytes
) -> None:
    async with attack(names=(NAME,), phrase=PHRASE) as attacked:
        own = f"POST /enter HTTP/1.1\r\nHost: {NAME}\r\nOrigin: http://{NAME}\r\n".encode()
        answer = await raw(attacked, own + b"Connection: close\r\n" + headers + b"\r\n" + body)
        head = answer.partition(b"\r\n\r\n")[0].decode("latin-1")
        assert head.split()[1] in ("400", "403"), head
        assert all(rule in head for rule in POLICY)
        assert "aiohttp" not in head
        assert len(attacked.said) <= 1


def test_a_bad_request_prints_one_line(serve: Serve) -> None:
    """The same of the program as it is started."""
    served = serve()
    script = (
        f"exec 3<>/dev/tcp/127.0.0.1/{served.port()}; printf 'G\\000T / HTTP/1.1\\r\\n\\r\\n' >&3; "
        "cat <&3"
    )
    answer = subprocess.run(["bash", "-c", script], capture_output=True, timeout=20).stdout
    assert b" 400 " in answer.splitlines()[0]
    said = served.end().partition("Ctrl+C ends it.\n")[2]
    assert [line for line in said.splitlines() if "closing" not in line] == [
        "a request from 127.0.0.1 cannot be read (400)"
    ]
