"""The team hub: a PostgreSQL database that holds every laptop's revisions. Never needed to record.

with wire_to(address_of("postgresql://mara@hub.example/team")) as wire:
    met = meet(logbook, wire, team_of(wire))
"""

from trackside.logbook.hub.address import Address, address_of
from trackside.logbook.hub.aside import EVERY, set_aside
from trackside.logbook.hub.meeting import HubStatus, Met, meet, status
from trackside.logbook.hub.remembered import Remembered, recall, remember
from trackside.logbook.hub.team import Roles, Team, set_up, team_of
from trackside.logbook.hub.wire import Wire, wire_to

__all__ = [
    "EVERY",
    "Address",
    "HubStatus",
    "Met",
    "Remembered",
    "Roles",
    "Team",
    "Wire",
    "address_of",
    "meet",
    "recall",
    "remember",
    "set_aside",
    "set_up",
    "status",
    "team_of",
    "wire_to",
]
