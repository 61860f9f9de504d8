"""One browser's program: started without a shell, bounded in size and time, ended for certain."""

from __future__ import annotations

import asyncio
import json
import os
import signal
from asyncio.subprocess import PIPE, Process
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import PurePath
from typing import Any

from textual_serve.app_service import AppService

from trackside.serve.child import SERVER
from trackside.serve.passes import PHRASE_VARIABLE
from trackside.tui.touch import PLACE

SLOW = 20.0
"""Seconds within which a browser must take what is drawn."""
TO_LEAVE = 4.0
"""Seconds that a program has to keep what is half typed; then its terminal is closed, and after
as long again it is killed."""
LONGEST_PLACE = 200
"""Characters."""
TERM = "xterm-256color"
"""What the page draws as, wherever the server was started."""
COLUMNS, ROWS = (20, 400), (5, 200)


def within(value: object, bounds: tuple[int, int], otherwise: int) -> int:
    """A number of columns or rows as a browser may ask for it."""
    try:
        return max(bounds[0], min(bounds[1], int(value)))  # type: ignore[call-overload]
    except (TypeError, ValueError, OverflowError):
        return otherwise


def place(told: str) -> str:
    """Where a browser says that its last program was, if it can be a place at all."""
    return told if len(told) <= LONGEST_PLACE and told.isprintable() else ""


class Viewer(AppService):
    """The library's service for one browser, with a process group of its own."""

    def __init__(
        self, command: Sequence[str], cut_off: Callable[[], None], begins: str, **passed_on: Any
    ) -> None:
        """`cut_off` ends the connection without another word to the browser; the program goes to
        the place `begins`."""
        super().__init__(command[0], **passed_on)
        self._words = tuple(command)
        self._cut_off = cut_off
        self._begins = begins
        self._leaving = False

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        environment = super()._build_environment(width, height)
        environment.pop(PHRASE_VARIABLE, None)
        own = {SERVER: str(os.getpid()), PLACE: self._begins, "TERM": TERM}
        return environment | own

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        self._process = await asyncio.create_subprocess_exec(
            *self._words,
            stdin=PIPE,
            stdout=PIPE,
            stderr=PIPE,
            env=self._build_environment(width, height),
            start_new_session=True,
        )
        self._stdin = self._process.stdin
        return self._process

    async def run(self) -> None:
        """Hand on what the program draws; when it ends, so does the browser's view."""
        try:
            await super().run()
        finally:
            if not self._leaving:
                with suppress(TimeoutError, ConnectionError, RuntimeError):
                    async with asyncio.timeout(1):
                        await self.remote_close()

    async def on_data(self, payload: bytes) -> None:
        """Hand on what is drawn. A browser that does not take it in time is let go; what its
        program still draws is taken from it, so that it never waits to leave."""
        if self._leaving:
            return
        try:
            async with asyncio.timeout(SLOW):
                await super().on_data(payload)
        except (TimeoutError, ConnectionError, RuntimeError):
            self._leaving = True
            self._cut_off()

    async def on_meta(self, data: bytes) -> None:
        """What else the program says. No other page is opened from here, and a file that it hands
        out is saved, never shown as a page of this server."""
        said = json.loads(data)
        if said.get("type") == "open_url":
            return
        if said.get("type") == "place":
            await self.remote_write_str(json.dumps(["place", place(str(said.get("place", "")))]))
            return
        if said.get("type") == "deliver_file_start":
            name = PurePath(str(said.get("path", ""))).name
            safe = "".join(c if c.isalnum() or c in "-_." else "_" for c in name)
            said |= {"open_method": "download", "path": safe or "file"}
            said["mime_type"] = said.get("mime_type") or "application/octet-stream"
            data = json.dumps(said).encode("utf-8")
        await super().on_meta(data)

    async def set_terminal_size(self, width: object, height: object) -> None:  # type: ignore[override]
        """The browser's window, within what a program can draw."""
        await super().set_terminal_size(within(width, COLUMNS, 80), within(height, ROWS, 24))

    async def stop(self) -> None:
        """Let the program keep what is half typed and go; end it if it does not."""
        process, task, self._task = self._process, self._task, None
        self._leaving = True
        if process is None:
            return
        await self._download_manager.cancel_app_downloads(self.app_service_id)
        with suppress(TimeoutError, ConnectionError):
            async with asyncio.timeout(1):
                await self.send_meta({"type": "quit"})
        for last_word in (signal.SIGHUP, signal.SIGKILL):
            with suppress(TimeoutError):
                async with asyncio.timeout(TO_LEAVE):
                    await process.wait()
                break
            self.signal(last_word)
        await process.wait()
        if task is not None:
            task.cancel()
            with suppress(asyncio.CancelledError):
                await task

    def signal(self, word: signal.Signals) -> None:
        """Say that to the program and all that it started."""
        if self._process is not None:
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(self._process.pid, word)
