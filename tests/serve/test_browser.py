"""In a real browser, at the size of a tablet, with a finger."""

from __future__ import annotations

import asyncio
import re
from datetime import date
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.serve.browser import Browser, Page, found
from tests.serve.conftest import Serve, Served
from trackside.logbook import Logbook, patch

pytestmark = [
    pytest.mark.skipif(
        found() is None, reason="no browser on this machine (Debian: apt-get install chromium)"
    ),
    pytest.mark.asyncio(loop_scope="session"),
]
EXPECTED = ("WebGL",)
"""What a browser without a graphics card says of itself."""


async def viewing(browser: Browser, served: Served, **more: object) -> Page:
    """A page that came in by the link and shows the pit board."""
    page = await browser.page(**more)  # type: ignore[arg-type]
    await page.go(await asyncio.to_thread(served.link))
    await page.until(lambda text: "PIT BOARD" in text, 60)
    return page


async def quiet(page: Page) -> str:
    """What the terminal shows, once it has not changed for two seconds."""
    last, since = page.text(), 0
    while since < 20:
        await asyncio.sleep(0.1)
        now = page.text()
        last, since = now, since + 1 if now == last else 0
    return last


async def test_the_debrief_is_read_on_the_tablet_and_nothing_leaves_the_machine(
    browser: Browser, serve: Serve, tmp_path: Path
) -> None:
    served = serve("--read-only")
    page = await viewing(browser, served)
    await page.tap("Debrief")
    shown = await page.until(lambda text: re.search("DEBRIEF.*READING ONLY[^$]*▸", text), 60)
    assert "reading dyno sheets" not in shown
    picture = await page.picture(tmp_path / "debrief.png")
    assert picture.stat().st_size > 20_000  # an empty page of this size has some 5 kB

    assert await page.does("document.fonts.check(\"16px 'Roboto Mono'\")")
    assert await page.does("[...document.fonts].every(face => face.status === 'loaded')")
    wide = "document.querySelector('#terminal').getBoundingClientRect().right <= innerWidth"
    assert await page.does(wide)
    small = await page.does(
        "[...document.querySelectorAll('#touch button')].filter(b => b.offsetHeight < 44).length"
    )
    assert small == 0
    assert await page.does("document.querySelector('textarea').inputMode") == "none"

    await page.tap("Sheet")
    await page.until(lambda text: "RUN SHEET" in text)
    await page.press("h")
    await page.until(lambda text: "nothing can be changed here" in text)

    places = {urlsplit(url).netloc for url in page.asked if not url.startswith("data:")}
    assert places == {urlsplit(await page.does("location.href")).netloc}
    assert len(page.asked) >= 8
    assert [c for c in page.complaints if not any(e in c for e in EXPECTED)] == []


async def test_a_click_stepped_in_one_viewer_appears_in_the_other(
    browser: Browser, serve: Serve, season_file: Path
) -> None:
    with Logbook.open(season_file) as logbook:  # the event goes on: no correction is asked why
        today = f"{date.today().isoformat()} 14:00"
        logbook.write(patch("session", logbook.session("last"), {"start": today}))
    served = serve()
    pages = [await viewing(browser, served) for _ in range(2)]
    for page in pages:
        await page.tap("Clicks")
        await page.until(lambda text: "6 of 20 from full hard" in text, 60)
    for here, there, key, count in ((*pages, "h", 5), (*reversed(pages), "s", 6)):
        await here.press(key)
        await here.until(lambda text, n=count: f"{n} of 20 from full hard" in text)
        await there.until(lambda text, n=count: f"FL rebound {n} of 20 from full hard" in text)
    with Logbook.open(season_file, read_only=True) as logbook:
        assert logbook.verify().problems == ()


