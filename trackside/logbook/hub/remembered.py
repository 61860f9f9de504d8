"""The hub that was last met, in a small file beside the preferences: never with its password."""

from __future__ import annotations

import json
from pathlib import Path
from typing import NamedTuple

from trackside.errors import BadPreference
from trackside.logbook.atomic_file import whole
from trackside.preferences import config_folder


class Remembered(NamedTuple):
    """A hub's URL without password, and the team that was named for it, if any."""

    url: str
    team: str


def hub_file() -> Path:
    """Where the hub is remembered; it need not exist."""
    return config_folder() / "hub.json"


def remember(url: str, team: str) -> None:
    """Keep it for the next time; `url` is an address as it is shown."""
    found = Remembered(url, team)
    if recall() != found:
        with whole(hub_file()) as part:
            part.write_text(json.dumps(found._asdict(), ensure_ascii=False) + "\n", "utf-8")


def recall() -> Remembered | None:
    """The hub that is remembered; None without one. BadPreference when the file is none of ours."""
    path = hub_file()
    try:
        found = json.loads(path.read_text("utf-8"))
        return Remembered(str(found["url"]), str(found["team"]))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise BadPreference(
            f"{path} cannot be read", "remove it, and name the hub again"
        ) from error
