"""A weekend typed in a real terminal, with its keys counted: runs of a practice, one that was
forgotten, laps, a reason and its verdict on the morning after, a walk round the car."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.terminal.terminal import Terminal
from trackside.logbook import Logbook, SessionLine

pytestmark = pytest.mark.terminal

SIZES = [(80, 24), (120, 40)]


class Hands:
    """A terminal at whose keys somebody counts; letters of a text are typed, not counted."""

    def __init__(self, terminal: Terminal) -> None:
        self.terminal = terminal
        self.keys = 0

    def press(self, *keys: str) -> None:
        """Press these keys."""
        self.keys += len(keys)
        self.terminal.send(*keys)

    def type(self, text: str) -> None:
        """Type that text."""
        self.terminal.send(*text)

    def see(self, words: str) -> None:
        """Wait until the screen shows the words."""
        self.terminal.wait_for(words)

    def counted(self) -> int:
        """How many keys were pressed since the last count."""
        keys, self.keys = self.keys, 0
        return keys


@pytest.fixture
def season(runs_alone_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own: two cars, their dampers, earlier weekends."""
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


@pytest.fixture
def hands(tmp_path: Path, season: Path) -> Iterator[object]:
    """Opens the program on the season at a size; closes every terminal at the end."""
    opened: list[Terminal] = []

    def open_one(size: tuple[int, int]) -> Hands:
        command = [sys.executable, "-m", "trackside", "--log", str(season)]
        opened.append(Terminal(command, size, tmp_path))
        return Hands(opened[-1])

    yield open_one
    for terminal in opened:
        terminal.close()


def _begin_event(hand: Hands) -> None:
    """On the pit board of the season: the next event, without a session yet."""
    hand.see("Averholme")
    hand.press("e")
    hand.see("RECORD")
    hand.type("Harrow Fen")
    hand.press("enter")
    hand.see("Event · Harrow Fen")
    hand.press("escape")
    hand.see("no session yet")


def runs(season: Path) -> list[SessionLine]:
    """The runs of the newest event, newest first."""
    with Logbook.open(season, read_only=True) as logbook:
        newest = logbook.session_lines(limit=1)[0]
        return logbook.session_lines(event=newest.event)


def _stays(season: Path, titles: list[str]) -> None:
    """The runs come to be these, oldest first."""
    for _ in range(100):
        found = [line.title for line in runs(season)][::-1]
        if found == titles:
            return
        time.sleep(0.05)
    raise AssertionError(found)


@pytest.mark.parametrize("size", SIZES)
def test_a_practice_of_three_runs_one_forgotten_and_a_verdict(
    hands, season: Path, size: tuple[int, int]
) -> None:
    hand = hands(size)
    _begin_event(hand)
    time.sleep(0.3)  # an Escape and a letter at once are another key to a terminal
    hand.press("n")
    hand.see("The next session of which car?")
    hand.press("enter")
    hand.see("RUN SHEET")
    hand.see("since")
    _stays(season, ["race 1"])  # of the newest car, the kind carried on
    hand.counted()

    hand.press("R")
    hand.see("run 2 with the set-up of race 1")
    assert hand.counted() <= 4
    hand.press("R")
    hand.see("run 3 with the set-up of race 1 run 2")
    assert hand.counted() <= 4
    _stays(season, ["race 1 run 1", "race 1 run 2", "race 1 run 3"])
    stable = runs(season)[0].entity

    hand.press("I")
    hand.see("When it began")
    hand.type("00:00")
    hand.press("enter")
    hand.see("it is race 1 run 1 now")
    assert hand.counted() <= 4
    _stays(season, ["race 1 run 1", "race 1 run 2", "race 1 run 3", "race 1 run 4"])
    assert runs(season)[0].entity == stable

    hand.press("h")
    hand.press("y")
    hand.see("Reason and verdict")
    hand.type("nose skates")
    hand.press("ctrl+s")
    hand.see("reason saved")
    hand.press("w")
    hand.see("walk-round")
    hand.type("81")
    hand.press("enter")
    hand.see("FL Middle")
    hand.press("q")
    assert hand.terminal.wait_for_end() == 0

    morning = hands(size)
    morning.see("waits for its verdict")
    morning.counted()
    morning.press("j")
    morning.see("NOTES, REASONS, VERDICTS")
    morning.press("1")
    morning.terminal.wait_until_gone("waits for its verdict")
    assert morning.counted() <= 3
    morning.press("q")
    assert morning.terminal.wait_for_end() == 0


