"""Under which name a computer writes: a name is no proof of who wrote, and blocks nobody."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

from trackside.analysis.shed import Shed
from trackside.logbook import Logbook, put
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.dampers import builds_of, damper_of
from trackside.logbook.merge import Line, problem_of
from trackside.logbook.revisions import MOST_SAVES


def note(words: str):
    return put("note", {"words": words})


def test_a_name_that_another_writes_under_is_left_to_it(path: Path, tmp_path: Path) -> None:
    """A copied home, or a forged revision with the largest number: nobody is held up."""
    with Logbook.open(path, device="d", author="Mara") as mine:
        [first] = mine.write(note("one"))
        with Logbook.open(tmp_path / "theirs", device="d") as theirs:
            theirs.write(note("two"), note("three"))
            mine.take(theirs.lines(), via="share")
            theirs.take(mine.lines(), via="share")
            both = [mine.write(note("four")), theirs.write(note("five"))]
            mine.take(theirs.lines(), via="share")
            assert mine.verify().problems == ()
        [[four], [five]] = both
        assert (five.device, five.seq) == ("d", 3), "theirs had given out more numbers"
        assert (four.seq, four.device == "d") == (1, False)
        forged = first._replace(seq=MOST_SAVES - 1, save=1)
        envelope = canonical(
            {"format": 1, **forged._asdict(), "parents": [], "device": four.device}
            | {"entity": "e", "rev": None, "undoes": None, "step": None}
        )
        assert mine.take([Line(digest(envelope), envelope)], via="bundle").added == 1
        [six] = mine.write(note("six"))
        assert (six.seq, six.device in ("d", four.device)) == (1, False)
        with Logbook.open(":memory:", device="e") as third:
            taken = third.take(mine.lines(), via="bundle")
            assert taken.added == 7
            held, forked = taken.problems
            assert f"number {MOST_SAVES - 1} of laptop" in held
            assert "trackside new-name" in forked
        assert mine.history(six.entity)[0].device == "d"


def test_a_number_that_no_computer_gives_out_is_left_where_it_is(path: Path) -> None:
    with Logbook.open(path, device="d", author="Mara") as mine:
        [first] = mine.write(note("one"))
        forged = first._replace(seq=MOST_SAVES, save=1)
        envelope = canonical(
            {"format": 1, **forged._asdict(), "parents": []}
            | {"rev": None, "undoes": None, "step": None}
        )
        assert problem_of(digest(envelope), envelope)


def test_one_damper_entered_twice_is_the_same_one_on_every_laptop() -> None:
    """As another model on each; whichever bundle came first."""
    laptops = [Logbook.open(":memory:", device=name, author=name) for name in "abc"]
    try:
        for number, laptop in enumerate(laptops):
            laptop.write(
                put("damper", {"serial": "NEW-1", "model": f"Type {number}"}),
                put("build", {"damper": "NEW-1", "version": "A", "date": "2026-05-09"}),
                put("car", {"name": "No. 7"}),
                put("event", {"venue": f"Fen {number}", "date": "2026-05-09"}),
            )
        given = [laptop.lines() for laptop in laptops]
        for order, laptop in zip(permutations(range(3)), laptops, strict=False):
            for one in (*order, *reversed(order)):
                laptop.take(given[one], via="bundle")
        for kind in ("damper", "build", "car"):
            first, *others = [laptop.all(kind) for laptop in laptops]
            assert len(first) == 3
            assert others == [first, first]
        assert len({damper_of(laptop, "new-1") for laptop in laptops}) == 1
        assert len({builds_of(laptop, "NEW-1")[-1][0] for laptop in laptops}) == 1
        assert len({tuple(laptop.events_waiting()) for laptop in laptops}) == 1
        assert len({tuple(one.twins for one in laptop.open_conflicts()) for laptop in laptops}) == 1
        shed, *sheds = [Shed.of(laptop) for laptop in laptops]
        assert len(shed.dampers) == len(shed.builds) == 1, "one counts until a person decides"
        assert shed.damper("NEW-1") == sheds[0].damper("NEW-1") == sheds[1].damper("NEW-1")
        assert [(one.dampers, one.builds) for one in sheds] == [(shed.dampers, shed.builds)] * 2
    finally:
        for laptop in laptops:
            laptop.close()
