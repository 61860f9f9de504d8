"""Three laptops, random work, broken clocks, damaged bundles, lost ones: all come to the same.

They are judged by what their pages say, not only by what they hold.
"""

from __future__ import annotations

import random
import shutil
import tempfile
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from tests.faults.facts import facts
from trackside.crew.runs import next_run, run_between, run_moved, sessions_beside, split_from
from trackside.errors import BadImport, TracksideError
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.bundle import write_bundle
from trackside.logbook.dampers import damper_of
from trackside.logbook.links import LINKED, TWIN
from trackside.logbook.sharing import give, receive, share
from trackside.logbook.twins import TWICE

LAPTOPS = range(3)
LAPTOP = st.sampled_from(LAPTOPS)
PLACE = st.integers(0, 7)
VALUE = st.none() | st.sampled_from(["a", "b"])
VALUES = st.dictionaries(
    st.sampled_from(["driver", "FL.camber", "FL", "items.Bar 1.5"]), VALUE, min_size=1
)
SERIAL = st.sampled_from(["N-1", "n-1", "N-2"])
EVENT = {"venue": "Harrow Fen", "date": "2026-05-09"}
ENDS = st.sampled_from(["hard", "soft"])


def number(value: int) -> dict[str, Any]:
    """A count as a run sheet has it."""
    return {"typed": str(value), "unit": "", "si": float(value)}


class BrokenClock:
    """A clock that may jump years, either way, at each look."""

    def __init__(self) -> None:
        self.chance = random.Random(0)

    def __call__(self) -> datetime:
        return datetime(2026, 5, 9, tzinfo=UTC) + timedelta(days=self.chance.randint(-9999, 9999))


