"""The team hub: a PostgreSQL database that holds every laptop's revisions. Never needed to record.

with wire_to(address_of("postgresql://mara@hub.example/team")) as wire:
    result = sync(logbook, wire, team_of(wire))
"""

from trackside.logbook.hub.address import Address, address_of
from trackside.logbook.hub.aside import EVERY, set_aside
from trackside.logbook.hub.connection import HubConnection, wire_to
from trackside.logbook.hub.files import FilesMet, meet_files
from trackside.logbook.hub.remembered import Remembered, recall, remember
from trackside.logbook.hub.syncing import HubStatus, SyncResult, status, sync
from trackside.logbook.hub.team import Roles, Team, set_up, team_of

__all__ = [
    "EVERY",
    "Address",
    "FilesMet",
    "HubConnection",
    "HubStatus",
    "Remembered",
    "Roles",
    "SyncResult",
    "Team",
    "address_of",
    "meet_files",
    "recall",
    "remember",
    "set_aside",
    "set_up",
    "status",
    "sync",
    "team_of",
    "wire_to",
]
