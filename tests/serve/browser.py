"""A real browser without a window, driven through its debugging socket; nothing but aiohttp.

It is told to reach no other machine, so that a page which tried would be seen to fail, and what it
asked for is kept.
"""

from __future__ import annotations

import asyncio
import base64
import itertools
import re
import shutil
from asyncio.subprocess import DEVNULL, Process
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Self

import aiohttp
import pyte

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
TABLET = (1180, 820)
"""A tablet held across, in CSS pixels."""
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
    "--no-pings",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
    "--remote-debugging-port=0",
)
_UNKNOWN = re.compile(rb"\x1b\[[<>=][0-9;]*u|\x1b\[\?[0-9;]+\$p|\x1b\[[0-9;]* q")
"""Sequences that the emulator would print: keyboard protocol, mode queries, cursor shape."""


def found() -> str | None:
    """The browser of this machine."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


class Browser:
    """`async with Browser(folder)`: one browser; `page()` opens a page in a context of its own.
    It finds this machine's loopback address, and `places`, and no others."""

    def __init__(self, folder: Path, places: Sequence[str] = ()) -> None:
        self.folder = folder
        known = "".join(f", EXCLUDE {place}" for place in places)
        self.flags = [f"{flag}{known}" if "resolver" in flag else flag for flag in FLAGS]
        self.process: Process | None = None

    async def __aenter__(self) -> Self:
        program = found()
        assert program
        self.process = await asyncio.create_subprocess_exec(
            program, *self.flags, f"--user-data-dir={self.folder}", "about:blank",
            stdout=DEVNULL, stderr=DEVNULL, start_new_session=True,
        )  # fmt: skip
        port = self.folder / "DevToolsActivePort"
        for _ in range(600):
            if port.exists() and len(port.read_text().split()) == 2:
                break
            await asyncio.sleep(0.05)
        number, path = port.read_text().split()
        self.http = aiohttp.ClientSession()
        self.socket = await self.http.ws_connect(
            f"ws://127.0.0.1:{number}{path}", max_msg_size=64 << 20
        )
        self.numbers = itertools.count(1)
        self.waiting: dict[int, asyncio.Future[dict[str, Any]]] = {}
        self.pages: dict[str, Page] = {}
        self.contexts: list[str] = []
        self.reader = asyncio.create_task(self._read())
        return self

    async def __aexit__(self, *_: object) -> None:
        try:
            await asyncio.wait_for(self.call("Browser.close"), 5)
        finally:
            self.reader.cancel()
            await self.http.close()
            assert self.process is not None
            try:
                await asyncio.wait_for(self.process.wait(), 10)
            except TimeoutError:
                self.process.kill()
                await self.process.wait()

    async def _read(self) -> None:
        async for message in self.socket:
            said = message.json()
            if "id" in said:
                self.waiting.pop(said["id"]).set_result(said)
            elif page := self.pages.get(said.get("sessionId", "")):
                page.heard(said["method"], said["params"])

    async def call(self, method: str, session: str = "", **parameters: Any) -> dict[str, Any]:
        """One command, and its result."""
        number = next(self.numbers)
        future = self.waiting[number] = asyncio.get_running_loop().create_future()
        body = {"id": number, "method": method, "params": parameters}
        await self.socket.send_json(body | ({"sessionId": session} if session else {}))
        said = await asyncio.wait_for(future, 30)
        assert "error" not in said, (method, said)
        return said["result"]

    async def page(self, size: tuple[int, int] = TABLET, *, touch: bool = True) -> Page:
        """A new page of that size, with no cookies yet."""
        context = (await self.call("Target.createBrowserContext"))["browserContextId"]
        self.contexts.append(context)
        target = (
            await self.call("Target.createTarget", url="about:blank", browserContextId=context)
        )["targetId"]
        session = (await self.call("Target.attachToTarget", targetId=target, flatten=True))[
            "sessionId"
        ]
        page = self.pages[session] = Page(self, session)
        for domain in ("Page", "Network", "Runtime", "Log"):
            await page.call(f"{domain}.enable")
        width, height = size
        await page.call(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=height, deviceScaleFactor=1, mobile=touch,
        )  # fmt: skip
        await page.call("Emulation.setTouchEmulationEnabled", enabled=touch)
        return page

    async def close_pages(self) -> None:
        """Close every page, and forget its cookies."""
        while self.contexts:
            context = self.contexts.pop()
            await self.call("Target.disposeBrowserContext", browserContextId=context)
        self.pages.clear()


