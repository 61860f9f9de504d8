"""From the answers of a form to the body of a note or a reason.

What cannot be read as a number or a choice stays in the words.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from trackside.errors import BadNumber
from trackside.logbook import SessionLine, Write, patch
from trackside.logbook.attached import keep
from trackside.records import Change, Note
from trackside.records.fields import PHASES, VERDICTS
from trackside.units import one_line, read_number

_SAYS: Final = ("words", "phase", "turn", "balance", "rating")
"""What a driver says in a note."""


def files_named(folder: Path, typed: str) -> list[dict[str, Any]]:
    """The files in a line, parted by semicolons, kept in that folder. BadInput says why one cannot
    be."""
    return [keep(folder, name).body() for name in typed.split(";") if name.strip()]


def note_body(answers: dict[str, str], session: str, driver: str) -> tuple[dict[str, Any], str]:
    """The note's body, and a sentence about any answer that went into the words instead."""
    words = answers["words"].strip()
    stray: list[str] = []
    phase = answers["phase"].strip()
    if phase not in PHASES:
        stray += [f"phase {phase}"] if phase else []
        phase = ""
    scales: dict[str, int | None] = {}
    for name, low, high in (("balance", -3, 3), ("rating", 1, 10)):
        text = one_line(answers[name])
        scales[name] = _whole(text, low, high)
        if text and scales[name] is None:
            stray.append(f"{name} {text}")
    words = "\n".join(part for part in (words, *stray) if part)
    body = {
        "session": session,
        "driver": driver,
        "phase": phase,
        "turn": one_line(answers["turn"]) or None,
        "words": words,
        **scales,
    }
    said = f"{', '.join(stray)} could not be read and was left in the words" if stray else ""
    return Note.checked(body).body(), said


def counted_as_run(line: SessionLine, note: Mapping[str, Any], now: datetime) -> tuple[Write, ...]:
    """What makes a planned run one that was run, where its driver says how it went: more than a
    file. Nothing for one that is planned for later than `now`."""
    says = any(note.get(name) not in (None, "") for name in _SAYS)
    later = line.begun[:10] > f"{now:%Y-%m-%d}" or line.begun > f"{now:%Y-%m-%d %H:%M}"
    timeless = line.begun.endswith("~") and line.begun[:10] <= f"{now:%Y-%m-%d}"
    if line.ran or not says or (later and not timeless):
        return ()
    return (patch("session", line.entity, {"status": "done"}),)


def _whole(text: str, low: int, high: int) -> int | None:
    if not text:
        return None
    try:
        number = read_number(text)
    except BadNumber:
        return None
    return int(number) if number == int(number) and low <= number <= high else None


def change_body(answers: dict[str, str], session: str) -> dict[str, Any]:
    """The body of a reason with its verdict; another word than a verdict goes to its words."""
    verdict = answers["verdict"].strip()
    words = answers["verdict_words"].strip()
    if verdict and verdict not in VERDICTS:
        verdict, words = "", f"{verdict} {words}".strip()
    return Change.checked(
        {
            "session": session,
            "what": answers["what"],
            "reason": answers["reason"].strip(),
            "verdict": verdict,
            "verdict_words": words,
        }
    ).body()
