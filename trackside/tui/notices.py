"""What stands on the pit board until it is dealt with: conflicts, backups that failed, a file that
was replaced, and once the name that the crew's work is signed with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.logbook.clock import now, stamp
from trackside.preferences import preferences_file
from trackside.tui.commands import key_of

if TYPE_CHECKING:
    from trackside.crew.workspace import Workspace


def conflicts_said(count: int) -> str:
    """How many values wait for a decision, and the key to them; empty for none."""
    if not count:
        return ""
    values = "1 value differs" if count == 1 else f"{count} values differ"
    key = key_of("conflicts")
    return f"{values} between windows or laptops: {key} shows every version."


def verdicts_said(desk: Workspace) -> str:
    """How many changes wait for their verdict, and the key to them; empty for none, and until the
    logbook has been read: the first page waits for no records."""
    if desk.shed is None:
        return ""
    from trackside.reports.said_words import waiting_words

    words = waiting_words(len(desk.verdicts.waiting()))
    return f"{words}: {key_of('verdicts')} gives it." if words else ""


def jobs_to_do_said(desk: Workspace) -> str:
    """How many jobs are open on each car, and the key to them; empty for none, and until the
    logbook has been read."""
    if desk.shed is None:
        return ""
    from trackside.reports.job_words import counted

    words = counted(desk.jobs.open_counts())
    return f"{words}. {key_of('jobs')} lists them." if words else ""


def clock_behind_said(until: str) -> str:
    """That the clock is behind what this computer wrote at `until`, and what follows from it."""
    from trackside.reports.naming import moment_in_words

    shows = moment_in_words(stamp(now()))
    return (
        f"The clock of this computer is wrong: it shows {shows}, but you wrote here at "
        f"{moment_in_words(until)}. Set it; until then a new session gets no time, and you type it."
    )


def signing_said(name: str) -> str:
    """Which login name signs, and where to change it; empty for none."""
    if not name:
        return ""
    file = preferences_file()
    return f'Signed as “{name}”, the login name: author = "your name" in {file} changes it.'


def about_keeping(desk: Workspace) -> list[str]:
    """What the crew has to know about the keeping of its logbook, a sentence each."""
    ahead = desk.clock_behind and desk.look_at_clock()
    found = (
        desk.logbook.displaced,
        desk.drafts.damaged,
        clock_behind_said(ahead) if ahead else "",
        conflicts_said(desk.disputes.count),
        verdicts_said(desk),
        jobs_to_do_said(desk),
        signing_said(desk.signing.to_say()),
    )
    return [sentence for sentence in found if sentence]


def unread_said(desk: Workspace) -> str:
    """The first of what could not be read, that of the current session before others, and how many
    more there are; empty for none."""
    logbook, session = desk.logbook, desk.session if desk.has_session else None
    found = list(logbook.unread.of())
    if not found:
        return ""
    car, dampers = (session.car, session.dampers) if session else ("", ())
    nearest = logbook.unread.about([desk.entity], car, dampers) or found
    more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
    return f" ! cannot be read{more}: {nearest[0].brief}"
