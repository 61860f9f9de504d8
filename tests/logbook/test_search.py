"""Finding words, whatever a person types."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trackside.logbook import Logbook, drop, patch, put

AWKWARD = [
    'he said "box box"',
    "push [/ now [bold]",
    "100% -- NEAR(a b) * ^ col:x",
    "emoji 🏁 flag",
    "l'arrière glisse",
    "日本語 のメモ",
    "a OR b AND NOT c",
    "'; DROP TABLE revision; --",
    "\x00nul",
]


def note(logbook: Logbook, words: str, **rest: object) -> str:
    return logbook.write(put("note", {"session": "s1", "words": words} | rest))[0].entity


@pytest.mark.parametrize("words", AWKWARD)
def test_a_note_is_found_by_its_own_words(logbook: Logbook, words: str) -> None:
    note(logbook, "something else entirely")
    entity = note(logbook, words)
    found = logbook.search(words.replace("\x00", ""))
    assert [hit.entity for hit in found] == [entity]
    assert (found[0].kind, found[0].session) == ("note", "s1")


@pytest.mark.parametrize("sign", ["🏁", "[/", '"', "%"])
def test_signs_alone_are_found_as_they_stand(logbook: Logbook, sign: str) -> None:
    entity = note(logbook, f"before {sign} after")
    note(logbook, "nothing of it")
    assert [hit.entity for hit in logbook.search(sign)] == [entity]


def test_every_word_counts_and_a_start_is_enough(logbook: Logbook) -> None:
    entity = note(logbook, "Understeer on entry to turn four")
    note(logbook, "understeer at the exit")
    assert [hit.entity for hit in logbook.search("UNDER ent")] == [entity]
    assert len(logbook.search("understeer")) == 2
    assert logbook.search("steer") == []
    assert logbook.search("  ") == []


def test_accents_do_not_matter(logbook: Logbook) -> None:
    entity = note(logbook, "À l'arrière")
    assert [hit.entity for hit in logbook.search("arriere")] == [entity]


def test_a_long_text_is_kept_whole_and_found(logbook: Logbook) -> None:
    words = " ".join(f"word{n}" for n in range(700))[:5000]
    entity = note(logbook, words + " needle")
    assert logbook.state(entity)["words"] == words + " needle"
    [hit] = logbook.search("needle")
    assert len(hit.excerpt) < 400
    assert "needle" in hit.excerpt


def test_reasons_verdicts_venues_and_kept_set_ups_are_found(logbook: Logbook) -> None:
    event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
    run = put("session", {"event": event.entity})
    change = put("change", {"session": run.entity, "reason": "lazy", "verdict_words": "calmer"})
    kept = put("kept", {"session": run.entity, "why": "won in the cold"})
    logbook.write(event, run, change, kept)
    logbook.write(patch("session", run.entity, {"start": "10:00"}), reason="clock was wrong")
    assert [hit.kind for hit in logbook.search("harrow")] == ["event"]
    assert [hit.kind for hit in logbook.search("lazy calmer")] == ["change"]
    assert [hit.session for hit in logbook.search("won cold")] == [run.entity]
    assert [hit.entity for hit in logbook.search("clock wrong")] == [run.entity]


def test_words_that_are_gone_are_not_found(logbook: Logbook) -> None:
    entity = note(logbook, "loose rear")
    logbook.write(patch("note", entity, {"words": "tight rear"}))
    assert logbook.search("loose") == []
    logbook.write(drop("note", entity))
    assert logbook.search("tight") == []


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=30))
def test_any_text_is_safe(text: str) -> None:
    with Logbook.open(":memory:") as logbook:
        logbook.write(put("note", {"words": "a b c"}))
        assert len(logbook.search(text)) <= 1


def test_where_very_many_answer_the_newest_come_first(
    logbook: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trackside.logbook.search.MOST_RANKED", 3)
    notes = [put("note", {"words": "loose " * (5 - number)}) for number in range(5)]
    logbook.write(*notes[:3])
    assert len(logbook.search("loose")) == 3
    logbook.write(*notes[3:])
    assert [found.entity for found in logbook.search("loo", 2)] == [
        note.entity for note in notes[:2:-1]
    ]
