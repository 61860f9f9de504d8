"""The programs behind the browsers end with the server, whatever way it ends, and keep what stood
on their screens."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.serve.conftest import ROOT, Serve, Served, gone, lives
from trackside.logbook import Logbook

aiohttp = pytest.importorskip("aiohttp")
pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes with parents and groups")


async def viewed(
    served: Served, client: aiohttp.ClientSession
) -> tuple[aiohttp.ClientWebSocketResponse, set[int]]:
    """A view of the pit board, and its program's process."""
    before = served.children()
    link = await asyncio.to_thread(served.link)
    url = link.partition("/enter")[0]
    answer = await client.get(link, allow_redirects=False)
    cookie = "; ".join(f"{name}={morsel.value}" for name, morsel in answer.cookies.items())
    headers = {"Origin": url, "Cookie": cookie}
    socket = await client.ws_connect(f"{url}/ws?width=80&height=24", headers=headers)
    await shows(socket, b"PIT BOARD")
    return socket, served.children() - before


async def shows(socket: aiohttp.ClientWebSocketResponse, words: bytes, seconds: float = 30) -> None:
    """Read on until those words were drawn; in between it is said which place the page is at."""
    drawn = b""
    async with asyncio.timeout(seconds):
        while words not in drawn:
            message = await socket.receive()
            if message.type is aiohttp.WSMsgType.TEXT and json.loads(message.data)[0] == "place":
                continue
            assert message.type is aiohttp.WSMsgType.BINARY, (message, drawn[-500:])
            drawn += message.data


@pytest.mark.parametrize("word", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
async def test_a_server_that_ends_leaves_no_program(serve: Serve, word: signal.Signals) -> None:
    served = serve()
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as client:
        _, first = await viewed(served, client)
        _, second = await viewed(served, client)
        programs = first | second
        assert len(programs) == 2
        assert all(lives(pid) for pid in programs)
        if word is signal.SIGKILL:
            served.process.kill()
        else:
            served.process.send_signal(word)
        assert await gone(*programs)
    said = await asyncio.to_thread(served.end, None)
    assert served.process.returncode == (-9 if word is signal.SIGKILL else 0), said
    assert "Traceback" not in said


async def test_a_program_that_the_kernel_tells_nothing_watches_for_itself() -> None:
    """Where there is no prctl: the parent is looked at."""
    script = (
        "import sys, time; from trackside.serve import child; child._ask_the_kernel = int; "
        "child.end_with_server(); print('watching', flush=True); time.sleep(60)"
    )
    parent = (
        "import os, subprocess, sys, time; os.environ['TRACKSIDE_SERVER'] = str(os.getpid()); "
        "p = subprocess.Popen([sys.executable, '-c', sys.argv[1]], stdout=subprocess.PIPE); "
        "p.stdout.readline(); print(p.pid, flush=True); time.sleep(60)"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", parent, script], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    assert process.stdout is not None
    pid = int(process.stdout.readline())
    assert lives(pid)
    process.kill()
    process.communicate()
    assert await gone(pid, seconds=10)


async def held(season: Path, text: str, seconds: float = 15) -> None:
    """Wait until what is half typed is in the file."""
    with closing(sqlite3.connect(season)) as sql:
        for _ in range(round(seconds / 0.05)):
            if sql.execute("SELECT count(*) FROM draft WHERE text = ?", (text,)).fetchone()[0]:
                return
            await asyncio.sleep(0.05)
    raise AssertionError(f"{text} was never held")


@pytest.mark.parametrize("ending", ["page closed", "server killed"])
async def test_what_is_half_typed_is_kept(
    serve: Serve, season_file: Path, tmp_path: Path, ending: str
) -> None:
    served = serve()
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as client:
        socket, programs = await viewed(served, client)
        await socket.send_json(["focus"])
        await socket.send_json(["stdin", "r"])
        await shows(socket, b"one click")  # the panel: everything has come up
        await socket.send_json(["stdin", "98765"])
        await shows(socket, b"98765")
        await held(season_file, "98765")
        if ending == "page closed":
            await socket.close()
        else:
            served.process.kill()
        assert await gone(*programs)
    await asyncio.to_thread(served.end)
    with Logbook.open(season_file, device=tmp_path / "data" / "device") as logbook:
        newest = logbook.session_lines(limit=1)[0].entity
        drafts = [draft.text for draft in logbook.drafts()]  # as a correction without its reason
        assert "98765" in drafts or '"98765"' in json.dumps(logbook.state(newest))
