"""Fingers, sizes and lost connections, in a real browser."""

from __future__ import annotations

import asyncio
import re
from datetime import date
from pathlib import Path
from typing import Self
from urllib.parse import urlsplit

import pytest

from tests.serve.browser import Browser, Page, found
from tests.serve.conftest import Serve
from trackside.logbook import Logbook, patch

pytestmark = [
    pytest.mark.skipif(
        found() is None, reason="no browser on this machine (Debian: apt-get install chromium)"
    ),
    pytest.mark.asyncio(loop_scope="session"),
]
SIZES = [(1024, 768), (768, 1024), (390, 844), (844, 390)]
"""Tablet and phone, across and upright, in CSS pixels."""
SMALLEST = 44
"""CSS pixels each way that a finger hits: WCAG 2.2, success criterion 2.5.5 (from memory)."""


BESIDE = """(() => {
  const [lost, page] = ["#lost", "#main"].map(
    (name) => document.querySelector(name).getBoundingClientRect());
  return lost.top >= page.bottom || lost.left >= page.right;
})()"""
"""Whether the sentence about a lost connection stands beside the page."""


@pytest.fixture
def going_on(season_file: Path) -> Path:
    """The season, its last session today: no correction is asked why."""
    with Logbook.open(season_file) as logbook:
        today = f"{date.today().isoformat()} 14:00"
        logbook.write(patch("session", logbook.session("last"), {"start": today}))
    return season_file