async def test_the_policy_holds_in_the_browser(browser: Browser, serve: Serve) -> None:
    """A script in the page tries every way out; the other server hears nothing."""
    heard: list[bytes] = []

    async def hear(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        heard.append(await reader.read(200))
        writer.close()

    other = await asyncio.start_server(hear, "127.0.0.1", 0)
    port = other.sockets[0].getsockname()[1]
    page = await viewing(browser, serve())
    tries = """(async (port) => {
        const place = `127.0.0.1:${port}/out`;
        const ways = [
            () => fetch(`http://${place}`, {mode: "no-cors"}),
            () => new Promise((ok, no) => {
                const w = new Socket(`ws://${place}`); w.onopen = ok; w.onerror = no; }),
            () => new FontFace("x", `url(http://${place})`).load(),
            () => Promise.reject(navigator.sendBeacon(`http://${place}`, "x") && 0),
            ...["img", "script", "iframe", "embed"].map(name => () => new Promise((ok, no) => {
                const e = document.createElement(name);
                e.onload = ok; e.onerror = no; e.src = `http://${place}`;
                document.body.append(e); setTimeout(no, 1500); })),
            () => new Promise((ok, no) => {
                const s = document.createElement("script");
                s.textContent = "window.inlined = true"; document.body.append(s);
                window.inlined ? ok() : no(); }),
            () => Promise.resolve().then(() => eval("1")),
        ];
        const ends = await Promise.allSettled(ways.map(way => Promise.resolve().then(way)));
        return ends.map(end => end.status);
    })"""
    ends = await page.does(f"{tries}({port})")
    await asyncio.sleep(0.5)
    assert ends[:3] == ["rejected"] * 3
    assert ends[-2:] == ["rejected", "rejected"]
    assert heard == []
    # the browser's own socket, which the page keeps by that name, was tried and blocked
    assert any("ws://" in line.split(" violates ")[0] for line in page.complaints)
    assert any("Content Security Policy" in line for line in page.complaints)
    other.close()


async def test_a_page_of_another_place_cannot_use_the_pass(browser: Browser, serve: Serve) -> None:
    """The same browser, holding the cookie, opens somebody else's page, which tries our socket."""
    page = await viewing(browser, serve())
    place = urlsplit(await page.does("location.href")).netloc

    async def answer(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        await reader.readuntil(b"\r\n\r\n")
        body = b"<!DOCTYPE html><title>other</title>"
        head = f"HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: {len(body)}\r\n\r\n"
        writer.write(head.encode() + body)
        await writer.drain()
        writer.close()

    other = await asyncio.start_server(answer, "127.0.0.1", 0)
    await page.go(f"http://127.0.0.1:{other.sockets[0].getsockname()[1]}/")
    for _ in range(100):
        if await page.does("document.title") == "other":
            break
        await asyncio.sleep(0.05)
    opened = await page.does(
        f"""new Promise(end => {{
            const socket = new WebSocket("ws://{place}/ws?width=80&height=24");
            socket.onopen = () => end("open"); socket.onerror = () => end("refused");
        }})"""
    )
    assert opened == "refused"
    read = await page.does(
        f"""fetch("http://{place}/", {{credentials: "include"}}).then(() => "read", () => "no")"""
    )
    assert read == "no"
    other.close()


async def test_a_finger_scrolls_and_the_view_can_be_opened_again(
    browser: Browser, serve: Serve
) -> None:
    page = await viewing(browser, serve(), size=(820, 420))
    await page.tap("Debrief")
    await page.until(lambda text: "DEBRIEF" in text and "from full" in text, 60)
    top = await quiet(page)
    for y in range(260, 60, -20):
        kind = "touchStart" if y == 260 else "touchMove"
        await page.call("Input.dispatchTouchEvent", type=kind, touchPoints=[{"x": 300, "y": y}])
    await page.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
    await page.until(lambda text: text != top, 10)

    await page.press("q")
    for _ in range(200):
        if await page.does("document.body.classList.contains('-closed')"):
            break
        await asyncio.sleep(0.05)
    assert await page.does("getComputedStyle(document.querySelector('#ended')).display") == "flex"
    await page.tap("Open it again")
    await page.until(lambda text: "PIT BOARD" in text, 60)
