"""What became of a change, said when it is known; and notes and reasons put right later.

Each is one revision of the note, or of the reason: what it said before stays in its history.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, NamedTuple

from trackside.crew.corrections import Corrections, ReasonWanted
from trackside.crew.notes import change_body, files_named, note_body
from trackside.errors import BadInput, UnknownRecord
from trackside.logbook import Logbook, SessionLine, Write, patch
from trackside.logbook.attached import folder_of
from trackside.records import Change, Note
from trackside.records.fields import VERDICTS

LOOKED_THROUGH: Final = 60
"""A reason waits for its verdict in so many newest sessions: about five weekends of one car (our
own, no source). What nobody judged since then will not be judged."""

SHORTEST: Final = 4
"""Of so many letters at least is the end of a code, by which a reason is named."""

_LEAST: Final = {"note": ("phase", "turn", "balance", "rating", "words"),
                 "change": ("what", "reason", "verdict", "verdict_words")}  # fmt: skip
"""Of these a note, or a reason, must say something."""


_SPOKEN: Final = {"note": "note", "change": "reason"}


class SaidOnce(NamedTuple):
    """A note, or a reason, as it stands: its session's line, and what the logbook has of it."""

    kind: str
    entity: str
    record: Note | Change
    line: SessionLine
    stored: Mapping[str, Any]

    @property
    def waits(self) -> bool:
        """Whether it is the reason of a change that was run, and nobody said what came of it."""
        return isinstance(self.record, Change) and self.record.unjudged and self.line.ran


class Verdicts:
    """The notes and reasons of a logbook, and what waits for its verdict."""

    def __init__(self, logbook: Logbook, corrections: Corrections) -> None:
        self._logbook = logbook
        self._corrections = corrections
        self._found: tuple[SaidOnce, ...] = ()
        self._read_at: object = None

    def waiting(self) -> tuple[SaidOnce, ...]:
        """The reasons that wait for their verdict, those of the newest session first; read again
        when the logbook has grown."""
        extent = self._logbook.extent()
        if extent != self._read_at:
            lines = self._logbook.session_lines(limit=LOOKED_THROUGH)
            reasons = (self._of("change", line) for line in lines if line.changes and line.ran)
            self._found = tuple(one for found in reasons for one in found if one.waits)
            self._read_at = extent
        return self._found

    def shown(self, session: str) -> list[SaidOnce]:
        """What waits, that of this session first; then all else that was said of the session, the
        last first."""
        line = self._logbook.session_line(session) if session else None
        own = [*self._of("note", line), *self._of("change", line)] if line else []
        own.sort(key=lambda one: (not one.waits, one.entity), reverse=True)
        waiting = [one for one in own if one.waits]
        waiting += [one for one in self.waiting() if one.line.entity != session]
        return [*waiting, *(one for one in own if not one.waits)]

    def _of(self, kind: str, line: SessionLine) -> list[SaidOnce]:
        logbook, found = self._logbook, list[tuple[str, Note | Change]]()
        found += logbook.records(Note, "note", line.entity) if kind == "note" else []
        found += logbook.records(Change, "change", line.entity) if kind == "change" else []
        return [
            SaidOnce(kind, entity, record, line, logbook.state(entity) or {})
            for entity, record in found
        ]

    def named(self, name: str) -> SaidOnce:
        """The reason that `name` means: by the end of its code, or a session of which one reason
        waits. UnknownRecord with what would do where that is none or several."""
        code = name.strip().lower()
        found = [
            entity
            for entity, _ in self._logbook.all("change")
            if len(code) >= SHORTEST and entity.endswith(code)
        ]
        if len(found) == 1:
            session = str((self._logbook.state(found[0]) or {}).get("session", ""))
            of_session = self._of("change", self._logbook.session_line(session))
            return next(one for one in of_session if one.entity == found[0])
        line = self._logbook.session_line(self._logbook.session(name))
        waiting = [one for one in self._of("change", line) if one.waits]
        if len(waiting) != 1:
            count = f"{len(waiting)} changes wait" if waiting else "no change waits"
            raise UnknownRecord(
                f"{count} for a verdict in that session", "name the reason by the end of its code"
            )
        return waiting[0]

    def judged(self, said: SaidOnce, verdict: str, words: str = "") -> Write:
        """What is to be written for that verdict, and the words to it where there are any; errors
        as of `_changed`."""
        if said.kind != "change" or verdict not in VERDICTS:
            raise BadInput("only the reason of a change gets a verdict", ", ".join(VERDICTS))
        more = {"verdict_words": words} if words.strip() else {}
        return self._changed(said, {"verdict": verdict, **more})

    def edited(self, said: SaidOnce, answers: dict[str, str]) -> tuple[Write | None, str]:
        """What is to be written where the note, or the reason, is to say this; None where it says
        so already. And a sentence about any answer that could not be read."""
        session, unread = said.line.entity, ""
        if isinstance(said.record, Note):
            body, unread = note_body(answers, session, said.record.driver)
            more = files_named(folder_of(self._logbook.path), answers.get("file", ""))
            before_it = [file.body() for file in said.record.files or ()]
            body |= {"files": before_it + more} if more else {}
        else:
            body = change_body(answers, session)
        if not any(body.get(name) not in (None, "") for name in _LEAST[said.kind]):
            raise BadInput("nothing is left of it", "Esc leaves it as it was")
        before = said.record.body()
        names = [n for n in (*before, *body) if n in _LEAST[said.kind]]
        values = {name: body.get(name) for name in names if body.get(name) != before.get(name)}
        if body.get("files"):
            values["files"] = body["files"]
        return (self._changed(said, values) if values else None), unread

    def _changed(self, said: SaidOnce, values: Mapping[str, Any]) -> Write:
        """BadInput where somebody wrote something else there meanwhile; ReasonWanted where the
        event is over and it said something else before."""
        now = self._logbook.state(said.entity)
        if now is None:
            raise BadInput("it was taken off the logbook meanwhile", "undo brings it back")
        other = [name for name in values if now.get(name) != said.stored.get(name)]
        if other:
            there = str(now.get(other[0]) or "nothing")
            raise BadInput(
                f"it was changed meanwhile: {other[0].replace('_', ' ')} now says “{there}”",
                "look at it again",
            )
        session, event = said.line.entity, said.line.event
        before = next((found for name in values if (found := now.get(name)) not in (None, "")), "")
        reason = self._corrections.reason(session, event, before)
        if reason is None:
            raise ReasonWanted(f"the {_SPOKEN[said.kind]}", session=session)
        return patch(said.kind, said.entity, dict(values), reason=reason)
