"""The commands give the figures that the pages give, of a build that was never on the bench itself.

Laws of our own; no source outside.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.analysis.garage import SHED
from tests.analysis.test_one_force import CASES
from tests.running import Cli
from trackside.logbook import Logbook, put


def _logbook(file: Path, case: str) -> None:
    sheet = next(s for s in SHED.sheets if s.damper == "HARD")
    with Logbook.open(file, device="test") as logbook:
        event, car = (
            put("event", {"venue": "Larkmere", "date": "2026-06-10"}),
            put("car", {"name": "C"}),
        )
        logbook.write(event, car, put("damper", {"serial": "HARD"}), put("sheet", sheet.body()))
        for n, build in enumerate(CASES[case]):
            clicks = {"typed": "8", "unit": "", "si": 8.0}
            corner = {"damper": "HARD", "build": build.version, "bump_bleed": clicks}
            body = {"event": event.entity, "car": car.entity, "driver": "Ann", "status": "done"}
            body |= {"start": f"2026-06-10 1{n}:00", "FL": corner | {"rebound_bleed": clicks}}
            logbook.write(put("build", build.body()), put("session", body))


@pytest.mark.parametrize("case", ["rebound stack changed", "a shop rule copied along"])
def test_every_command_gives_the_same_figures(cli: Cli, tmp_path: Path, case: str) -> None:
    file = tmp_path / "one.trackside"
    _logbook(file, case)

    def asked(*words: str) -> dict:
        return cli("--log", file, *words, "--json").json

    curves = [
        {e["direction"]: e for e in asked("curve", session, "FL")["estimates"]}
        for session in ("last-1", "last")
    ]
    revalved = asked("revalve", "HARD", "--at", "8")["directions"]
    changed = {f["direction"]: f for f in asked("changes", "last-1", "last")["forces"]}
    clicks = asked("clicks", "last", "FL")["adjusters"]
    for direction in ("bump", "rebound"):
        for curve, name in zip(curves, ("before", "after"), strict=True):
            for found in (revalved[direction][name], changed[direction][name]):
                for key in ("force_N", "low_N", "high_N", "basis"):
                    assert found[key] == curve[direction][key]
        apart = [
            after - before
            for before, after in zip(*(c[direction]["force_N"] for c in curves), strict=True)
        ]
        assert revalved[direction]["change"]["change_N"] == pytest.approx(apart)
        step = changed[direction]
        assert step["change_N"] == pytest.approx(apart)
        now = next(c["now"] for c in clicks if c["adjuster"] == f"{direction}_bleed")
        assert now["force_N"] == curves[1][direction]["force_N"]
    assert revalved["bump"]["change"]["change_N"] == [0, 0, 0, 0]
    assert max(map(abs, revalved["rebound"]["change"]["change_N"])) > 50
