"""Undo and redo: shown before they are done, and shown where they were done."""

from __future__ import annotations

from functools import partial

from trackside.logbook import Undone, dampers
from trackside.tui.messages import ShedChanged
from trackside.tui.page import Page
from trackside.tui.pages import Pages


def take_back(app: Pages) -> None:
    """Show what the last change of this laptop was, and take it back."""
    _show(app, "undo", "nothing to undo", "taken back")


def set_again(app: Pages) -> None:
    """Show what the last undo took back, and set it again."""
    _show(app, "redo", "nothing to redo", "again")


def _show(app: Pages, step: str, none: str, done: str) -> None:
    from trackside.tui.screens.undoing import Undoing

    logbook = app.desk.logbook
    look = logbook.preview_undo if step == "undo" else logbook.preview_redo
    if look():
        app.push_screen(Undoing(step), partial(_done, app, done))
    elif page := app.page_shown:
        page.announce(none)


def _done(app: Pages, done: str, undone: list[Undone] | None) -> None:
    """Show what was taken back where it stands."""
    if not undone:
        return
    from trackside.reports.undone import undone_in_words

    desk = app.desk
    desk.again()
    if any(item.kind in (*dampers.KINDS, dampers.JOB) for item in undone):
        app.post_message(ShedChanged())
    _go_to(app, undone[-1])
    sentences = "; ".join(
        undone_in_words(desk.logbook, item, app.preferences) for item in undone[:3]
    )
    if page := app.page_shown:
        page.announce(f"{done}: {sentences}")


def _go_to(app: Pages, item: Undone) -> None:
    """Take the session of what was taken back in hand, and show the value on the run sheet."""
    desk = app.desk
    body = desk.logbook.state(item.entity) or {}
    session = item.entity if item.kind == "session" else str(body.get("session", ""))
    if session and session != desk.entity and desk.logbook.state(session) is not None:
        desk.take(session)
    if item.kind != "session" or not body:
        return
    if app.page_name not in ("sheet", "clicks", "debrief", "trend"):
        app.show_page("sheet")
    if item.changes and isinstance(app.screen, Page):
        app.call_after_refresh(app.screen.stand_on, next(iter(item.changes)))
