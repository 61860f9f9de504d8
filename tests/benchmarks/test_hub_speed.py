"""What a season costs on its way to the hub and to another laptop, against a bundle of the same.

No network lies between: what a network adds is bytes and questions asked, and both are counted.
"""

from __future__ import annotations

import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.hub_growth import season
from tests.postgres import MISSING, programs, server
from trackside.logbook import Logbook
from trackside.logbook.canonical import digest
from trackside.logbook.hub import address_of, set_up, sync, team_of, wire_to
from trackside.logbook.hub.connection import HubConnection
from trackside.logbook.merge import Line
from trackside.logbook.sharing import give, receive

pytestmark = pytest.mark.benchmark


@pytest.fixture
def url() -> Iterator[str]:
    if programs() is None:
        pytest.skip(MISSING)
    folder = Path(tempfile.mkdtemp(prefix="hub-"))
    folder.chmod(0o755)
    with server(folder / "pg") as running:
        with wire_to(address_of(running.url())) as wire:
            roles = set_up(wire, "Harrow Fen")
        yield running.url(running.new_login("mara", roles.crew))
    shutil.rmtree(folder)


def spent(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def test_a_season_by_hub_and_by_bundle(
    url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = [Line(digest(envelope), envelope) for envelope in season()]
    asked: list[str] = []

    def counted(self: HubConnection, query, *values, plain=HubConnection.ask):  # type: ignore[no-untyped-def]
        asked.append(query)
        return plain(self, query, *values)

    monkeypatch.setattr(HubConnection, "ask", counted)

    def meeting(logbook: Logbook) -> None:
        with wire_to(address_of(url)) as wire:
            sync(logbook, wire, team_of(wire))

    found = {}
    with (
        Logbook.open(tmp_path / "one.trackside", device="one") as one,
        Logbook.open(tmp_path / "two.trackside", device="two") as two,
        Logbook.open(tmp_path / "three.trackside", device="three") as three,
    ):
        assert one.take(lines, via="test").added == len(lines)
        bundle = tmp_path / "season.bundle"
        found["bundle write (s)"] = spent(lambda: give(one, bundle))
        found["bundle read (s)"] = spent(lambda: receive(three, bundle))
        found["push (s)"] = spent(lambda: meeting(one))
        found["questions of the push"] = len(asked)
        asked.clear()
        found["pull (s)"] = spent(lambda: meeting(two))
        found["questions of the pull"] = len(asked)
        asked.clear()
        found["nothing new (s)"] = spent(lambda: meeting(one))
        found["questions where nothing is new"] = idle = len(asked)
        assert two.names() == three.names() == one.names()
    print(f"\n  {len(lines)} revisions", *(f"\n  {name}: {n:.2f}" for name, n in found.items()))
    assert found["pull (s)"] < 5 * found["bundle read (s)"]
    assert idle <= 4
