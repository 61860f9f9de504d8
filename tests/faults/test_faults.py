"""A fast selection of every fault. The long run, with its figures: python -m tests.faults."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

from tests.faults.breaking import break_disk, can_break, end_memory
from tests.faults.damage import damage_files, flip_bits
from tests.faults.disks import fill_disks, fill_with_backups
from tests.faults.kills import kill_writers
from tests.faults.merges import ThreeLaptops
from tests.faults.mutants import mutate
from tests.faults.power import (
    Losses,
    lose_power,
    lose_power_on_backup,
    lose_power_on_opening,
    lose_power_on_restore,
    pull_the_stick,
)
from tests.faults.quits import WAYS, quit_writers
from tests.faults.replay import can_trace
from tests.faults.restores import restore_all
from tests.faults.windows import write_together
from trackside.cli import run
from trackside.logbook.schema import VERSION

posix = pytest.mark.skipif(os.name != "posix", reason="needs fork and kill")


@posix
def test_kill_minus_nine(tmp_path: Path) -> None:
    done = kill_writers(tmp_path / "team.trackside", kills=12)
    assert (done.kills, done.lost) == (12, 0)
    assert done.acknowledged > 0


@posix
def test_leaving_in_mid_commit(tmp_path: Path) -> None:
    done = quit_writers(tmp_path / "team.trackside", quits=len(WAYS))
    assert done.handed_over > 60
    assert done.lost == 0


traceable = pytest.mark.skipif(bool(can_trace()), reason=can_trace() or "can trace")


@traceable
def test_power_loss(tmp_path: Path) -> None:
    done = lose_power(tmp_path, saves=2, states=2)
    assert done.states > 300
    assert (done.acknowledged, done.lost) == (4, 0)


@traceable
@pytest.mark.parametrize("version", range(1, VERSION))
def test_power_loss_while_an_older_file_is_brought_to_this_version(
    tmp_path: Path, version: int
) -> None:
    done = lose_power_on_opening(tmp_path, version, states=2)
    assert done.states > 100
    assert (done.acknowledged, done.lost) == (2, 0)


@traceable
@pytest.mark.parametrize("work", [lose_power_on_restore, lose_power_on_backup])
def test_power_loss_while_files_are_put_in_place(
    tmp_path: Path, work: Callable[[Path, int], Losses]
) -> None:
    done = work(tmp_path, 4)
    assert done.states > 50
    assert (done.acknowledged, done.lost) == (1, 0)


@traceable
def test_a_stick_pulled_out_holds_the_old_bundle_or_the_new_one(tmp_path: Path) -> None:
    done = pull_the_stick(tmp_path, states=8)
    assert done.states > 50
    assert (done.acknowledged, done.lost) == (1, 0)


breakable = pytest.mark.skipif(bool(can_break()), reason=can_break() or "can break")


@breakable
def test_a_disk_that_fails_at_a_call(tmp_path: Path) -> None:
    done = break_disk(tmp_path, every=40)
    assert (done.lost, done.speechless) == (0, 0)
    assert done.sentences > 80
    assert min(done.works.values()) > 0


@breakable
def test_a_memory_that_ends_at_a_request(tmp_path: Path) -> None:
    done = end_memory(tmp_path, every=400)
    assert (done.lost, done.speechless) == (0, 0)
    assert done.sentences > 80
    assert min(done.works.values()) > 0


def test_damaged_files(tmp_path: Path) -> None:
    done = damage_files(tmp_path, files=15)
    assert done.believed == 0
    assert done.refused + done.noticed + done.harmless == 15
    assert done.salvaged > done.written / 2


def test_one_bit_that_changed_changes_no_figure_shown(tmp_path: Path) -> None:
    done = flip_bits(tmp_path, flips=30)
    assert (done.false, done.bad_backups) == (0, 0)
    assert done.refused + done.told + done.right == 30
    assert done.told > 3


def test_false_records_of_another_laptop_bring_no_command_down(tmp_path: Path) -> None:
    done = mutate(tmp_path, records=25, run=run)
    assert (done.taken + done.left, done.speechless) == (25, 0)
    assert done.taken > 15


def test_full_disks(tmp_path: Path) -> None:
    done = fill_disks(tmp_path, disks=10)
    assert done.refused > 5
    assert done.lost == 0


def test_backups_stop_before_the_disk_is_full(tmp_path: Path) -> None:
    done = fill_with_backups(tmp_path / "disk", starts=40)
    assert done.made > 25
    assert done.refused > 3
    assert (done.made + done.refused, done.no_room, done.too_much) == (40, 0, 0)


@posix
def test_windows_that_write_together(tmp_path: Path) -> None:
    assert write_together(tmp_path / "team.trackside", windows=3, saves=10).lost == 0


def test_every_backup_can_be_gone_back_to(tmp_path: Path) -> None:
    done = restore_all(tmp_path, starts=20)
    assert (done.made, done.restored, done.wrong) == (20, done.kept, 0)
    assert 10 < done.kept < 20


TestThreeLaptops = ThreeLaptops.TestCase
TestThreeLaptops.settings = settings(max_examples=15, stateful_step_count=20, deadline=None)