class Wire:
    """Between browser and server: it can be cut, and mended."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.whole = True
        self.ends: list[asyncio.StreamWriter] = []

    async def __aenter__(self) -> Self:
        self.server = await asyncio.start_server(self._join, "127.0.0.1", 0)
        self.place = f"127.0.0.1:{self.server.sockets[0].getsockname()[1]}"
        return self

    async def __aexit__(self, *_: object) -> None:
        self.server.close()
        self.cut()

    async def _join(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        if not self.whole:
            writer.transport.abort()
            return
        away_reader, away_writer = await asyncio.open_connection("127.0.0.1", self.port)
        self.ends += [writer, away_writer]
        await asyncio.gather(self._carry(reader, away_writer), self._carry(away_reader, writer))

    async def _carry(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            while data := await reader.read(65536):
                writer.write(data)
                await writer.drain()
        except (ConnectionError, RuntimeError):
            pass
        writer.close()

    def cut(self) -> None:
        """No more goes through."""
        self.whole = False
        for end in self.ends:
            end.transport.abort()
        self.ends = []


async def viewing(browser: Browser, link: str, size: tuple[int, int] = (1180, 820)) -> Page:
    """A page that came in and shows the pit board."""
    page = await browser.page(size)
    await page.go(link)
    await page.until(lambda text: "PIT BOARD" in text, 60)
    return page


async def holds(page: Page, script: str, seconds: float = 30) -> None:
    """Wait until that holds in the page."""
    for _ in range(int(seconds * 10)):
        if await page.does(script):
            return
        await asyncio.sleep(0.1)
    raise AssertionError(f"never: {script}")


async def type_in(page: Page, text: str) -> None:
    """Keys with those characters."""
    for sign in text:
        await page.press(sign)


# ── buttons ─────────────────────────────────────────────────────────────────────────────────────


async def test_a_button_acts_and_never_types(
    browser: Browser, serve: Serve, going_on: Path
) -> None:
    page = await viewing(browser, await asyncio.to_thread(serve().link))
    await page.tap("Sheet")
    await page.until(lambda text: "RUN SHEET" in text)

    await page.tap("Note")
    await page.until(lambda text: "Driver's note" in text)
    await type_in(page, "it pushes")
    await page.tap("Debrief")
    await page.until(lambda text: "DEBRIEF" in text and "Driver's note" not in text)
    await page.tap("Sheet")
    await page.until(lambda text: "RUN SHEET" in text)
    await page.tap("Note")
    await page.until(lambda text: re.search(r"it pushes *┃", text))  # held, with no letter more
    await page.tap("Save")
    await page.until(lambda text: "Driver's note" not in text)

    with Logbook.open(going_on, read_only=True) as logbook:
        session = logbook.session("last")
        assert [body["words"] for _, body in logbook.notes(session)][-1] == "it pushes"
        names = {str(body.get("driver")) for _, body in logbook.all("session")}

    for part in ("Camber", "Driver"):
        await page.tap("Tab")
        await page.until(lambda text, part=part: part in text)
    for _ in range(30):
        if "Driver ·" in page.text().split("\n")[20:][0] or re.search(
            r"^Driver ·", page.text(), re.M
        ):
            break
        await page.tap("↓")
        await asyncio.sleep(0.2)
    for button in ("Debrief", "Clicks", "Board", "Undo"):
        await type_in(page, "Te")
        await page.tap(button)
        await asyncio.sleep(0.8)
        await page.tap("Sheet")
        await page.until(lambda text: "RUN SHEET" in text)
    await asyncio.sleep(1)
    with Logbook.open(going_on, read_only=True) as logbook:
        now = {str(body.get("driver")) for _, body in logbook.all("session")}
        assert now <= names | {"Te"}  # a whole word that was typed, or none: no letter of a button


async def test_harder_softer_next_and_undo_are_touched(
    browser: Browser, serve: Serve, going_on: Path
) -> None:
    page = await viewing(browser, await asyncio.to_thread(serve().link))
    await page.tap("Clicks")
    await page.until(lambda text: "FL rebound 6 of 20 from full hard" in text, 60)
    await page.tap("Harder")
    await page.until(lambda text: "FL rebound 5 of 20 from full hard" in text)
    await page.tap("Softer")
    await page.until(lambda text: "FL rebound 6 of 20 from full hard" in text)
    await page.tap("Softer")
    await page.until(lambda text: "FL rebound 7 of 20 from full hard" in text)
    await page.tap("Undo")
    await page.until(lambda text: "does it" in text)
    await page.tap("Undo")
    await page.until(lambda text: "FL rebound 6 of 20 from full hard" in text)
    with Logbook.open(going_on, read_only=True) as logbook:
        many = logbook.session_count()
    await page.tap("Next")
    await page.until(lambda text: "that works on" in text)
    await page.tap("Sheet")
    await page.until(lambda text: "RUN SHEET" in text)
    await page.tap("Next")
    await page.until(lambda text: "new session" in text)
    with Logbook.open(going_on, read_only=True) as logbook:
        assert logbook.session_count() == many + 1


async def test_where_it_is_only_read_no_button_writes(browser: Browser, serve: Serve) -> None:
    page = await viewing(browser, await asyncio.to_thread(serve("--read-only").link))
    names = await page.does("[...document.querySelectorAll('[data-act]')].map(b => b.dataset.act)")
    assert "debrief" in names
    assert not {"keep", "undo", "click_harder", "new_session", "note"} & set(names)


# ── sizes ───────────────────────────────────────────────────────────────────────────────────────


async def measured(page: Page) -> None:
    """Every button is large enough, within the window or within reach of a scroll; the page is
    drawn for 60×20 or more."""
    boxes = await page.does(
        """[...document.querySelectorAll("nav button")].map(b => {
             const r = b.getBoundingClientRect(), nav = b.closest("nav");
             const within = r.left >= 0 && r.right <= innerWidth + 0.5;
             const scrolls = nav.scrollHeight > nav.clientHeight;
             const reached = r.bottom <= innerHeight + 0.5 || scrolls;
             return [b.textContent, r.width, r.height, within, reached];
           })"""
    )
    assert len(boxes) >= 20
    for name, width, height, across, down in boxes:
        assert width >= SMALLEST, name
        assert height >= SMALLEST, name
        assert across, name
        assert down, name
    await page.until(lambda text: "too small" not in text)
    assert await page.does("document.documentElement.scrollWidth <= innerWidth")
    assert await page.does(
        """(() => {
             const [page, keys] = ["#terminal", "#touch"].map(
               (id) => document.querySelector(id).getBoundingClientRect());
             const beside = page.right <= keys.left || page.bottom <= keys.top;
             return page.right <= innerWidth && beside;
           })()"""
    ), "buttons lie over the page"
    at = await page.does(
        """[...document.querySelectorAll("nav button")].slice(0, 5).map(b => {
             const r = b.getBoundingClientRect();
             return document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2) === b;
           })"""
    )
    assert all(at), "a button is under something else"


@pytest.mark.parametrize("size", SIZES)
async def test_the_page_fits_each_way_it_is_held(
    browser: Browser, serve: Serve, size: tuple[int, int]
) -> None:
    page = await viewing(browser, await asyncio.to_thread(serve().link), size)
    width, height = size
    assert await page.does("[innerWidth, innerHeight]") == [width, height]
    await measured(page)
    await page.tap("Debrief")
    await page.until(lambda text: "DEBRIEF" in text)
    await page.call("Emulation.setDeviceMetricsOverride", width=height, height=width,
                    deviceScaleFactor=1, mobile=True)  # fmt: skip
    await asyncio.sleep(2)
    await page.until(lambda text: "DEBRIEF" in text)
    await measured(page)
    assert sum(url.startswith("ws://") for url in page.asked) == 1  # the same line all the while


@pytest.mark.parametrize("later", [0.1, 0.4])
async def test_a_phone_turned_while_the_program_starts_shows_the_page(
    browser: Browser, serve: Serve, later: float
) -> None:
    page = await browser.page((240, 320))
    await page.go(await asyncio.to_thread(serve().link))
    await holds(page, "!!document.querySelector('.xterm-screen')")
    await asyncio.sleep(later)
    await page.call("Emulation.setDeviceMetricsOverride", width=844, height=390,
                    deviceScaleFactor=1, mobile=True)  # fmt: skip
    await page.until(lambda text: "PIT BOARD" in text and "too small" not in text)
    await measured(page)


async def test_a_window_too_small_says_what_to_do(browser: Browser, serve: Serve) -> None:
    page = await browser.page((240, 320))
    await page.go(await asyncio.to_thread(serve("--read-only").link))
    said = "document.querySelector('#narrow')"
    await holds(page, f"{said}?.offsetHeight > 0 && {said}.innerText.includes('Turn the phone')")
    await page.call("Emulation.setDeviceMetricsOverride", width=844, height=390,
                    deviceScaleFactor=1, mobile=True)  # fmt: skip
    await page.until(lambda text: "PIT BOARD" in text and "too small" not in text, 60)
    await holds(page, f"{said}.offsetHeight === 0")
    # measured without that line
    assert await page.does("Number(terminal.dataset.fontSize) === best()")


def named(text: str) -> list[str]:
    """Run and car in the heading, without the jobs: large letters leave them no room."""
    parts = text.split("\n")[0].split(" · ")
    return [part for part in parts if "to do" not in part][:2]


async def test_letters_change_and_page_and_session_stay(browser: Browser, serve: Serve) -> None:
    page = await viewing(browser, await asyncio.to_thread(serve("--read-only").link))
    await page.tap("↓")
    await page.tap("Enter")
    await page.until(lambda text: "RUN SHEET" in text)
    heading = named(page.text())
    was = await page.does("Number(document.querySelector('#terminal').dataset.fontSize)")
    for key, by in (("A+", 2), ("A+", 4), ("A−", 2), ("A−", 0), ("A−", -2)):
        await page.tap(key)
        await holds(page, f"document.querySelector('#terminal').dataset.fontSize == {was + by}")
        await page.until(lambda text: named(text) == heading)
        await holds(page, "document.activeElement === document.querySelector('#terminal textarea')")
    await page.press("d")
    await page.until(lambda text: "DEBRIEF" in text)  # keys reach the new terminal
    assert sum(url.startswith("ws://") for url in page.asked) == 1


# ── a lost connection ───────────────────────────────────────────────────────────────────────────


async def test_a_lost_connection_leaves_the_page_readable_and_comes_back_to_it(
    browser: Browser, serve: Serve, tmp_path: Path
) -> None:
    served = serve("--read-only")
    link = urlsplit(await asyncio.to_thread(served.link))
    async with Wire(served.port()) as wire:
        page = await viewing(browser, link._replace(netloc=wire.place).geturl())
        await page.tap("↓")
        await page.tap("↓")
        await page.tap("Enter")
        await page.until(lambda text: "RUN SHEET" in text)
        heading = page.text().split("\n")[0].split(" · ")[:4]
        await page.tap("Debrief")
        await page.until(lambda text: "DEBRIEF" in text)
        await holds(page, "(sessionStorage.getItem('place') || '').startsWith('debrief ')")

        place = "JSON.stringify(document.querySelector('#terminal').getBoundingClientRect())"
        was = await page.does(place)
        wire.cut()
        await holds(page, "document.body.classList.contains('-lost')")
        await holds(page, "document.querySelector('#lost').innerText.includes('out of reach')")
        assert await page.does(place) == was, "the page was pushed aside"
        for width, height in SIZES:
            await page.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                            deviceScaleFactor=1, mobile=True)  # fmt: skip
            assert await page.does(BESIDE), f"the page is covered at {width}×{height}"
        assert (
            await page.does("getComputedStyle(document.querySelector('#ended')).display") == "none"
        )
        assert await page.does("getComputedStyle(document.querySelector('#terminal')).filter") == (
            "grayscale(1)"
        )
        seen = await page.picture(tmp_path / "lost.png")
        assert seen.stat().st_size > 12_000  # an empty page has some 5 kB
        await page.press("p")  # not taken

        wire.whole = True
        await page.tap("Try now")
        await holds(page, "!document.body.classList.contains('-lost')")
        text = await page.until(lambda text: "DEBRIEF" in text, 60)
        assert text.split("\n")[0].split(" · ")[1:4] == heading[1:4]

        await page.call("Page.reload")
        text = await page.until(lambda text: "DEBRIEF" in text, 60)
        assert text.split("\n")[0].split(" · ")[1:4] == heading[1:4]


async def test_a_server_that_began_again_says_so_and_the_page_stays_readable(
    browser: Browser, serve: Serve
) -> None:
    first = serve("--read-only")
    link = urlsplit(await asyncio.to_thread(first.link))
    async with Wire(first.port()) as wire:
        page = await viewing(browser, link._replace(netloc=wire.place).geturl())
        await page.tap("Clicks")
        await page.until(lambda text: "CLICK MAP" in text)
        await holds(page, "(sessionStorage.getItem('place') || '').startsWith('clicks ')")
        wire.cut()
        await asyncio.to_thread(first.end)
        second = serve("--read-only", "--port", str(first.port()))
        wire.whole = True
        await holds(page, "document.querySelector('#enter').hidden === false", 40)
        link = urlsplit(await asyncio.to_thread(second.link))
        await page.go(link._replace(netloc=wire.place).geturl())
        await page.until(lambda text: "CLICK MAP" in text, 60)
