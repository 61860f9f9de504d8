"""What the columns of a dyno sheet are, asked of a person where the file does not say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trackside.records.headings import OTHERS, named, own_name
from trackside.tui.widgets.ask import Question

CHOICES = (
    "position", "direction", "speed_mm_s", "speed_in_s", "speed_m_s", "force_N", "force_lbf",
    "force_kgf", "bump_force_N", "rebound_force_N", "oil_C", "oil_F", "preload_position", "ignore",
)  # fmt: skip
COLUMNS = (
    "Say for each: position, direction, speed_mm_s (in_s, m_s), force_N (lbf, kgf), bump_force_N@8 "
    "for a column of one position, oil_C, preload_position, ignore."
)
MOST_COLUMNS = 12
"""Lines of a form that fit on a small screen."""
_LABEL = 19
_COLUMN = Question("column", "", choices=CHOICES, hint="not known: what is it?")


def _asked(names: Sequence[str]) -> list[str]:
    """The columns to ask about: all; of very many, those that are not understood and the others
    together."""
    if len(names) <= MOST_COLUMNS:
        return list(names)
    return [*[name for name in names if not own_name(name)][: MOST_COLUMNS - 1], OTHERS]


def column_questions(names: Sequence[str]) -> list[Question]:
    """A line for each column of a file, with what it seems to be."""
    return [
        replace(
            _COLUMN,
            name=f"column{n}",
            label=name[:_LABEL] if name != OTHERS else "all others",
            text=own_name(name),
        )
        for n, name in enumerate(_asked(names))
    ]


def columns_of(names: Sequence[str], answers: dict[str, str]) -> dict[str, str]:
    """What was said of those columns; an empty line says nothing. BadInput for what is none."""
    said = ((name, answers[f"column{n}"]) for n, name in enumerate(_asked(names)))
    return named((name, answer) for name, answer in said if answer.strip())
