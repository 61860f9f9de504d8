"""Where tests put their files."""

from __future__ import annotations

import os
import shutil

ROOM_ENOUGH = 2_000_000_000
"""Bytes that a folder in memory must have free: our own, no source."""


def quick_place() -> str | None:
    """A folder in memory, where there is one with room: what is synced here need not reach a
    disk."""
    place = "/dev/shm"
    if os.access(place, os.W_OK) and shutil.disk_usage(place).free > ROOM_ENOUGH:
        return place
    return None
