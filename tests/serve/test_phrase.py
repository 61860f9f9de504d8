"""The pass phrase typed into its form in a real browser, on loopback and on another address."""

from __future__ import annotations

import asyncio
import os
import shutil
import subprocess
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from tests.serve.browser import Browser, Page, found
from tests.serve.conftest import PHRASE, ROOT, Serve

pytestmark = pytest.mark.skipif(
    found() is None, reason="no browser on this machine (Debian: apt-get install chromium)"
)
VARIABLE = "TRACKSIDE_TEST_ADDRESS"
"""Names the address to serve at, in a network of the test's own."""
HERE = os.environ.get(VARIABLE, "127.0.0.1")
ELSEWHERE = "192.0.2.77"
"""Of TEST-NET-1 (RFC 5737, from memory)."""


@pytest.fixture
async def browser(tmp_path: Path) -> AsyncIterator[Browser]:
    """One browser that finds the served address."""
    async with Browser(tmp_path / "browser", [HERE]) as opened:
        yield opened


async def shows(page: Page, script: str, seconds: float = 20) -> None:
    """Wait until that expression holds in the page."""
    for _ in range(int(seconds * 10)):
        if await page.does(script):
            return
        await asyncio.sleep(0.1)
    raise AssertionError(
        f"never: {script}; the page is\n{await page.does('document.body.innerText')}"
    )


async def give(page: Page, phrase: str) -> None:
    """Type the phrase and press Enter, as a hand does."""
    await shows(page, "document.activeElement?.id === 'phrase'")
    await page.call("Input.insertText", text=phrase)
    await page.call("Input.dispatchKeyEvent", type="keyDown", key="Enter", code="Enter", text="\r",
                    windowsVirtualKeyCode=13)  # fmt: skip
    await page.call("Input.dispatchKeyEvent", type="keyUp", key="Enter", code="Enter",
                    windowsVirtualKeyCode=13)  # fmt: skip


@asynccontextmanager
async def foreign(body: str) -> AsyncIterator[str]:
    """A page of another place with that body; gives its address."""

    async def answer(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        await reader.readuntil(b"\r\n\r\n")
        text = f"<!doctype html><title>other</title>{body}".encode()
        head = f"HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: {len(text)}\r\n\r\n"
        writer.write(head.encode() + text)
        await writer.drain()
        writer.close()

    other = await asyncio.start_server(answer, "127.0.0.1", 0)
    try:
        yield f"http://127.0.0.1:{other.sockets[0].getsockname()[1]}/"
    finally:
        other.close()


async def test_the_right_phrase_lets_in_and_a_wrong_one_does_not(
    browser: Browser, serve: Serve, tmp_path: Path
) -> None:
    secret = tmp_path / "phrase"
    secret.write_text(f"{PHRASE}\n", "utf-8")
    secret.chmod(0o600)
    served = serve("--host", HERE, "--read-only", "--phrase-file", str(secret))
    place = f"http://{HERE}:{served.port()}"
    page = await browser.page()
    await page.go(f"{place}/")
    await give(page, "five corners of one car")
    await shows(page, "document.body?.innerText.includes('That is not the pass phrase')")
    assert await page.does("location.pathname") == "/enter"
    await give(page, PHRASE)
    await page.until(lambda text: "PIT BOARD" in text, 60)
    assert await page.does("location.href") == f"{place}/"
    assert await page.does("document.cookie") == ""  # no script reads the pass

    # The same phrase from a page of another place: its form, and one without an origin.
    form = f'<form method="post" action="{place}/enter"><input name="phrase" value="{PHRASE}">'
    sent = f"{form}</form><script>document.forms[0].submit()</script>"
    for body in (sent, f'<meta name="referrer" content="no-referrer">{sent}'):
        stranger = await browser.page()
        async with foreign(body) as url:
            await stranger.go(url)
            for _ in range(200):
                if (status := stranger.answered.get(f"{place}/enter")) is not None:
                    break
                await asyncio.sleep(0.05)
        assert status == 403, body
        cookies = (await stranger.call("Network.getCookies", urls=[place]))["cookies"]
        assert cookies == []


@pytest.mark.skipif(VARIABLE in os.environ, reason="runs inside the test below")
@pytest.mark.skipif(shutil.which("unshare") is None, reason="no unshare on this machine")
def test_the_phrase_lets_in_on_an_address_that_is_not_loopback() -> None:
    """The test above again, in a network that holds nothing but this machine."""
    own = "ip link set lo up && ip addr add {0}/24 dev lo && exec {1} -m pytest -v -p no:xdist {2}"
    name = "test_the_right_phrase_lets_in_and_a_wrong_one_does_not"
    script = own.format(ELSEWHERE, sys.executable, f"tests/serve/test_phrase.py::{name}")
    if subprocess.run(["unshare", "-rn", "ip", "link"], capture_output=True).returncode:
        pytest.skip("no network of one's own may be made here")
    ran = subprocess.run(
        ["unshare", "-rn", "sh", "-c", script],
        capture_output=True, text=True, cwd=ROOT, env=os.environ | {VARIABLE: ELSEWHERE},
    )  # fmt: skip
    assert "1 passed" in ran.stdout, ran.stdout[-3000:] + ran.stderr[-1000:]
