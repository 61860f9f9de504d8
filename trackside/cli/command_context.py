"""What every command shares: which logbook and preferences, and reading what was given."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from trackside.errors import BadInput, BadNumber, UnknownRecord
from trackside.units import read_number

if TYPE_CHECKING:
    from trackside.crew.forms import Entry
    from trackside.logbook import Logbook
    from trackside.logbook.unread import UnreadRecords
    from trackside.preferences import Preferences

FASTEST = 20.0
"""Rod speeds above this (m/s) are a slip of the unit."""

F = TypeVar("F", bound=Callable[..., Any])


class CommandContext:
    """One run of the program. `asked` is the --log that was given; `read_only` holds for the
    screens."""

    def __init__(self, asked: Path | None = None, read_only: bool = False) -> None:
        self.asked = asked
        self.read_only = read_only
        self.problems_told = False
        """Whether JSON has named them already."""
        self._unread: list[UnreadRecords] = []

    @cached_property
    def preferences(self) -> Preferences:
        """The crew's preferences, read once."""
        from trackside.preferences import load

        return load()

    def tell_in(self, as_json: bool) -> Preferences:
        """The preferences to tell it with: JSON is in SI, whatever the crew reads."""
        return self.preferences.in_si() if as_json else self.preferences

    def ink(self) -> str:
        """What charts are drawn with: what the crew prefers, if the output can hold it."""
        return self.preferences.ink if speaks_unicode() else "ascii"

    @property
    def log(self) -> Path:
        """The logbook file."""
        if self.asked is not None:
            return self.asked
        from trackside.preferences import default_logbook

        return default_logbook()

    def reader(self) -> Logbook:
        """The logbook, open for reading; UnknownRecord when there is none yet."""
        from trackside.logbook import Logbook

        self.must_exist()
        return self._watched(Logbook.open(self.log, read_only=True))

    def must_exist(self) -> None:
        """UnknownRecord when there is no logbook yet."""
        from trackside.logbook.backups_beside import lost

        if error := lost(self.log):
            raise error
        if not self.log.exists():
            raise UnknownRecord(
                f"there is no logbook {self.log} yet",
                "open trackside and write the first session down, name one with --log, or make "
                "one with trackside demo --into FILE",
            )

    def writer(self) -> Logbook:
        """The logbook, open for writing, made when it is missing."""
        from trackside.logbook import Logbook
        from trackside.preferences import device_file

        signed = self.preferences.signed_by
        return self._watched(Logbook.open(self.log, author=signed, device=device_file()))

    def _watched(self, logbook: Logbook) -> Logbook:
        self._unread.append(logbook.unread)
        return logbook

    def problems(self) -> list[str]:
        """What this run has met in the logbook and could not read, a sentence each."""
        return [one.sentence for unread in self._unread for one in unread.of()]


def replacing(command: F) -> F:
    """Give a command that writes a file `--replace`."""
    return click.option("--replace", is_flag=True, help="Write over a file that is there.")(command)


def _choose_log(click_context: click.Context, _: click.Parameter, value: str | None) -> None:
    if value:
        click_context.obj.asked = Path(value)


def scripted(command: F) -> F:
    """Give a command `--json`, and `--log` behind the command too."""
    return logged(
        click.option("--json", "as_json", is_flag=True, help="JSON, for scripts.")(command)
    )


def logged(command: F) -> F:
    """Let `--log` stand behind the command too."""
    return click.option(
        "--log", metavar="FILE", hidden=True, expose_value=False, callback=_choose_log
    )(command)


def corner_named(text: str) -> str:
    """The corner of that name; UnknownRecord if there is none."""
    from trackside.records.fields import CORNERS

    if text.upper() not in CORNERS:
        raise UnknownRecord(f"there is no corner “{text}”", f"say {', '.join(CORNERS)}")
    return text.upper()


def number(text: str, what: str) -> float:
    """A number that was given on the command line; BadNumber says which one cannot be read."""
    try:
        return read_number(text)
    except BadNumber as error:
        raise BadNumber(f"{what} {error.cause}", error.remedy) from None


def speeds_of(text: str | None) -> tuple[float, ...] | None:
    """Rod speeds in m/s from mm/s parted by commas (or semicolons); None when none were given."""
    if text is None:
        return None
    parts = [part for part in text.replace(";", ",").split(",") if part.strip()]
    found = tuple(number(part, "--speeds") / 1000 for part in parts)
    if not found or not all(0 < speed <= FASTEST for speed in found):
        raise BadNumber(f"--speeds {text} are not rod speeds", "give mm/s above 0, as in 25,50,100")
    return found


def speaks_unicode() -> bool:
    """Whether the output can hold more than ASCII."""
    return (sys.stdout.encoding or "ascii").lower().replace("-", "").startswith("utf")


def placed(values: Iterable[str], asked: Mapping[str, Entry]) -> dict[Entry, str]:
    """What `PLACE=VALUE` words say, by the entry that `asked` has for each place; BadInput for one
    that is none."""
    texts: dict[Entry, str] = {}
    for given in values:
        place, sign, text = given.partition("=")
        entry = asked.get(place.strip().casefold())
        if not sign or entry is None:
            raise BadInput(
                f"“{given}” is no PLACE=VALUE here", f"the places are {', '.join(asked)}"
            )
        texts[entry] = text
    return texts
