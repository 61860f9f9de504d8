"""A revision under a name that is not its writer's is held back, and blocks nobody."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from trackside.errors import BadImport, BadRecord
from trackside.logbook import Logbook, patch, put
from trackside.logbook.bundle import write_bundle
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.exchange import import_json
from trackside.logbook.merge import Line
from trackside.logbook.quarantine import FARTHEST
from trackside.logbook.revisions import MOST_SAVES
from trackside.logbook.sharing import receive, share


@pytest.fixture
def trio() -> Iterator[list[Logbook]]:
    laptops = [Logbook.open(":memory:", device=name, author=name.upper()) for name in "abc"]
    yield laptops
    for laptop in laptops:
        laptop.close()


def forged(line: Line, **changed: Any) -> Line:
    """A copy of that revision with other values, sealed as it should be; None takes one away."""
    envelope = json.loads(line.envelope) | changed
    spelled = canonical({name: value for name, value in envelope.items() if value is not None})
    return Line(digest(spelled), spelled)


def said(entity: str, words: str, **changed: Any) -> dict[str, Any]:
    return {"entity": entity, "op": "set", "body": {"words": words}, "save": 1, **changed}


def test_each_revision_names_the_one_before_it(trio) -> None:
    here = trio[0]
    for _ in range(2):
        here.write(put("note", {"words": "a"}), put("note", {"words": "b"}))
    revs = [line.rev for line in here.lines()]
    assert [json.loads(line.envelope)["before"] for line in here.lines()] == ["", *revs[:-1]]


@pytest.mark.parametrize("way", ["bundle", "folder", "lines"])
def test_the_largest_number_under_a_victims_name_is_held_back(trio, tmp_path: Path, way) -> None:
    """However it comes in; the victim writes on, and everybody takes what it writes."""
    victim, other, third = trio
    [note] = victim.write(put("note", {"words": "true"}))
    line = victim.lines()[0]
    bad = forged(
        line, **said(note.entity, "false", seq=MOST_SAVES - 1, before="0" * 64, parents=[note.rev])
    )
    for laptop in (victim, other):
        if way == "bundle":
            write_bundle(tmp_path / "x.bundle", [line, bad])
            problems = receive(laptop, tmp_path / "x.bundle").problems
        elif way == "folder":
            (tmp_path / "shared").mkdir(exist_ok=True)
            write_bundle(tmp_path / "shared" / "x.bundle", [line, bad])
            problems = share(laptop, tmp_path / "shared").problems
        else:
            problems = laptop.take([bad, line], via="hub").problems
        [sentence] = problems
        assert sentence.startswith(f"Held back, and not shown: number {MOST_SAVES - 1} of laptop")
        assert laptop.state(note.entity) == {"words": "true"}
        assert laptop.open_conflicts() == []
        check = laptop.verify()
        assert (check.problems, check.held) == ((), (sentence,))
    victim.write(patch("note", note.entity, {"words": "on"}))
    for laptop in (other, third):
        laptop.take(victim.lines(), via="bundle")
        assert laptop.state(note.entity) == {"words": "on"}
        assert [entry.changes["words"][1] for entry in laptop.history(note.entity)] == [
            "on", "true",
        ]  # fmt: skip
        assert laptop.verify().problems == ()
    assert victim.undo()
    assert victim.state(note.entity) == {"words": "true"}
    victim.rebuild()
    assert victim.state(note.entity) == {"words": "true"}
    assert len(victim.verify().held) == 1


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"seq": 3, "before": "first"}, "not the one before it"),
        ({"seq": 3, "before": ""}, "not the one before it"),
        ({"seq": 1, "before": "first"}, "not the one before it"),
        ({"seq": FARTHEST + 2, "before": None}, "before it are not here"),
        ({"seq": FARTHEST + 2, "before": "f" * 64}, "before it are not here"),
    ],
)
def test_a_break_and_a_jump_are_held_back_in_any_order(trio, changed: dict, why: str) -> None:
    victim, other, third = trio
    [note] = victim.write(put("note", {"words": "true"}))
    [theirs] = other.write(put("note", {"words": "theirs"}))
    names = {"first": note.rev, "others": theirs.rev}
    if changed["before"] is not None:
        changed = changed | {"before": names.get(changed["before"], changed["before"])}
    first = victim.lines()[0]
    bad = forged(first, **said(note.entity, "false", parents=[note.rev], **changed))
    follows = forged(
        first,
        **said(note.entity, "worse", seq=changed["seq"] + 1, before=bad.rev, parents=[bad.rev]),
    )
    lines = [first, other.lines()[0], bad, follows]
    for order in permutations(lines):
        with Logbook.open(":memory:", device="d") as laptop:
            for line in order:
                laptop.take([line], via="bundle")
            assert laptop.state(note.entity) == {"words": "true"}
            assert laptop.state(theirs.entity) == {"words": "theirs"}
            check = laptop.verify()
            assert check.problems == ()
            assert why in check.held[0]
            assert len(check.held) == 2
            assert laptop.open_conflicts() == []
    third.take(lines, via="bundle")
    third.rebuild()
    assert third.verify().problems == ()


def test_what_was_missing_may_come_later(trio) -> None:
    """A record known by one held revision alone is not there, and is there when the rest came."""
    here, there, _ = trio
    [note] = here.write(put("note", {"words": "one"}))
    line = here.lines()[0]
    lines = [forged(line, seq=2 + n * (FARTHEST - 1), before=None) for n in range(3)]
    for line in (lines[2], lines[1]):
        assert "Held back" in there.take([line], via="bundle").problems[0]
        assert there.state(note.entity) is None
        assert there.all("note") == there.open_conflicts() == []
        assert there.verify().problems == ()
    assert there.take([lines[0]], via="bundle").problems == ()
    assert there.state(note.entity) == {"words": "one"}
    assert there.verify().held == ()
    assert not any("table" in problem for problem in there.verify().problems)


def test_a_number_that_is_lost_holds_nothing_back(trio) -> None:
    """A spot of damage in a bundle costs its piece, not the rest."""
    here, there, _ = trio
    for n in range(5):
        here.write(put("note", {"words": str(n)}))
    lines = here.lines()
    del lines[2]
    assert there.take(lines, via="bundle").problems == ()
    assert len(there.all("note")) == 4


def test_two_laptops_with_one_name_notice_it(tmp_path: Path) -> None:
    """A copied home: both write on from the same number. Nothing is held back."""
    with (
        Logbook.open(tmp_path / "one", device="d", author="Mara") as one,
        Logbook.open(tmp_path / "two", device="d", author="Otto") as two,
    ):
        [note] = one.write(put("note", {"words": "both"}))
        two.take(one.lines(), via="bundle")
        two_first = two.write(put("note", {"words": "Otto's"}))[0]
        assert two_first.device != "d", "what it has of that name came from outside"
        # the copy of the file itself is the case in which nothing tells them apart
    (tmp_path / "copy").write_bytes((tmp_path / "one").read_bytes())
    with (
        Logbook.open(tmp_path / "one", device="d", author="Mara") as one,
        Logbook.open(tmp_path / "copy", device="d", author="Otto") as copy,
    ):
        mine, theirs = (log.write(put("note", {"words": log.author}))[0] for log in (one, copy))
        assert (mine.device, mine.seq) == (theirs.device, theirs.seq) == ("d", 2)
        [sentence] = one.take(copy.lines(), via="bundle").problems
        assert "trackside new-name" in sentence
        assert "from number 2 on" in sentence
        assert len(one.all("note")) == 3
        assert one.take(copy.lines(), via="bundle").problems == (), "said once"
        assert one.verify() == one.verify()._replace(problems=(), held=(sentence,))
        name = copy.move_on()
        assert copy.write(put("note", {"words": "on"}))[0].device == name
        assert one.take(copy.lines(), via="bundle").problems == ()
        assert [undone.entity for undone in copy.undo()] != [undone.entity for undone in one.undo()]
        one.undo()
        assert note.entity not in dict(one.all("note"))
        assert theirs.entity in dict(one.all("note")), "undo leaves the other's work alone"


def test_a_document_goes_through_the_same_check(trio) -> None:
    """What no other laptop would take cannot be written down, by hand or from a document."""
    for kind in ("no\u200bte", "x" * 201):
        with pytest.raises(BadRecord):
            trio[0].write(put(kind, {"words": "x"}))
        entity = {"entity": "01a14872-1b00-70f3-ba0b-7959e80e9416", "kind": kind, "body": {}}
        document = {"format": "trackside-logbook", "version": 1, "entities": [entity]}
        with pytest.raises(BadImport):
            import_json(trio[0], document)
    assert trio[0].lines() == []
