"""Files that notes name, between a laptop and its team's hub: what each side lacks is carried.

A file is proved by its hash on whichever side it comes in. One that cannot be carried is said in a
sentence, and the others go on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from trackside.errors import HubAway
from trackside.logbook.attached import Carried, Folder, carried, each_once, folder_of, named_in
from trackside.logbook.hub.file_doors import takes_files

if TYPE_CHECKING:
    from trackside.logbook.attached import State
    from trackside.logbook.hub.connection import HubConnection
    from trackside.logbook.hub.team import Team
    from trackside.logbook.store import Logbook
    from trackside.records.note import NamedFile

PART: Final = 1 << 20
"""Bytes of a file that are fetched at once."""
ASKED: Final = 2000
"""How many names are asked for at once."""
SLOWEST_S: Final = 600.0
"""How long one file may take to be given: the largest at 280 kbit/s. Our own choice. The server's
own limit for a statement counts the time that a file takes to come in, too (measured)."""

_MISSING: Final = "SELECT name FROM trackside_hub.missing_files(%s, %s::bytea[]) AS name"
_PART: Final = "SELECT trackside_hub.file_part(%s, %s, %s, %s)"
_KEEP: Final = "SELECT trackside_hub.keep_file(%s, %b, %b)"
_PATIENCE: Final = "SELECT set_config('statement_timeout', %s, false)"
_NO_PLACE: Final = (
    "The hub was set up before it could take files: its administrator adds that with "
    "trackside hub init URL --team NAME."
)


class FilesMet(NamedTuple):
    """What was taken from the hub and what was given to it; `given` is None for a login that only
    reads."""

    taken: Carried
    given: Carried | None


def meet_files(logbook: Logbook, wire: HubConnection, team: Team) -> FilesMet:
    """Take the files that notes name and this laptop lacks, then give those that the hub lacks.

    After `sync`, so that every note is shared. HubAway says how far it came; that much is kept.
    """
    if not takes_files(wire):
        return FilesMet(Carried(0, 0, (), _NO_PLACE), None)
    named = each_once(named_in(logbook))
    here = Folder(folder_of(logbook.path))
    there = _OnHub(wire, team, named)
    try:
        taken = carried(named, there, here)
        if not team.may_append:
            return FilesMet(taken, None)
        ours = [file for file in named if "there" in (there.state(file), here.state(file))]
        return FilesMet(taken, carried(ours, here, there))
    except HubAway as error:
        so_far = f"after the revisions, files so far: {there.fetched} fetched, {there.kept} given"
        raise HubAway(f"{error.cause}; {so_far}", error.remedy) from None


class _OnHub:
    """A team's files on the hub as a place of files."""

    def __init__(self, wire: HubConnection, team: Team, named: list[NamedFile]) -> None:
        self._wire = wire
        self._team = team
        self._lacks: set[str] = set()
        self.fetched = 0
        self.kept = 0
        names = [bytes.fromhex(file.sha256) for file in named]
        for start in range(0, len(names), ASKED):
            rows = wire.ask(_MISSING, team.id, names[start : start + ASKED])
            self._lacks |= {bytes(name).hex() for (name,) in rows}
        wire.ask(_PATIENCE, f"{SLOWEST_S:.0f}s")

    def __str__(self) -> str:
        return f"the hub of {self._team.name}"

    def state(self, file: NamedFile) -> State:
        """Whether the hub has it; whether that is what was named is proved when it is read."""
        return "missing" if file.sha256 in self._lacks else "there"

    def read(self, file: NamedFile) -> bytes:
        """What the hub has of it, in parts."""
        content = bytearray()
        name = bytes.fromhex(file.sha256)
        while len(content) < file.size:
            most = min(PART, file.size - len(content))
            [(part,)] = self._wire.ask(_PART, self._team.id, name, len(content), most)
            if not part:
                break
            content += part
        self.fetched += 1
        return bytes(content)

    def write(self, file: NamedFile, content: bytes) -> None:
        """Give it; one that another laptop gave meanwhile stays."""
        name = bytes.fromhex(file.sha256)
        self._wire.ask(_KEEP, self._team.id, name, content, slowest_s=SLOWEST_S)
        self._lacks.discard(file.sha256)
        self.kept += 1
