"""What is half typed: kept through a crash, gone when the field is left, never the truth."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from trackside.logbook import Logbook, put
from trackside.logbook.sharing import give, receive


def test_the_last_text_of_a_field_is_kept(logbook: Logbook) -> None:
    for text in ("1", "1,", "1,4"):
        logbook.keep_draft("s", "FL.cold_pressure", text)
    logbook.keep_draft("s", "driver", "In\x1b[31m")
    assert [(d.path, d.text) for d in logbook.drafts()] == [
        ("driver", "In[31m"),
        ("FL.cold_pressure", "1,4"),
    ]
    logbook.drop_draft("s", "FL.cold_pressure").result()
    logbook.drop_draft("s", "nothing").result()
    assert [draft.path for draft in logbook.drafts()] == ["driver"]


def test_drafts_belong_to_one_laptop_and_to_no_bundle(path: Path, tmp_path: Path) -> None:
    with Logbook.open(path, device="a") as here, Logbook.open(path, device="b") as there:
        here.write(put("note", {}))
        here.keep_draft("s", "driver", "In").result()
        assert there.drafts() == []
        there.drop_draft("s", "driver").result()
        assert len(here.drafts()) == 1
        assert here.verify() == (1, ())
        here.rebuild()
        assert len(here.drafts()) == 1
        give(here, tmp_path / "b")
    with Logbook.open(":memory:", device="a") as other:
        receive(other, tmp_path / "b")
        assert other.drafts() == []


@pytest.mark.skipif(os.name != "posix", reason="kill -9")
def test_a_draft_survives_a_kill(path: Path) -> None:
    script = """
import os, signal, sys
from trackside.logbook import Logbook
logbook = Logbook.open(sys.argv[1], device="d")
logbook.keep_draft("s", "driver", "Ine").result()
os.kill(os.getpid(), signal.SIGKILL)
"""
    done = subprocess.run([sys.executable, "-c", script, str(path)], check=False)
    assert done.returncode == -signal.SIGKILL
    with Logbook.open(path, device="d") as logbook:
        assert [(d.entity, d.path, d.text) for d in logbook.drafts()] == [("s", "driver", "Ine")]
