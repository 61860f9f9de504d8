"""The keeper sets aside what a member should not have given: rubbish, or a flood of it.

A row keeps its number and its link, so the list stays whole, and is handed out to nobody any more.
"""

from __future__ import annotations

from typing import Final

from trackside.errors import BadInput
from trackside.logbook.hub.connection import HubConnection
from trackside.logbook.hub.team import check_version
from trackside.units import one_line

_CHOSEN: Final = """
WITH chosen AS (
  SELECT team, number, pushed_by FROM trackside_hub.revision
  WHERE team = %s AND number BETWEEN %s AND %s AND pushed_by = coalesce(%s, pushed_by)
), done AS ("""
_AWAY: Final = """
  INSERT INTO trackside_hub.set_aside (team, number) SELECT team, number FROM chosen
  ON CONFLICT DO NOTHING RETURNING number"""
_BACK: Final = """
  DELETE FROM trackside_hub.set_aside AS aside USING chosen
  WHERE aside.team = chosen.team AND aside.number = chosen.number RETURNING aside.number"""
_BY_WHOM: Final = """
) SELECT pushed_by, count(*) FROM chosen JOIN done USING (number) GROUP BY 1 ORDER BY 1"""

EVERY: Final = (1, (1 << 63) - 1)
"""The first and the last number that there can be."""


def set_aside(
    wire: HubConnection,
    team: str,
    numbers: tuple[int, int] = EVERY,
    by: str | None = None,
    back: bool = False,
) -> dict[str, int]:
    """Set aside what has those numbers, first and last; only what `by` gave of it, where a login is
    named. With `back`, hand it out again. The logins that gave it, and how much of theirs changed.

    Only the hub's keeper may. BadInput where there is no such team.
    """
    check_version(wire)
    found = wire.ask("SELECT id FROM trackside_hub.team WHERE name = %s", one_line(team))
    if not found:
        raise BadInput(f"There is no team “{one_line(team)}” on the hub", "see how it is written")
    chosen = (found[0][0], *numbers, by)
    if back:
        return dict(wire.ask(_CHOSEN + _BACK + _BY_WHOM, *chosen))
    return dict(wire.ask(_CHOSEN + _AWAY + _BY_WHOM, *chosen))
