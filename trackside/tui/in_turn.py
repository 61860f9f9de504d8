"""Keys one after the other: what is typed behind a key that opens a box lands in the box.

Textual hands each key to what has the focus as it comes. In a burst (a fast hand, a slow machine,
a paste over a poor line) the letters behind `a` would be with the run sheet before the box for the
note stands. Here a key is handed on when the one before has been dealt with all the way up.
"""

from __future__ import annotations

import asyncio
from collections import deque
from functools import partial

from textual import events
from textual.app import App
from textual.message import Message

SOON = 0.004
"""Seconds between looks for a page that is coming up."""
AT_LAST = 0.5
"""Seconds after which a key is handed on whatever became of the one before, or of a page."""


class Dealt(Message):
    """Follows a key up to the app: whatever the key was to do on the way is done."""


class InTurn(App[None]):
    """An app that takes keys and pastes in turn."""

    def __init__(self) -> None:
        super().__init__()
        self._typed: deque[events.Key | events.Paste] = deque()
        self._in_hand: Dealt | None = None
        self._give_up: asyncio.TimerHandle | None = None
        self._looks = 0

    @property
    def settled(self) -> bool:
        """Whether every key that came has been dealt with."""
        return not self._typed and self._in_hand is None

    async def on_event(self, event: events.Event) -> None:
        """Keys and pastes wait for their turn; Textual's own way for the rest."""
        if isinstance(event, (events.Key, events.Paste)) and not event.is_forwarded:
            self._typed.append(event)
            await self._hand_on()
        else:
            await super().on_event(event)

    async def on_dealt(self, message: Dealt) -> None:
        """The key before is done with."""
        await self._let_go(message)

    async def _let_go(self, dealt: Dealt) -> None:
        if dealt is self._in_hand:
            self._in_hand = None
            if self._give_up:
                self._give_up.cancel()
            await self._hand_on()

    async def _hand_on(self) -> None:
        while self._typed and self._in_hand is None:
            if not self._is_up() and self._looks * SOON < AT_LAST:
                self._looks += 1
                self.set_timer(SOON, self._hand_on)
                return
            self._looks = 0
            target, dealt = self.focused or self.screen, Dealt()
            self._in_hand = dealt
            await super().on_event(self._typed.popleft())
            if not target.post_message(dealt):  # what had the focus is gone
                self._in_hand = None
            elif self._in_hand is dealt:
                then = partial(self.call_next, self._let_go, dealt)
                self._give_up = asyncio.get_running_loop().call_later(AT_LAST, then)

    def _is_up(self) -> bool:
        """Whether the page on top, or what in it is to have the focus, can take a key."""
        if not self.screen_stack:
            return True
        screen = self.screen
        return screen.focused is not None or (screen.is_mounted and not screen.focus_chain)
