"""What is on its way to the logbook: kept, refused and tried again, or put aside."""

from __future__ import annotations

from concurrent.futures import Future
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from trackside.crew import drafts as room
from trackside.crew.drafts import AGAIN_S, Drafts
from trackside.crew.listener import Listener
from trackside.crew.outbox import Outbox
from trackside.errors import LogbookBusy, LogbookError, TracksideError, UnknownRecord
from trackside.logbook import patch
from trackside.logbook.drafts import EMPTIED, Aside

DRIVER, CAR = ("s", "driver"), ("s", "car")
FULL = LogbookError("the disk is full", "make room")


class Book:
    """A logbook that keeps or refuses what it is sent only when told to."""

    def __init__(self) -> None:
        self.read_only = False
        self.sent: list[tuple[dict[str, Any], set[tuple[str, str]], Future[Any]]] = []
        self.held: list[tuple[tuple[str, str, str], Future[None]]] = []
        self.bodies: dict[str, dict[str, Any]] = {"s": {"driver": "Ann"}}
        self.taken_up: list[str] = []
        self.known: list[tuple[str, str, str]] = []
        self.busy = False

    def submit(self, write: Any, *, drop_drafts: Any = (), held: Any = None) -> Future[Any]:
        self.sent.append((write.body, set(drop_drafts), Future()))
        return self.sent[-1][2]

    def keep_draft(self, entity: str, path: str, text: str, held: Any = None) -> Future[None]:
        self.held.append(((entity, path, text), Future()))
        return self.held[-1][1]

    def drafts(self) -> list[Any]:
        return [SimpleNamespace(entity=e, path=p, text=t) for e, p, t in self.known]

    def state(self, entity: str) -> dict[str, Any] | None:
        return self.bodies.get(entity)

    def take_up(self, entity: str) -> dict[str, Any] | None:
        self.taken_up.append(entity)
        return self.bodies.get(entity)

    def flush(self) -> None:
        if self.busy:
            raise LogbookBusy("held", "wait")


