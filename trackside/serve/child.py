"""In the program behind a browser: end when the server ends, however it ended.

The server's end shows in two ways: the kernel's word (Linux, at once) and another parent (every
system with processes that have parents, within half a second). Either is taken as a closed
terminal: what stands on the screens is kept, then the program goes.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time

SERVER = "TRACKSIDE_SERVER"
"""The variable that names the server's process to the programs it starts."""
LOOK_EVERY, PATIENCE = 0.5, 10.0
"""Seconds between two looks at the parent, and those that leaving may take."""
_PR_SET_PDEATHSIG = 1
"""prctl(2)."""


def end_with_server() -> None:
    """Watch over the server named in the environment; without one, nothing is watched."""
    named = os.environ.pop(SERVER, "")
    if not named.isdigit() or not hasattr(signal, "SIGHUP"):
        return
    server = int(named)
    if sys.platform == "linux":
        _ask_the_kernel()
    threading.Thread(target=_watch, args=(server,), name="server-watch", daemon=True).start()


def _ask_the_kernel() -> None:
    import ctypes

    ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGHUP, 0, 0, 0)


def _watch(server: int) -> None:
    while os.getppid() == server:
        time.sleep(LOOK_EVERY)
    os.kill(os.getpid(), signal.SIGHUP)
    time.sleep(PATIENCE)
    os._exit(129)