def test_two_cars_with_two_drivers_and_a_swap(hands, season: Path) -> None:
    """The second car's first session at an event is two keys, a damper swapped is its serial."""
    hand = hands((80, 24))
    _begin_event(hand)
    for choice, car in (("enter", "Coupé"), ("2", "Tourer")):
        time.sleep(0.3)  # an Escape and a letter at once are another key to a terminal
        hand.counted()
        hand.press("home", "n")
        hand.see("of which car?")
        hand.press(choice)
        hand.see("RUN SHEET")
        hand.see(f"· {car} ·")
        assert hand.counted() <= 4
        for number in (2, 3):
            hand.press("R")
            hand.see(f"Race 1 run {number}, to set · {car}")
            assert hand.counted() <= 4
        if car == "Coupé":
            hand.press("p")
            hand.see("PIT BOARD")
    hand.press("up", "up", "right")
    hand.see("FR Damper · SA-3112")
    hand.type("3108")
    hand.press("enter")
    hand.see("damper changed: cautious out-lap")
    _stays(season, [f"race 1 run {number}" for _ in "12" for number in (1, 2, 3)])
    last = runs(season)[0]
    with Logbook.open(season, read_only=True) as logbook:
        assert str(logbook.session_record(last.entity).value("FR.damper")) == "SA-3108"
    assert [(run.car_name, run.driver) for run in runs(season)] == [
        *[("Tourer", "Ida Kestrup")] * 3,
        *[("Coupé", "Teo Vannick")] * 3,
    ]
    hand.press("q")
    assert hand.terminal.wait_for_end() == 0


def _told(season: Path, names: tuple[str, ...], wanted: list[str]) -> None:
    """The readings of the newest run come to be these, corner by corner as the walk goes."""
    for _ in range(100):
        with Logbook.open(season, read_only=True) as logbook:
            session = logbook.session_record(logbook.session("last"))
        paths = [f"{corner}.{name}" for corner in ("FL", "FR", "RR", "RL") for name in names]
        found = [getattr(session.value(path), "typed", "") for path in paths]
        if found == wanted:
            return
        time.sleep(0.05)
    raise AssertionError(found)


@pytest.mark.parametrize("size", SIZES)
def test_a_walk_round_takes_its_digits_and_one_key_a_value(
    hands, season: Path, size: tuple[int, int]
) -> None:
    hand = hands(size)
    hand.see("Averholme")
    hand.press("r")
    hand.see("since")
    hand.press("n")
    hand.see("in an event that was over")
    hand.counted()
    hand.press("w")
    hand.see("front left, inner tread · 1 of 16")
    corner = ["81", "84", "79", "1.92"]
    for value in corner * 4:
        hand.type(value)
        hand.press("enter")
    assert hand.counted() == 1 + 4 * len(corner)
    hand.see("all 16 values read")
    names = ("tread_inner", "tread_middle", "tread_outer", "hot_pressure")
    _told(season, names, corner * 4)
    hand.press("q")
    assert hand.terminal.wait_for_end() == 0


def test_a_walk_with_dampers_in_it_goes_back_and_says_what_it_left(
    hands, season: Path, tmp_path: Path
) -> None:
    """Body and gas alone: 8 values; the third is put right from the fifth, one is left out."""
    (tmp_path / "config").mkdir()
    (tmp_path / "config" / "preferences.toml").write_text('walk_parts = ["body", "gas"]\n')
    hand = hands((80, 24))
    hand.see("Averholme")
    hand.press("r")
    hand.see("since")
    hand.press("n")
    hand.see("in an event that was over")
    hand.counted()
    hand.press("w")
    hand.see("front left, damper body · 1 of 8")
    for value in ("41", "15.2", "14", "15.3"):
        hand.type(value)
        hand.press("enter")
    hand.see("rear right, damper body · 5 of 8")
    hand.press("up", "up")
    hand.see("front right, damper body · 3 of 8")
    hand.type("44")
    hand.press("enter")
    hand.see("rear right, damper body · 5 of 8")
    for value in ("46", "", "47", "15.1"):
        hand.type(value)
        hand.press("enter")
    hand.see("still empty: RR gas")
    assert hand.counted() == 1 + 8 + 3
    names = ("body_temperature", "gas_pressure")
    _told(season, names, ["41", "15.2", "44", "15.3", "46", "", "47", "15.1"])
    hand.press("q")
    assert hand.terminal.wait_for_end() == 0


@pytest.mark.parametrize("size", SIZES)
def test_a_job_is_written_down_carried_on_and_ticked(
    hands, season: Path, size: tuple[int, int]
) -> None:
    """Four keys beside its words and its hand write it down; two tick it on another day."""
    hand = hands(size)
    hand.see("Averholme")
    hand.press("r")
    hand.see("since")
    hand.counted()
    hand.press("o")
    hand.see("No job yet")
    hand.press("a")
    hand.see("New job")
    hand.type("Front pads")
    hand.press("enter")
    hand.type("Jo")
    hand.press("ctrl+s")
    hand.see("added: Front pads")
    assert hand.counted() == 4
    hand.press("escape")
    hand.see("1 job to do")
    time.sleep(0.3)  # an Escape and a letter at once are another key to a terminal
    hand.press("R")
    hand.see("run 2 with the set-up of race 1")
    hand.see("to set · 1 job to do")
    hand.press("q")
    assert hand.terminal.wait_for_end() == 0

    morning = hands(size)
    morning.see("1 job to do: Coupé 1. o lists them.")
    morning.counted()
    morning.press("o")
    morning.see("□ Front pads: Jo")
    morning.press("enter")
    morning.see("done: Front pads")
    assert morning.counted() == 2
    morning.press("escape")
    morning.terminal.wait_until_gone("job to do")
    time.sleep(0.3)
    morning.press("q")
    assert morning.terminal.wait_for_end() == 0
