"""Hostile words of a logbook on the command line: told as words, and obeyed by no terminal."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.hostile import EVERYTHING, TEXTS, obeyed, write_everywhere
from tests.running import ran
from trackside.units import one_line

TELLING = {
    "list": (),
    "show": ("last",),
    "sheet": ("last",),
    "debrief": ("last",),
    "history": ("last", "FL.bump_stop"),
    "changes": (),
    "trend": ("FL",),
    "clicks": ("last", "FL"),
    "axles": ("last",),
    "road": ("last", "--class", "B", "--speed", "120"),
    "find": ("wet",),
    "where": (),
    "conflicts": (),
}
"""Every command that tells what stands in the logbook, with what it is asked."""
WITHOUT = {"clicks", "axles", "road", "where", "conflicts", "find", "trend"}
"""Those in which the words need not stand."""


@pytest.fixture
def log(samples_log: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(samples_log, tmp_path / "team.trackside"))


@pytest.mark.parametrize(
    "text",
    [EVERYTHING, *(pytest.param(text, marks=pytest.mark.long) for text in TEXTS.values())],
    ids=["everything", *TEXTS],
)
def test_words_are_told_and_not_obeyed(log: Path, tmp_path: Path, text: str) -> None:
    write_everywhere(log, text)
    begins = one_line(text.replace("\ud800", ""))[:8].strip()
    for command, asked in TELLING.items():
        plain = ran("--log", log, command, *asked)
        assert (plain.status, plain.err) == (0, ""), command
        assert obeyed(plain.out.replace("\t", " ")) == [], command
        assert command in WITHOUT or begins in plain.out, command
        told = ran("--log", log, command, *asked, "--json")
        assert obeyed(json.dumps(told.json, ensure_ascii=False)) == [], command
    for name, asked in {"a.json": (), "b.csv": ("--csv",), "c.csv": ("--wide",)}.items():
        assert ran("--log", log, "export", tmp_path / name, *asked).status == 0
        assert obeyed((tmp_path / name).read_text("utf-8").replace("\t", " ")) == []


@pytest.mark.parametrize("text", [*TEXTS.values(), "caf\udce9"])
def test_any_word_may_be_asked_for(samples_log: Path, text: str) -> None:
    """The last is what a byte in another encoding becomes on a command line (PEP 383, from
    memory)."""
    for asked in (("find", text), ("show", text), ("debrief", text), ("trend", text),
                  ("history", "last", text), ("sheet", text)):  # fmt: skip
        told = ran("--log", samples_log, *asked)
        assert told.status in (0, 1, 2), asked[0]
        assert "Traceback" not in told.err
        assert obeyed((told.out + told.err).replace("\t", " ")) == []
