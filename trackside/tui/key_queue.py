"""Keys one after the other, each to the page for which it was pressed.

Textual hands each key to what has the focus as it comes. In a burst (a fast hand, a slow machine,
a paste over a poor line) the letters behind `a` would be with the run sheet before the box for the
note is there. Here a key is handed on when the one before has been dealt with all the way up.

Keys that were pressed before a page came up were not meant for it: whoever pressed them had not
seen it. They type there, where what has the focus takes text, and do nothing else.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from functools import partial
from typing import NamedTuple, Protocol, runtime_checkable

from textual import events
from textual.app import App
from textual.message import Message
from textual.message_pump import MessagePump
from textual.screen import Screen
from textual.widget import Widget

from trackside.tui.layer import Layer

SOON = 0.004
"""Seconds between looks for a page that is coming up."""
AT_LAST = 0.5
"""Seconds after which a key is handed on whatever became of the one before."""
COMES = 10.0
"""Seconds that a key waits for a page to come up."""


class Dealt(Message):
    """Follows a key up to the app, and once more what the key set off on the way, as the leaving of
    a line that Enter sends in: then whatever the key was to do is done."""

    def __init__(self, target: MessagePump) -> None:
        super().__init__()
        self.target = target
        self.again = True


class _Waiting(NamedTuple):
    """A key or a paste, and the page that was seen as it came; None while none was."""

    event: events.Key | events.Paste
    page: Screen | None


@runtime_checkable
class TakesText(Protocol):
    """What can be typed into, though not every key begins that."""

    typed: object | None
    """What is being typed in it; None when nothing is."""

    def begins(self, event: events.Key) -> bool:
        """Whether that key begins typing."""


class KeyQueue(App[None]):
    """An app that takes keys and pastes in turn."""

    def __init__(self) -> None:
        super().__init__()
        self._typed: deque[_Waiting] = deque()
        self._in_hand: Dealt | None = None
        self._give_up: asyncio.TimerHandle | None = None
        self._looks = 0
        self._had_focus: Widget | None = None

    @property
    def settled(self) -> bool:
        """Whether every key that came has been dealt with, and the page is there for the next."""
        return not self._typed and self._in_hand is None and self._page_up() is not None

    def pressed(self) -> None:
        """A key came."""

    def not_taken(self, keys: list[str]) -> None:
        """These keys were pressed before the page came up, and would have done something to it."""

    async def on_event(self, event: events.Event) -> None:
        """Keys and pastes wait for their turn; Textual's own way for the rest."""
        if isinstance(event, (events.Key, events.Paste)) and not event.is_forwarded:
            self.pressed()
            self._typed.append(_Waiting(event, self._page_seen()))
            await self._hand_on()
        else:
            await super().on_event(event)

    async def on_dealt(self, message: Dealt) -> None:
        """The key before is done with; so is, the second time, what it set off."""
        if message is self._in_hand and message.again:
            follower = Dealt(message.target)
            follower.again = False
            if message.target.post_message(follower):
                self._in_hand = follower
                return
        await self._let_go(message)

    async def _let_go(self, dealt: Dealt) -> None:
        if dealt is self._in_hand:
            self._in_hand = None
            if self._give_up:
                self._give_up.cancel()
            await self._hand_on()

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """What has the focus now."""
        self._had_focus = event.widget

    def after_typed(self, do: Callable[[], object]) -> None:
        """Do that once every key that came before it is dealt with."""
        if self._typed or self._in_hand is not None:
            self.set_timer(SOON, partial(self.after_typed, do))
        else:
            self.call_next(do)

    async def _give_up_on(self, dealt: Dealt) -> None:
        """It, or its follower, has not come back in time."""
        if self._in_hand is not None and self._in_hand.target is dealt.target:
            await self._let_go(self._in_hand)

    async def _hand_on(self) -> None:
        if not self.screen_stack:
            self._typed.clear()  # the program is ending: nobody is left to take them
        while self._typed and self._in_hand is None:
            if not self._takes_keys() and self._looks * SOON < self._patience():
                self._looks += 1
                self.set_timer(SOON, self._hand_on)
                return
            self._looks = 0
            event, page = self._typed.popleft()
            if page is not self.screen and not self._is_typed(event):
                self._pass_over(event)
                continue
            target = self.focused or self.screen
            dealt = self._in_hand = Dealt(target)
            try:
                await super().on_event(event)
            except Exception:
                self._in_hand = None  # else no other key would ever be handed on
                raise
            if not target.post_message(dealt):  # what had the focus is gone
                self._in_hand = None
            elif self._in_hand is dealt:
                then = partial(self.call_next, self._give_up_on, dealt)
                self._give_up = asyncio.get_running_loop().call_later(AT_LAST, then)

    def _pass_over(self, event: events.Key | events.Paste) -> None:
        """This key is not for the page that came up, and so are none behind it that were pressed
        before: half a word is no word."""
        passed = [event]
        while self._typed and self._typed[0].page is not self.screen:
            passed.append(self._typed.popleft().event)
        self.not_taken([e.character or e.key for e in passed if isinstance(e, events.Key)])

    def _is_typed(self, event: events.Key | events.Paste) -> bool:
        """Whether what has the focus takes it as text, or as part of typing one."""
        focused = self.focused
        if focused is not None and focused.check_consume_key("a", "a"):
            return True  # a line, or lines: letters are text there
        if not isinstance(focused, TakesText):
            return False
        typing = focused.typed is not None
        return typing or isinstance(event, events.Paste) or focused.begins(event)

    def _patience(self) -> float:
        return AT_LAST if self._page_up() is not None else COMES

    def _page_seen(self) -> Screen | None:
        """The page or box on top, once something of it has been painted; else None."""
        if not self.screen_stack:
            return None
        screen = self.screen
        seen = screen.seen if isinstance(screen, Layer) else screen.is_mounted
        return screen if seen else None

    def _page_up(self) -> Screen | None:
        """The page or box on top, once it is drawn; None while it is coming up."""
        if not self.screen_stack:
            return None
        screen = self.screen
        coming = screen.coming if isinstance(screen, Layer) else not screen.is_mounted
        return None if coming else screen

    def _takes_keys(self) -> bool:
        """Whether the page on top, or what in it is to have the focus, can take a key."""
        if not self.screen_stack:
            return True
        screen = self._page_up()
        if screen is None:
            return False
        if screen.focused is None:
            self._give_back_focus(screen)
        return screen.focused is not None or not screen.focus_chain

    def _give_back_focus(self, screen: Screen) -> None:
        """A click beyond what is drawn took it, or a window that was left: a key came all the
        same, so it is meant for what had it."""
        had = self._had_focus
        if had is not None and had.is_attached and had.screen is screen and had.focusable:
            screen.set_focus(had, scroll_visible=False)
