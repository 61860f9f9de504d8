"""Writes on their way to the logbook: what was refused stays here and is tried again by itself."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Future
from threading import RLock
from typing import Any, NamedTuple

from trackside.crew.drafts import Drafts
from trackside.crew.listener import Listener
from trackside.errors import LogbookBusy, LogbookError, TracksideError, UnknownRecord
from trackside.logbook import Logbook, Write
from trackside.logbook.drafts import EMPTIED, Place
from trackside.logbook.fold import patched
from trackside.logbook.revisions import Body


class _Sent(NamedTuple):
    write: Write
    places: tuple[Place, ...]
    """Every place of the write: both sides of an axle, and what goes with what was typed."""
    future: Future[Any]
    typed: Mapping[Place, str]
    """What was typed for it, by the place of its draft."""
    told: set[str]
    """Why it was refused, as the listener was told: a retry does not say the same again."""

    @property
    def refused(self) -> BaseException | None:
        """Why the logbook did not take it; None while it is under way, and when it is kept."""
        return self.future.exception() if self.future.done() else None


class Outbox:
    """The last write of each place. A new one takes the place of an older one that was refused."""

    def __init__(self, logbook: Logbook, drafts: Drafts, listener: Listener) -> None:
        self._logbook = logbook
        self._drafts = drafts
        self._listener = listener
        self._lock = RLock()
        """Over `_sent`: a flush as the program ends runs in a thread of its own."""
        self._sent: dict[Place, _Sent] = {}
        self._left_behind: set[str] = set()
        """Entities that were read, not taken up, because something of theirs was not kept."""

    def send(self, entity: str, write: Write, typed: Mapping[str, str] | None = None) -> None:
        """Hand a write to the logbook, not waiting; what was refused before goes again first. What
        was `typed` for it, by the path of its draft, is a draft until the write is kept; empty for
        what was emptied."""
        places = tuple((entity, path) for path in write.body)
        texts = {(entity, path): text or EMPTIED for path, text in (typed or {}).items()}
        with self._lock:
            for place in places:
                self._outdate(place)
            self.again()
            self._submit(places, write, texts, set())

    def _outdate(self, place: Place) -> None:
        """What was sent there is past: should it be refused, only its other places go again."""
        old = self._sent.pop(place, None)
        if old is None:
            return
        rest = tuple(other for other in old.places if other != place)
        body = {path: value for path, value in old.write.body.items() if path != place[1]}
        for other in rest:
            write = old.write._replace(body=body)
            self._sent[other] = old._replace(write=write, places=rest)

    def _submit(
        self,
        places: tuple[Place, ...],
        write: Write,
        typed: Mapping[Place, str],
        told: set[str],
        silent: bool = False,
    ) -> None:
        self._drafts.typed(typed)
        future = self._logbook.submit(write, drop_drafts=typed, held=self._drafts.put_aside)
        sent = _Sent(write, places, future, typed, told)
        self._sent |= dict.fromkeys(places, sent)
        future.add_done_callback(lambda _: self._done(sent, silent))

    def _done(self, sent: _Sent, silent: bool) -> None:
        """In the logbook's thread."""
        error, typed = sent.refused, sent.typed
        is_lost = isinstance(error, UnknownRecord)
        if error is None or is_lost:
            self._drafts.written(typed)
        else:
            self._drafts.refused()
        paths = [path for _, path in sent.places]
        if error is None:
            for path in paths:
                self._listener.saved(path)
        elif paths and (is_lost or not silent):
            why = _sentence(error)
            if str(why) not in sent.told:
                sent.told.add(str(why))
                self._listener.refused(paths[0], why)

    def _waiting(self) -> list[_Sent]:
        """Every write once, in the order in which they were sent."""
        with self._lock:
            return list({id(sent.future): sent for sent in self._sent.values()}.values())

    def again(self, *, aloud: bool = False, silent: bool = False) -> None:
        """Try what was refused once more, each by itself, so that one which can never be kept holds
        back no other. The listener is told why one is refused now where that is new, or in any case
        (`aloud`: somebody asked for it), or only where it does not go again (`silent`)."""
        with self._lock:
            for sent in self._waiting():
                if not sent.future.done():
                    continue
                error = sent.refused
                if error is None or isinstance(error, UnknownRecord):
                    for place in sent.places:
                        del self._sent[place]
                else:
                    typed = self._drafts.still(sent.typed)
                    told = set() if aloud else sent.told
                    self._submit(sent.places, sent.write, typed, told, silent)

    def is_kept(self, entity: str, path: str) -> bool:
        """Whether the last write of that place is committed."""
        sent = self._sent.get((entity, path))
        return sent is None or (sent.future.done() and sent.refused is None)

    @property
    def is_settled(self) -> bool:
        """Whether nothing is under way: everything sent was kept, or refused."""
        return all(sent.future.done() for sent in self._waiting())

    def unkept(self, entity: str) -> list[Write]:
        """What was written to that entity and is not committed yet."""
        return [
            sent.write
            for sent in self._waiting()
            if sent.write.entity == entity and not self.is_kept(*sent.places[0])
        ]

    def state(self, entity: str) -> Body | None:
        """The body that stands for the entity, over it what is not saved yet; None without one."""
        body = self._logbook.state(entity)
        if body is None:
            return None
        for write in self.unkept(entity):
            body = patched(body, write.body)
        return body

    def take_up(self, entity: str) -> Body | None:
        """As `state`, for a person to see and change.

        While something is not kept, the logbook's own taking up waits: tried again, that write
        would stand above what another window wrote meanwhile, and nobody would see a conflict.
        """
        if self.unkept(entity):
            self._left_behind.add(entity)
            return self.state(entity)
        self._left_behind.discard(entity)
        return self._logbook.take_up(entity)

    def caught_up(self) -> bool:
        """Whether all of something that was left behind is kept: it is taken up from now on."""
        kept = {entity for entity in self._left_behind if not self.unkept(entity)}
        self._left_behind -= kept
        return bool(kept)

    def flush(self) -> list[str]:
        """Wait for every write, trying once more what was refused; the paths still not kept."""
        try:
            self._logbook.flush()
            self.again()
            self._logbook.flush()
        except LogbookBusy:
            pass  # what waits is named
        with self._lock:
            return [path for entity, path in self._sent if not self.is_kept(entity, path)]


def _sentence(error: BaseException) -> TracksideError:
    if isinstance(error, TracksideError):
        return error
    return LogbookError(f"the write failed ({error})", "try again")