class ThreeLaptops(RuleBasedStateMachine):
    """Everything that is written anywhere must, in the end, stand everywhere."""

    merged = 0
    """How many runs have met in the end."""

    @initialize()
    def start(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="three-laptops-"))
        (self.folder / "shared").mkdir()
        clock = BrokenClock()
        self.laptops = [
            Logbook.open(":memory:", device=f"laptop-{n}", author=f"L{n}", clock=clock)
            for n in LAPTOPS
        ]
        self.written: set[str] = set()

    def _write(self, laptop: int, *writes) -> None:
        saved = self.laptops[laptop].write(*writes, reason="why")
        self.written.update(revision.rev for revision in saved)

    def _at(self, laptop: int, place: int) -> tuple[str, str] | None:
        standing = self.laptops[laptop].current_states()
        return (standing[place].kind, standing[place].entity) if place < len(standing) else None

    @rule(laptop=LAPTOP, kind=st.sampled_from(["session", "note", "aerial"]), driver=VALUE)
    def create(self, laptop: int, kind: str, driver: str | None) -> None:
        self._write(laptop, put(kind, {"driver": driver, "session": "s"}))

    @rule(laptop=LAPTOP, serial=SERIAL, end=ENDS)
    def enter_damper(self, laptop: int, serial: str, end: str) -> None:
        """As a crew does that has not met the others: perhaps it is in their shed already."""
        if damper_of(self.laptops[laptop], serial):
            return
        knob = {"acts_on": "rebound_bleed", "clicks": 20, "counted_from": end, "step": 1}
        law = {"direction": "rebound", "full_hard_force": 1200, "reference_speed": 0.1}
        build = {"damper": serial, "version": "A", "adjusters": [knob]}
        build["shop_rules"] = [law | {"share_per_click": 0.04}]
        self._write(laptop, put("damper", {"serial": serial}), put("build", build))

    @rule(laptop=LAPTOP, run=st.integers(1, 2), serial=SERIAL, clicks=st.integers(0, 20))
    def enter_session(self, laptop: int, run: int, serial: str, clicks: int) -> None:
        """Of the only event and car; each laptop enters those where it has none."""
        logbook = self.laptops[laptop]
        for kind, body in (("event", EVENT), ("car", {"name": "Hatch"})):
            if not logbook.all(kind):
                self._write(laptop, put(kind, body))
        body = {kind: logbook.all(kind)[0][0] for kind in ("event", "car")} | {
            "kind": "practice", "number": number(run), "start": f"2026-05-09 10:0{run}",
            "driver": "Ines", "laps": number(9), "status": "done",
            "FL": {"damper": serial, "build": "A", "rebound_bleed": number(clicks)},
        }  # fmt: skip
        session = put("session", body)
        note = {"session": session.entity, "words": f"skips {run}", "driver": "Ines"}
        self._write(laptop, session, put("note", note))

    @rule(laptop=LAPTOP, place=PLACE, verb=st.sampled_from(["next", "between", "move", "split"]))
    def order_runs(self, laptop: int, place: int, verb: str) -> None:
        """The next run, a forgotten one, one moved to a session beside it, a session split."""
        logbook = self.laptops[laptop]
        lines = logbook.session_lines()
        if not lines:
            return
        line = lines[place % len(lines)]
        with suppress(TracksideError):  # there may be nowhere to move to, and nothing to split
            known = line.entity, logbook.session_record(line.entity)
            if verb == "next":
                made = next_run(logbook, known)
            elif verb == "between":
                made = run_between(logbook, known, "2026-05-09 10:01")
            elif verb == "move":
                beside = list(sessions_beside(logbook, line).values())
                made = run_moved(logbook, line.entity, beside[0] if beside else line)
            else:
                made = split_from(logbook, line.entity)
            self._write(laptop, *made.writes)

    @rule(laptop=LAPTOP, place=PLACE, values=VALUES)
    def change(self, laptop: int, place: int, values: dict) -> None:
        if at := self._at(laptop, place):
            self._write(laptop, patch(*at, values))

    @rule(laptop=LAPTOP, place=PLACE)
    def remove(self, laptop: int, place: int) -> None:
        if at := self._at(laptop, place):
            self._write(laptop, drop(*at))

    @rule(laptop=LAPTOP, back=st.booleans())
    def undo(self, laptop: int, back: bool) -> None:
        before = self.laptops[laptop].names()
        (self.laptops[laptop].undo if back else self.laptops[laptop].redo)()
        self.written |= self.laptops[laptop].names() - before

    @rule(laptop=LAPTOP, choice=st.integers(0, 9))
    def settle(self, laptop: int, choice: int) -> None:
        open_ = self.laptops[laptop].open_conflicts()
        if open_:
            dispute = open_[choice % len(open_)]
            verdict = dispute.verdict(choice % len(dispute.versions))
            saved = self.laptops[laptop].settle(dispute.entity, {dispute.path: verdict})
            self.written.update(revision.rev for revision in saved)

    @rule(here=LAPTOP, further=st.integers(1, 2), choice=st.integers(0, 9))
    def file_under_a_twin(self, here: int, further: int, choice: int) -> None:
        """One settles which of two records holds; another, that has not heard of it, files under
        those that are dropped."""
        there = (here + further) % len(LAPTOPS)
        for laptop in (here, there):
            if not self.laptops[laptop].all("session"):
                self.enter_session(laptop, 1, "N-1", choice)
        self.carry(there, here, None)
        open_ = [one for one in self.laptops[here].open_conflicts() if one.path == TWICE]
        open_ = [one for one in open_ if one.kind in LINKED]
        if not open_:
            return
        dispute = open_[choice % len(open_)]
        holds = dispute.verdict(choice % len(dispute.versions))
        saved = self.laptops[here].settle(dispute.entity, {TWICE: holds})
        self.written.update(revision.rev for revision in saved)
        for dropped in dispute.twins:
            if dropped == holds or self.laptops[there].state(dropped) is None:
                continue
            if dispute.kind == "session":
                self._write(there, put("note", {"session": dropped, "words": "skips again"}))
            else:
                body = {dispute.kind: dropped, "number": number(3 + choice), "driver": "Ines"}
                self._write(there, put("session", body))

    @rule(here=LAPTOP, there=LAPTOP, seed=st.none() | st.integers(0, 99))
    def carry(self, here: int, there: int, seed: int | None) -> None:
        """One bundle, perhaps damaged on the way."""
        file = self.folder / "stick.bundle"
        give(self.laptops[here], file)
        if seed is not None:
            chance, content = random.Random(seed), bytearray(file.read_bytes())
            content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
            file.write_bytes(content[: chance.randint(len(content) // 2, len(content))])
        try:
            receive(self.laptops[there], file)
        except BadImport:
            assert seed is not None

    @rule(here=LAPTOP, there=LAPTOP, seed=st.integers(0, 99))
    def carry_part(self, here: int, there: int, seed: int) -> None:
        """Some lines, in any order, some twice: parents may come after their children, or never."""
        lines = self.laptops[here].lines()
        chosen = random.Random(seed).choices(lines, k=len(lines) // 2)
        write_bundle(self.folder / "part.bundle", chosen)
        if chosen:
            receive(self.laptops[there], self.folder / "part.bundle")

    @rule(laptop=LAPTOP)
    def share(self, laptop: int) -> None:
        assert share(self.laptops[laptop], self.folder / "shared").problems == ()

    @rule(laptop=LAPTOP)
    @precondition(lambda self: len(self.written) < 12)
    def rebuilt_is_live(self, laptop: int) -> None:
        problems = self.laptops[laptop].verify().problems
        assert not any("table" in problem for problem in problems)

    def teardown(self) -> None:
        """All meet, twice round; then all must be the same, and whole."""
        if not hasattr(self, "laptops"):
            return
        try:
            for _ in range(2):
                for laptop in self.laptops:
                    share(laptop, self.folder / "shared")
            seen = [
                (laptop.names(), sorted(laptop.current_states()), _in_order(laptop.conflicts()))
                for laptop in self.laptops
            ]
            assert seen[0] == seen[1] == seen[2]
            pages = [facts(laptop) for laptop in self.laptops]
            for page, shown in pages[0].items():
                assert shown == pages[1][page] == pages[2][page], page
            for laptop in self.laptops:
                _leads_on(laptop)
            assert seen[0][0] == self.written
            assert all(laptop.verify().problems == () for laptop in self.laptops)
            type(self).merged += 1
        finally:
            for laptop in self.laptops:
                laptop.close()
            shutil.rmtree(self.folder)


def _leads_on(logbook: Logbook) -> None:
    """No page names a record that is gone where a person said which one holds, and it stands."""
    decided = [(one.get("dropped"), one.get("holds")) for _, one in logbook.all(TWIN)]
    named = [link for line in logbook.session_lines() for link in (line.event, line.car)]
    named += [note.get("session") for _, note in logbook.all("note")]
    for link in named:
        meant = {link}
        for _ in decided:
            meant |= {holds for dropped, holds in decided if dropped in meant}
        standing = [one for one in meant if isinstance(one, str) and logbook.state(one) is not None]
        assert link in standing or not standing, link
    for line in logbook.session_lines():
        assert line.notes == len(logbook.notes(line.entity))


def _in_order(conflicts: dict) -> list:
    return sorted((entity, sorted(paths.items(), key=repr)) for entity, paths in conflicts.items())
