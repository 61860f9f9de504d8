"""The sample weekends: an invented team's two events, dyno sheets and files included, into a
logbook."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trackside.errors import BadImport

if TYPE_CHECKING:
    from trackside.logbook import Logbook

EVENTS = ("019e0b52-3f00-7fee-9237-016fdd44af2d", "01a14872-1b00-70f3-ba0b-7959e80e9416")
"""The sample weekends' events, by entity."""


def holds_samples(logbook: Logbook) -> bool:
    """Whether a sample weekend is in that logbook."""
    return any(logbook.kind_of(event) for event in EVENTS)


def samples_folder() -> Path:
    """Where the sample weekends are: inside an installed package, beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "sample_sessions", package.parent / "sample_sessions"):
        if (folder / "weekends.json").is_file():
            return folder
    raise BadImport(
        "the sample weekends are not beside the program", "install trackside again, whole"
    )


def load_samples(logbook: Logbook, folder: Path | None = None) -> int:
    """Take the sample weekends in, all or nothing; how many records were added.

    Twice adds nothing. BadImport, or BadSheet, when the folder is not as it was shipped.
    """
    from trackside.logbook.exchange import import_json

    folder = folder or samples_folder()
    try:
        document = json.loads((folder / "weekends.json").read_text("utf-8"))
        document["entities"] += _sheets(folder / "dyno")
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise BadImport(
            f"{folder} is not the sample weekends ({error})", "install them again"
        ) from (error)
    return import_json(logbook, document, reason="sample weekends").added


def keep_files(log: Path, folder: Path | None = None) -> None:
    """Put the files that the samples' notes name beside that logbook. BadInput says why one cannot
    be, LogbookFull that the disk takes none."""
    from trackside.logbook.attached import folder_of, keep

    for file in sorted(((folder or samples_folder()) / "files").iterdir()):
        keep(folder_of(log), str(file))


def _sheets(folder: Path) -> Iterator[dict[str, Any]]:
    """The dyno sheets that sheets.toml lists, as entities of the exchange document."""
    import tomllib  # as in `preferences`: 4 ms before the first page

    from trackside.records import read_sheet

    for table in tomllib.loads((folder / "sheets.toml").read_text("utf-8"))["sheet"]:
        name = table["file"]
        sheet = read_sheet((folder / name).read_text("utf-8"), source=name)
        stated = {
            "damper": table["damper"],
            "build": table["build"],
            "date": table["date"],
            "counted_from": table.get("counted_from"),
            "gas_in": table.get("gas_in", False),
            "gas_pressure": table.get("gas_pressure_Pa"),
            "words": table.get("words", ""),
        }
        day = datetime.fromisoformat(table["date"]).replace(hour=17, tzinfo=UTC)
        yield {
            "entity": _entity(day, name),
            "kind": "sheet",
            "body": sheet.model_copy(update=stated).body(),
            "author": "",
            "recorded_at": day.strftime("%Y-%m-%dT%H:%M:%SZ"),
            "reason": stated["words"],
        }


def _entity(day: datetime, name: str) -> str:
    """A UUID version 7 (RFC 9562) of that day, its random bits fixed by the file's name."""
    random = int.from_bytes(hashlib.sha256(name.encode()).digest()[:10])
    value = int(day.timestamp() * 1000) << 80 | random
    value = value & ~(0xF << 76) & ~(0b11 << 62) | 0x7 << 76 | 0b10 << 62
    digits = f"{value:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))
