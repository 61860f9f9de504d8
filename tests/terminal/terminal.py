"""A real terminal for the tests: a pty, and an emulator that knows what its screen shows."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import threading
import time
from collections.abc import Sequence
from pathlib import Path

import pyte

KEYS = {
    "enter": "\r",
    "escape": "\x1b",
    "tab": "\t",
    "down": "\x1b[B",
    "up": "\x1b[A",
    "right": "\x1b[C",
    "left": "\x1b[D",
    "home": "\x1b[H",
    "end": "\x1b[F",
    "pageup": "\x1b[5~",
    "pagedown": "\x1b[6~",
    "ctrl+s": "\x13",
    "ctrl+q": "\x11",
}

_UNKNOWN = re.compile(rb"\x1b\[[<>=][0-9;]*u|\x1b\[\?[0-9;]+\$p|\x1b\[[0-9;]* q")
"""Sequences that the emulator would print: keyboard protocol, mode queries, cursor shape."""


class Terminal:
    """A program on a pty of a stated size."""

    def __init__(
        self,
        command: Sequence[str],
        size: tuple[int, int],
        home: Path,
        environment: dict[str, str] | None = None,
    ) -> None:
        self.width, self.height = size
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", self.height, self.width, 0, 0))
        kept = {k: v for k, v in os.environ.items() if k in ("PATH", "LANG", "VIRTUAL_ENV")}
        self.process = subprocess.Popen(
            command,
            stdin=slave,
            stdout=slave,
            stderr=slave,
            start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
            env={
                **kept,
                "TERM": "xterm-256color",
                "COLORTERM": "truecolor",
                "LANG": "C.UTF-8",
                "HOME": str(home),
                "TRACKSIDE_DATA": str(home / "data"),
                "TRACKSIDE_CONFIG": str(home / "config"),
                "PYTHONPATH": os.pathsep.join(sys.path),
                **(environment or {}),
            },
        )
        os.close(slave)
        self.screen = pyte.Screen(self.width, self.height)
        self._stream = pyte.ByteStream(self.screen)
        self._lock = threading.Lock()
        self.raw = bytearray()
        self.last_output = time.perf_counter()
        self.drawing = True
        """Whether the emulator draws what comes: it is slow, and the program waits for it."""
        self._open = True
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        while self._open:
            try:
                ready, _, _ = select.select([self.master], [], [], 0.2)
                data = os.read(self.master, 65536) if ready else b""
            except (OSError, ValueError):
                return
            if data:
                with self._lock:
                    self.last_output = time.perf_counter()
                    self.raw += data
                    if self.drawing:
                        self._stream.feed(_UNKNOWN.sub(b"", data))

    def text(self) -> str:
        """What the screen shows."""
        with self._lock:
            return "\n".join(line.rstrip() for line in self.screen.display)

    def send(self, *keys: str) -> None:
        """Press keys, by name or as text."""
        for key in keys:
            os.write(self.master, KEYS.get(key, key).encode())
            time.sleep(0.02)

    def wait_for(self, words: str, seconds: float = 30.0) -> str:
        """Wait until the screen shows `words`."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            text = self.text()
            if words in text:
                return text
            time.sleep(0.02)
        raise AssertionError(f"“{words}” never appeared:\n{self.text()}")

    def wait_until_gone(self, words: str, seconds: float = 30.0) -> None:
        """Wait until the screen no longer shows `words`."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if words not in self.text():
                return
            time.sleep(0.02)
        raise AssertionError(f"“{words}” never went away:\n{self.text()}")

    def wait_for_end(self, seconds: float = 30.0) -> int:
        """Wait until the program has ended; its exit code."""
        return self.process.wait(timeout=seconds)

    def hang_up(self) -> None:
        """Close the terminal, as a window's cross or a dropped line does."""
        self._open = False
        self._reader.join(timeout=2)
        os.close(self.master)

    def close(self) -> None:
        """End whatever still runs."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
        if self._open:
            self.hang_up()
