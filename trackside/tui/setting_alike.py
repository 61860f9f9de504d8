"""The other side of the axle set like the corner under the cursor, from the run sheet."""

from __future__ import annotations

from functools import partial

from trackside.crew.corrections import ReasonWanted
from trackside.crew.mirroring import Mirrored, mirrored
from trackside.reports.mirror_words import done_words
from trackside.tui.commands import key_of
from trackside.tui.page import Page
from trackside.tui.screens.mirror import SetAlike


def set_alike(page: Page, corner: str) -> None:
    """Set the other side like that corner: at once where nothing is replaced, else asked first."""
    page.leave()
    desk = page.desk
    if desk.shed is None:
        page.say("the damper shed is still being read: press it again in a moment", "problem")
        return
    found = mirrored(desk.session, corner, desk.shed)
    if not found.values:
        page.say(done_words(found, desk.preferences), "problem" if found.left else "kept")
    elif found.overwrites:
        box = SetAlike(found, desk.preferences)
        page.app.push_screen(box, lambda yes: _done(page, found) if yes else None)
    else:
        _done(page, found)


def _done(page: Page, found: Mirrored) -> None:
    desk = page.desk
    try:
        desk.set_alike(found)
    except ReasonWanted as wanted:
        raise ReasonWanted(wanted.path, partial(_done, page, found)) from None
    told = done_words(found, desk.preferences, key_of("undo"))
    page.announce(told, "problem" if found.left or found.unlike else "kept")
