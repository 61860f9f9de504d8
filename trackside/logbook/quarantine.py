"""What came in under a computer's name and cannot be its: kept, passed on, and not believed.

Each revision names, as `before`, the one that its computer wrote before it, so what a computer
wrote is a chain. Nothing is signed: the laptops of a team share no secret, and whoever has a file
can write any name into it. So the chain is no proof of who wrote. It stops the one attack that did
harm: a revision with a victim's name and the largest number, after which the victim's own work was
refused. Such a one names no revision that is here, far beyond the numbers of that name (a jump), or
one of that name that is not the one before it (a break); either is held back. It blocks nobody: the
owner goes on under a new name (`identity.own_name`), and what was held back counts for no other.

Held back is decided by all that is here, never by what came first, so laptops that met agree, and
what is missing may come later. Older programs named nothing before: there the number alone is
judged. Where one number was given out twice (a fork) both are shown and it is said: most often a
home was copied, both are honest work, and nothing here can say which of them is not.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Container, Iterable, Iterator, Mapping
from typing import Final

FARTHEST: Final = 10_000
"""How many numbers of one computer may be missing at a time; a choice of our own. A season takes
some ten thousand; a spot of damage in a bundle some hundreds."""

_TABLE: Final = """CREATE TABLE IF NOT EXISTS held (
  rev TEXT NOT NULL PRIMARY KEY, why TEXT NOT NULL
) STRICT"""
_IS_THERE: Final = "SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'held'"
_OF_DEVICE: Final = """SELECT seq, rev, json_extract(envelope, '$.before') FROM revision
WHERE device = ? ORDER BY seq, rev"""
_SAID: Final = 20
"""How many sentences are said one by one."""


def believed(sql: sqlite3.Connection) -> str:
    """What a query of `revision` adds to leave out what is held back; "" where nothing is."""
    there = sql.execute(_IS_THERE).fetchone()
    return "AND rev NOT IN (SELECT rev FROM held)" if there else ""


def held_back(sql: sqlite3.Connection) -> dict[str, str]:
    """The names of what is held back, each with the reason."""
    if not sql.execute(_IS_THERE).fetchone():
        return {}
    return dict(sql.execute("SELECT rev, why FROM held"))


def judged(sql: sqlite3.Connection, device: str) -> dict[str, str]:
    """What is to be held back of that computer's revisions, each with the reason."""
    found: dict[str, str] = {}
    rows = sql.execute(_OF_DEVICE, (device,)).fetchall()
    number_of = {rev: number for number, rev, _ in rows}
    reached = 0
    for number, rev, before in rows:
        why = ""
        if before in found:
            why = "it follows one that is held back"
        elif before is not None and not _may_be_before(number, before, number_of):
            why = "what it names is not the one before it"
        elif number - reached > FARTHEST:
            why = f"{number - reached - 1} before it are not here"
        if why:
            found[rev] = f"number {number} of {named(device)}: {why}"
        else:
            reached = number
    return found


def _may_be_before(number: int, before: str, number_of: Mapping[str, int]) -> bool:
    """Whether the revision of that name has the number before, or is not here under this name."""
    return (before == "") == (number == 1) and number_of.get(before, number - 1) == number - 1


def look(sql: sqlite3.Connection, devices: Iterable[str]) -> dict[str, str]:
    """Judge those computers' revisions again, within the open transaction; what has changed: the
    revisions held back now, with the reason, and those let go, with ""."""
    was = held_back(sql)
    changed: dict[str, str] = {}
    for device in devices:
        now = judged(sql, device)
        of_device = {rev for _, rev, _ in sql.execute(_OF_DEVICE, (device,))} if was else set()
        changed |= dict.fromkeys((was.keys() & of_device) - now.keys(), "")
        changed |= {rev: why for rev, why in now.items() if rev not in was}
    if changed:
        sql.execute(_TABLE)
        sql.executemany("DELETE FROM held WHERE rev = ?", [(rev,) for rev in changed])
        sql.executemany(
            "INSERT INTO held VALUES (?, ?)", [(rev, why) for rev, why in changed.items() if why]
        )
    return changed


def forks(
    sql: sqlite3.Connection, devices: Iterable[str], new: Container[str] | None = None
) -> Iterator[str]:
    """Of those computers' names, the ones under which two wrote, one sentence each; with `new`
    revisions, only where one of them took a number once more."""
    for device in devices:
        found = sql.execute(
            f"""SELECT seq, rev FROM revision WHERE device = ?1 {believed(sql)} AND seq IN (
                  SELECT seq FROM revision WHERE device = ?1 {believed(sql)}
                  GROUP BY seq HAVING count(*) > 1) ORDER BY seq""",
            (device,),
        ).fetchall()
        if found and (new is None or any(rev in new for _, rev in found)):
            yield (
                f"Two computers, or two logbooks of one, wrote as {named(device)}: from number "
                f"{found[0][0]} on, numbers were given out twice. Nothing is lost. Where a home "
                "was copied, run trackside new-name once on one of the two."
            )


def computers(sql: sqlite3.Connection) -> list[str]:
    """Every name that is written under here."""
    return [name for (name,) in sql.execute("SELECT DISTINCT device FROM revision ORDER BY 1")]


def named(device: str) -> str:
    """A computer's name in a sentence."""
    return f"laptop …{device[-6:]}"


def sentences(why: Iterable[str]) -> list[str]:
    """What is held back, one sentence each, and how many more there are."""
    reasons = list(why)
    said = [f"Held back, and not shown: {reason}." for reason in reasons[:_SAID]]
    if more := len(reasons) - len(said):
        said.append(f"And {more} more like these.")
    return said