class Heard(Listener):
    """Remembers what it is told."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def saved(self, path: str) -> None:
        self.told.append(f"saved {path}")

    def refused(self, path: str, error: TracksideError) -> None:
        self.told.append(f"refused {path}: {error}")


class Desk:
    """An outbox and its drafts before that logbook."""

    def __init__(self, folder: Path, aside: dict[tuple[str, str], str] | None = None) -> None:
        self.book, self.heard = Book(), Heard()
        self.aside = Aside(folder, folder / "log")
        if aside:
            self.aside.put(aside)
        self.drafts = Drafts(self.book, self.aside)  # type: ignore[arg-type]
        self.outbox = Outbox(self.book, self.drafts, self.heard)  # type: ignore[arg-type]

    def send(self, path: str, value: str, *more: str) -> None:
        body = {path: value, **dict.fromkeys(more)}
        self.outbox.send("s", patch("session", "s", body), {path: value})

    def answer(self, n: int, error: BaseException | None = None) -> None:
        future = self.book.sent[n][2]
        future.set_exception(error) if error else future.set_result(None)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


# ── writes ──────────────────────────────────────────────────────────────────────────────────────


def test_a_write_is_kept_when_the_logbook_says_so(desk: Desk) -> None:
    desk.send("driver", "Ben")
    assert not desk.outbox.is_kept("s", "driver")
    assert not desk.outbox.is_settled
    assert desk.outbox.state("s") == {"driver": "Ben"}, "it stands while it is under way"
    assert [write.body for write in desk.outbox.unkept("s")] == [{"driver": "Ben"}]
    assert desk.drafts.of("s") == {"driver": "Ben"}, "and is a draft"
    assert desk.book.sent[0][1] == {DRIVER}
    desk.answer(0)
    assert desk.outbox.is_kept("s", "driver")
    assert desk.outbox.is_settled
    assert desk.outbox.unkept("s") == []
    assert desk.drafts.of("s") == {}
    assert desk.heard.told == ["saved driver"]
    assert desk.outbox.state("nobody") is None


def test_what_was_refused_is_said_once_and_goes_again_by_itself(desk: Desk) -> None:
    desk.send("driver", "Ben")
    desk.answer(0, FULL)
    assert desk.heard.told == [f"refused driver: {FULL}"]
    assert desk.outbox.is_settled
    assert not desk.outbox.is_kept("s", "driver")
    assert desk.aside.read() == {DRIVER: "Ben"}, "on the disk all the same"
    desk.outbox.again()
    desk.answer(1, FULL)
    assert len(desk.heard.told) == 1, "the same is not said again"
    desk.outbox.again(aloud=True)
    desk.answer(2, FULL)
    assert len(desk.heard.told) == 2, "unless somebody asked"
    desk.outbox.again()
    desk.answer(3, LogbookError("the disk is gone", "put it back"))
    assert desk.heard.told[-1].startswith("refused driver: the disk is gone"), "or it is another"
    desk.outbox.again(silent=True)
    desk.answer(4, LogbookError("something else", "wait"))
    assert len(desk.heard.told) == 3
    desk.outbox.again()
    desk.answer(5)
    assert desk.heard.told[-1] == "saved driver"
    assert desk.aside.read() == {}
    desk.outbox.again()
    assert len(desk.book.sent) == 6, "what is kept does not go again"


def test_what_is_under_way_does_not_go_twice(desk: Desk) -> None:
    desk.send("driver", "Ben")
    desk.outbox.again()
    assert len(desk.book.sent) == 1


def test_a_newer_value_takes_the_place_of_a_refused_one_and_of_no_other(desk: Desk) -> None:
    desk.send("driver", "Ben", "car")
    desk.answer(0, FULL)
    desk.send("driver", "Cid")
    bodies = [body for body, _, _ in desk.book.sent]
    assert bodies == [{"driver": "Ben", "car": None}, {"car": None}, {"driver": "Cid"}]
    desk.answer(1)
    desk.answer(2)
    assert desk.outbox.is_kept("s", "driver")
    assert desk.outbox.is_kept("s", "car")


def test_a_write_of_a_record_that_is_gone_is_said_and_never_goes_again(desk: Desk) -> None:
    gone = UnknownRecord("that session is gone", "undo brings it back")
    desk.send("driver", "Ben")
    desk.outbox.again(silent=True)
    desk.answer(0, gone)
    assert desk.heard.told == [f"refused driver: {gone}"]
    desk.outbox.again()
    assert len(desk.book.sent) == 1
    assert desk.outbox.unkept("s") == []
    assert desk.drafts.of("s") == {}


def test_an_error_that_is_none_of_the_programs_is_put_in_words(desk: Desk) -> None:
    desk.send("driver", "Ben")
    desk.answer(0, OSError("odd"))
    assert desk.heard.told == ["refused driver: the write failed (odd): try again."]


def test_what_was_emptied_is_a_draft_that_says_so(desk: Desk) -> None:
    desk.outbox.send("s", patch("session", "s", {"driver": None}), {"driver": ""})
    assert desk.drafts.of("s") == {"driver": EMPTIED}


def test_a_session_is_taken_up_once_all_of_it_is_kept(desk: Desk) -> None:
    assert desk.outbox.take_up("s") == {"driver": "Ann"}
    assert desk.book.taken_up == ["s"]
    desk.send("driver", "Ben")
    assert desk.outbox.take_up("s") == {"driver": "Ben"}
    assert desk.book.taken_up == ["s"], "not while something of it is not kept"
    assert not desk.outbox.caught_up()
    desk.answer(0)
    assert desk.outbox.caught_up()
    assert not desk.outbox.caught_up(), "said once"
    desk.send("driver", "Cid")
    desk.outbox.take_up("s")
    desk.answer(1)
    desk.outbox.take_up("s")
    assert not desk.outbox.caught_up(), "it was taken up already"


def test_leaving_waits_for_every_write_and_names_what_is_not_kept(desk: Desk) -> None:
    desk.send("driver", "Ben")
    desk.answer(0, FULL)
    assert desk.outbox.flush() == ["driver"]
    assert len(desk.book.sent) == 2, "tried once more"
    desk.answer(1)
    assert desk.outbox.flush() == []
    desk.send("car", "seven")
    desk.book.busy = True
    assert desk.outbox.flush() == ["car"]


# ── drafts ──────────────────────────────────────────────────────────────────────────────────────


def test_a_draft_is_remembered_until_the_logbook_holds_it(desk: Desk) -> None:
    desk.drafts.hold("s", "driver", "Be")
    assert desk.book.held[0][0] == ("s", "driver", "Be")
    assert desk.drafts.of("s") == {"driver": "Be"}
    assert not desk.drafts.is_settled
    desk.drafts.hold("s", "driver", "Ben")
    desk.book.held[0][1].set_result(None)
    assert desk.drafts.of("s") == {"driver": "Ben"}, "the older one was held, not this"
    desk.book.held[1][1].set_result(None)
    assert desk.drafts.is_settled
    assert desk.drafts.of("s") == {}
    desk.book.known = [("s", "driver", "Ben"), ("t", "car", "x")]
    assert desk.drafts.of("s") == {"driver": "Ben"}
    desk.drafts.hold("s", "driver", "")
    assert desk.drafts.of("s") == {}, "let go, though the logbook has it still"
    desk.drafts.hold("", "driver", "x")
    desk.book.read_only = True
    desk.drafts.hold("s", "driver", "x")
    assert len(desk.book.held) == 3


def test_a_draft_that_is_refused_is_put_aside_and_goes_again_after_a_while(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [100.0]
    monkeypatch.setattr(room.time, "monotonic", lambda: now[0])
    desk.drafts.hold("s", "driver", "Ben")
    desk.drafts.again()
    assert len(desk.book.held) == 1, "nothing was refused"
    desk.book.held[0][1].set_exception(FULL)
    assert desk.aside.read() == {DRIVER: "Ben"}
    assert desk.drafts.of("s") == {"driver": "Ben"}
    now[0] += AGAIN_S
    desk.drafts.again()
    assert len(desk.book.held) == 1, "not yet"
    now[0] += 0.1
    desk.drafts.again()
    assert [place for place, _ in desk.book.held] == [("s", "driver", "Ben")] * 2
    desk.drafts.again()
    assert len(desk.book.held) == 2, "not while it is under way"
    desk.book.held[1][1].set_result(None)
    assert desk.aside.read() == {}
    assert desk.drafts.flush() == []


def test_what_was_put_aside_is_there_at_the_next_start_and_goes_to_the_logbook(
    tmp_path: Path,
) -> None:
    desk = Desk(tmp_path, {DRIVER: "Ben"})
    assert desk.drafts.of("s") == {"driver": "Ben"}
    assert [place for place, _ in desk.book.held] == [("s", "driver", "Ben")]
    assert desk.drafts.damaged == ""
    desk.book.busy = True
    assert desk.drafts.flush() == [], "it lies in the small file"
    assert desk.aside.read() == {DRIVER: "Ben"}
    desk.book.held[0][1].set_result(None)
    assert desk.aside.read() == {}


def test_a_window_that_only_reads_takes_nothing_out_of_the_small_file(tmp_path: Path) -> None:
    aside = Aside(tmp_path, tmp_path / "log")
    aside.put({DRIVER: "Ben"})
    book = Book()
    book.read_only = True
    drafts = Drafts(book, Aside(tmp_path, tmp_path / "log"))  # type: ignore[arg-type]
    assert drafts.of("s") == {}
    assert book.held == []


def test_leaving_names_the_words_that_are_held_nowhere(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.drafts.hold("s", "driver", "Ben")
    desk.drafts.hold("s", "car", "")
    assert desk.drafts.flush() == ["driver"], "neither in the logbook nor in the small file yet"
    assert len(desk.book.held) == 4, "tried once more"
    desk.drafts.put_aside()
    assert desk.drafts.flush() == []
    monkeypatch.setattr(desk.aside, "put", lambda _: False)
    desk.drafts.hold("s", "tyre_set", "new")
    desk.book.busy = True
    assert desk.drafts.flush() == ["tyre_set"]


def test_what_was_typed_over_since_does_not_stand_for_the_older_save(desk: Desk) -> None:
    desk.drafts.typed({DRIVER: "Ben", CAR: "seven"})
    desk.drafts.typed({DRIVER: "Cid"})
    assert desk.drafts.still({DRIVER: "Ben", CAR: "seven"}) == {CAR: "seven"}
    desk.drafts.written({DRIVER: "Ben", CAR: "seven"})
    assert desk.drafts.of("s") == {"driver": "Cid"}


def test_a_draft_that_cannot_even_be_handed_over_leaves_nothing_under_way(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def closed(*_: Any, **__: Any) -> Future[None]:
        raise LogbookError("closed", "open it")

    monkeypatch.setattr(desk.book, "keep_draft", closed)
    with pytest.raises(LogbookError):
        desk.drafts.hold("s", "driver", "Ben")
    assert desk.drafts.is_settled
    assert desk.drafts.of("s") == {"driver": "Ben"}