class Page:
    """One page: what it asked for and the status of each answer, what its terminal was told, what
    it complained of."""

    def __init__(self, browser: Browser, session: str) -> None:
        self.browser = browser
        self.session = session
        self.asked: list[str] = []
        self.answered: dict[str, int] = {}
        self.complaints: list[str] = []
        self.closed = False
        self._begin()

    def heard(self, method: str, said: dict[str, Any]) -> None:
        """What the browser reports."""
        if method == "Network.requestWillBeSent":
            self.asked.append(said["request"]["url"])
        elif method == "Network.responseReceived":
            self.answered[said["response"]["url"]] = said["response"]["status"]
        elif method == "Network.webSocketCreated":
            self.asked.append(said["url"])
            self.closed = False
            self._begin()
        elif method == "Network.webSocketClosed":
            self.closed = True
        elif method == "Network.webSocketFrameReceived":
            frame = said["response"]
            if frame["opcode"] == 2:
                self._stream.feed(_UNKNOWN.sub(b"", base64.b64decode(frame["payloadData"])))
        elif method == "Log.entryAdded":
            self.complaints.append(said["entry"]["text"])
        elif method == "Runtime.exceptionThrown":
            self.complaints.append(str(said["exceptionDetails"]))

    async def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """One command to this page."""
        return await self.browser.call(method, self.session, **parameters)

    async def go(self, url: str) -> None:
        """Open that address."""
        await self.call("Page.navigate", url=url)

    async def does(self, script: str) -> Any:
        """What that expression gives in the page."""
        answer = await self.call(
            "Runtime.evaluate",
            expression=script,
            awaitPromise=True,
            returnByValue=True,
            allowUnsafeEvalBlockedByCSP=False,
        )
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    async def tap(self, words: str) -> None:
        """A finger on the key of that name under the terminal."""
        x, y = await self.does(
            f"""(() => {{
              const all = [...document.querySelectorAll("button")];
              const box = all.find(b => b.textContent.trim() === "{words}").getBoundingClientRect();
              return [box.x + box.width / 2, box.y + box.height / 2];
            }})()"""
        )
        await self.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[_at(x, y)])
        await self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    async def press(self, key: str) -> None:
        """A key with a character, on a keyboard."""
        await self.call("Input.dispatchKeyEvent", type="keyDown", key=key, text=key)
        await self.call("Input.dispatchKeyEvent", type="keyUp", key=key)

    async def picture(self, file: Path) -> Path:
        """A picture of the page."""
        shot = await self.call("Page.captureScreenshot", format="png")
        file.write_bytes(base64.b64decode(shot["data"]))
        return file

    async def until(self, holds: Callable[[str], object], seconds: float = 30) -> str:
        """What the terminal shows, once that holds of it."""
        text = ""
        for _ in range(int(seconds * 10)):
            text = self.text()
            if holds(text):
                return text
            await asyncio.sleep(0.1)
        raise AssertionError(f"it never came to hold; the page showed\n{text}")

    def text(self) -> str:
        """What the terminal shows."""
        return "\n".join(line.rstrip() for line in self.screen.display).rstrip()

    def _begin(self) -> None:
        """An empty terminal, larger than any window: what is drawn stands where it is put."""
        self.screen = pyte.Screen(400, 120)
        self._stream = pyte.ByteStream(self.screen)


def _at(x: float, y: float) -> dict[str, float]:
    return {"x": x, "y": y}
