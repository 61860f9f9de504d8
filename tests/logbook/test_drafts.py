"""What is half typed: kept through a crash, gone when the field is left, never the truth."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from trackside.logbook import Logbook, patch, put
from trackside.logbook.drafts import Aside
from trackside.logbook.sharing import give, receive


def test_the_last_text_of_a_field_is_kept(logbook: Logbook) -> None:
    for text in ("1", "1,", "1,4"):
        logbook.keep_draft("s", "FL.cold_pressure", text)
    logbook.keep_draft("s", "driver", "In\x1b[31m")
    assert [(d.path, d.text) for d in logbook.drafts()] == [
        ("driver", "In[31m"),
        ("FL.cold_pressure", "1,4"),
    ]
    logbook.keep_draft("s", "FL.cold_pressure", "").result()
    logbook.keep_draft("s", "nothing", "").result()
    assert [draft.path for draft in logbook.drafts()] == ["driver"]


def test_drafts_belong_to_one_laptop_and_to_no_bundle(path: Path, tmp_path: Path) -> None:
    with Logbook.open(path, device="a") as here, Logbook.open(path, device="b") as there:
        here.write(put("note", {}))
        here.keep_draft("s", "driver", "In").result()
        assert there.drafts() == []
        there.keep_draft("s", "driver", "").result()
        assert len(here.drafts()) == 1
        assert here.verify()[:2] == (1, ())
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


def test_a_draft_goes_with_the_save_that_it_was_for(logbook: Logbook) -> None:
    [note] = logbook.write(put("note", {"words": "old"}))
    logbook.keep_draft(note.entity, "words", "new").result()
    refused = logbook.submit(
        patch("note", "nothing", {"words": "new"}), drop_drafts=[(note.entity, "words")]
    )
    assert refused.exception() is not None
    assert [draft.text for draft in logbook.drafts()] == ["new"]
    logbook.submit(
        patch("note", note.entity, {"words": "new"}), drop_drafts=[(note.entity, "words")]
    ).result()
    assert logbook.drafts() == []


def test_the_small_file_holds_what_each_window_puts_in_it(tmp_path: Path) -> None:
    here, there = (Aside(tmp_path / "data", tmp_path / "a.trackside") for _ in range(2))
    assert here.put({("s", "driver"): "In\x1b[31m", ("s", "laps"): "7"})
    assert there.put({("s", "words"): "pushes"})
    assert here.put({("s", "laps"): "77"})
    assert here.read() == {("s", "laps"): "77", ("s", "words"): "pushes"}
    assert Aside(tmp_path / "data", tmp_path / "b.trackside").read() == {}
    after = Aside(tmp_path / "data", tmp_path / "a.trackside")
    assert after.take() == here.read()
    assert after.put({})
    assert list((tmp_path / "data").iterdir()) == []


@pytest.mark.parametrize("damage", [b"", b"\xff", b"[", b"{}", b"[1]", b'[["a"]]', b"null"])
def test_a_damaged_small_file_holds_nothing_and_is_written_again(
    tmp_path: Path, damage: bytes
) -> None:
    aside = Aside(tmp_path, tmp_path / "a.trackside")
    aside.put({("s", "laps"): "7"})
    [file] = tmp_path.iterdir()
    file.write_bytes(damage)
    assert aside.read() == {}
    assert bool(aside.damaged) == bool(damage)
    assert aside.put({("s", "laps"): "8"})
    assert aside.read() == {("s", "laps"): "8"}


def test_a_small_file_of_an_earlier_program_is_offered(tmp_path: Path) -> None:
    aside = Aside(tmp_path, tmp_path / "season.trackside")
    assert aside.put({("s", "driver"): "In"})
    [file] = tmp_path.glob("typed-*.json")
    file.write_text(json.dumps([["s", "driver", "Ines"], ["n", "words", "pushes"]]), "utf-8")
    assert aside.read() == {("s", "driver"): "Ines", ("n", "words"): "pushes"}
    assert aside.damaged == ""


def test_a_damaged_bit_of_the_small_file_is_not_believed_and_costs_one_line(tmp_path: Path) -> None:
    home = tmp_path / "home"
    texts = {("s", "FL.camber"): "-1.5", ("s", "laps"): "17", ("s", "driver"): "Ines Åkesson"}
    Aside(home, tmp_path / "a.trackside").put(texts)
    [file] = home.iterdir()
    whole = file.read_bytes()
    beside = file.with_suffix(".damaged")
    for place in range(len(whole)):
        for bit in range(8):
            content = bytearray(whole)
            content[place] ^= 1 << bit
            file.write_bytes(content)
            aside = Aside(home, tmp_path / "a.trackside")
            found = aside.read()
            assert found.items() <= texts.items()
            assert len(found) >= len(texts) - 2  # two lines, where it is what parts them
            assert (found == texts) == (aside.damaged == "")
            if found != texts:
                assert str(beside) in aside.damaged
                assert beside.stat().st_size
                beside.unlink()


def test_a_small_file_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    (tmp_path / "in the way").write_text("")
    assert not Aside(tmp_path / "in the way", tmp_path / "a").put({("s", "laps"): "7"})
