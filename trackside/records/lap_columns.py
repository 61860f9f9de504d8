"""What the columns of a timing sheet are: in plain words, or as a person said once.

Plain words are understood (`lap`, `time`, `lap time` …); any other heading can be given one of the
program's own names: lap_time, lap, mark, driver or ignore.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from trackside.errors import BadInput
from trackside.units import clean, one_line

OURS: Final = ("lap_time", "lap", "mark", "driver", "ignore")
"""What a column can be."""

_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "lap_time": ("lap time", "laptime", "lap times", "laptimes", "time", "times"),
    "lap": ("lap", "laps", "lap no", "lap number", "lap nr", "no", "nr", "number"),
    "mark": ("in out", "out in", "pit", "pits", "mark", "lap type"),
    "driver": ("driver", "name", "car", "competitor", "car no", "car number", "start number"),
}
"""Our own choice of the plain words, the surest first."""
SURE: Final = frozenset(("lap time", "laptime", "lap times", "laptimes"))
"""Headings that name nothing else."""


@dataclass(frozen=True)
class LapsSaid:
    """What a person says of a timing sheet: what its columns are (heading, casefolded, to our
    name), what was said of others before, and which rows to take (heading and value)."""

    columns: Mapping[str, str] = field(default_factory=dict)
    known: Sequence[Mapping[str, str]] = ()
    only: tuple[str, str] = ("", "")


def named_columns(texts: Sequence[str]) -> dict[str, str]:
    """What `Zeit=lap_time` and so on say, several of them parted by semicolons: the heading,
    casefolded, to our name. BadInput for a name that is none of ours."""
    found = {}
    for pair in (part for text in texts for part in text.split(";") if part.strip()):
        theirs, _, ours = pair.rpartition("=")
        if not key_of(theirs) or ours.strip().casefold() not in OURS:
            raise BadInput(
                f"“{one_line(pair)}” does not say what a column is",
                f"write it like Zeit=lap_time; a column is {', '.join(OURS)}",
            )
        found[key_of(theirs)] = ours.strip().casefold()
    return found


def only_rows(text: str) -> tuple[str, str]:
    """What `No=27` says: the heading, casefolded, and the value. BadInput for anything else."""
    theirs, equals, value = text.partition("=")
    if not equals or not key_of(theirs) or not value.strip():
        raise BadInput(f"“{one_line(text)}” does not say which rows", "write it like No=27")
    return key_of(theirs), one_line(value).casefold()


def key_of(name: str) -> str:
    """A heading, or a value, as it is compared: its case and outer blanks do not matter."""
    return " ".join(clean(name).strip().strip("\"'").casefold().split())


def plain(name: str) -> str:
    """A heading as plain words: no unit in brackets, no signs."""
    bare = re.sub(r"[\[(][^\])]*[\])]", " ", key_of(name))
    return " ".join(re.findall(r"[^\W_]+", bare))


def kinds_of(names: Sequence[str], said: LapsSaid) -> list[str]:
    """What each column is: as a person said, else as all of them were named before, else in plain
    words; "" for one that nobody wants."""
    keys = [key_of(name) for name in names]
    fitting = max((one for one in said.known if one.keys() <= set(keys)), key=len, default={})
    meant = {**fitting, **said.columns}
    kinds = [meant.get(key, "") for key in keys]
    for kind, words in _WORDS.items():
        if kind in kinds:
            continue
        free = ["" if taken else plain(name) for name, taken in zip(names, kinds, strict=True)]
        word = next((word for word in words if word in free), None)
        if word is not None:
            kinds[free.index(word)] = kind
    return kinds
