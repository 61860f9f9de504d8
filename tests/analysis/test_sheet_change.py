"""Two sheets of one build: a loss is found, scatter is not, and the sheet that counts is chosen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import SHED, UNIT, session
from trackside.analysis.estimate import estimate
from trackside.analysis.shed import fit_of
from trackside.analysis.sheet_change import LOSS, SheetChange, against_first, sheet_changes
from trackside.damper.oil import ratios
from trackside.errors import NoEstimate
from trackside.records import DynoRow, DynoSheet, SheetWarning
from trackside.reports.origin_words import origin_words

BUILD = SHED.builds[0]
FIRST = SHED.sheets[0]


def _later(share: float, seed: int = 11, oil_C: float | None = None) -> DynoSheet:
    """Another day on the virtual bench, its own scatter, the forces `share` of what they were."""
    rows = tuple(
        DynoRow(p, d, v, share * f, oil_C)  # type: ignore[arg-type]
        for p, d, v, f in UNIT.measure([0, 5, 10, 15, 20], seed=seed).rows
    )
    return FIRST.model_copy(update={"rows": rows, "date": "2026-09-01", "source": "later.csv"})


def _both(later: DynoSheet) -> list[SheetChange]:
    found = sheet_changes(FIRST, later, BUILD)
    return [change for change in found.values() if isinstance(change, SheetChange)]


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_a_tenth_less_force_is_a_loss(seed: int) -> None:
    """The bench is told to take a tenth off: the change has to hold it within its band."""
    changes = _both(_later(0.9, seed))
    assert [c.direction for c in changes] == ["bump", "rebound"]
    for change in changes:
        assert change.lost
        assert abs(change.mean + 0.1) < change.band


@pytest.mark.parametrize("seed", [11, 12, 13, 14, 15])
def test_the_same_damper_on_another_day_has_lost_nothing(seed: int) -> None:
    for change in _both(_later(1.0, seed)):
        assert not change.lost
        assert abs(change.mean) < change.band


def test_less_than_the_limit_is_no_loss() -> None:
    assert not any(change.lost for change in _both(_later(0.985)))


@pytest.mark.parametrize(
    ("mean", "band", "lost"),
    [(-0.05, 0.01, True), (-0.035, 0.01, False), (-0.05, 0.06, False), (0.2, 0.01, False)],
)
def test_a_loss_is_beyond_the_limit_and_beyond_the_bands_half(
    mean: float, band: float, lost: bool
) -> None:
    change = SheetChange("bump", (0.0,), np.array([0.1]), np.array([mean]), mean, band, None)
    assert change.lost is lost


def test_the_limit_is_of_the_trades_order() -> None:
    # that a damper which lost 3 % wants opening is common practice, no source
    assert 0.5 < LOSS / 0.03 < 2


def test_nothing_shared_is_said() -> None:
    rows = tuple(
        row._replace(position=row.position + 2.5) for row in FIRST.rows if row.position < 9
    )
    found = sheet_changes(FIRST, FIRST.model_copy(update={"rows": rows}), BUILD)
    assert all(isinstance(reason, NoEstimate) for reason in found.values())
    assert "share no bump position" in str(found["bump"])


def test_warmer_oil_is_no_loss() -> None:
    """The later sheet is what warm oil makes of the first one's curve: told its temperature, the
    comparison finds nothing; not told, it finds less force."""
    fit = fit_of(FIRST, BUILD)
    _, density = ratios(None, 20.0, 80.0)
    rows = tuple(
        row._replace(
            force=float(
                getattr(fit, row.direction)
                .predict(row.position, [row.speed], 0.0, 1.0, float(density))
                .force[0]
            )
        )
        for row in FIRST.rows
    )

    def at(rows: tuple[DynoRow, ...], oil_C: float | None) -> DynoSheet:
        return FIRST.model_copy(update={"rows": tuple(r._replace(oil_C=oil_C) for r in rows)})

    known = sheet_changes(at(FIRST.rows, 20.0), at(rows, 80.0), BUILD)["rebound"]
    unknown = sheet_changes(at(FIRST.rows, None), at(rows, None), BUILD)["rebound"]
    assert isinstance(known, SheetChange)
    assert isinstance(unknown, SheetChange)
    assert known.oil_C == (20.0, 80.0)
    assert abs(known.mean) < 0.003
    assert unknown.mean < known.mean - 0.003


def test_the_sheet_that_the_crew_chose_counts() -> None:
    later = _later(0.9)
    newest = replace(SHED, sheets=(*SHED.sheets, later), entities=("a", "b", "c", "z"))
    assert against_first(BUILD, SHED) is None
    first, changes = against_first(BUILD, newest) or (None, {})
    assert first is FIRST
    assert set(changes) == {"bump", "rebound"}
    chosen = BUILD.model_copy(update={"sheet": "a"})
    builds = (chosen, *SHED.builds[1:])
    forces = {}
    for name, shed in {"newest": newest, "chosen": replace(newest, builds=builds)}.items():
        found = estimate(session(), "FL", "bump", shed, [0.1])
        forces[name] = found.force[0]
        assert ("2026-09-01" in origin_words(found.origin)) == (name == "newest")
    assert forces["newest"] == pytest.approx(0.9 * forces["chosen"], rel=0.05)
    gone = replace(newest, builds=(BUILD.model_copy(update={"sheet": "x"}), *SHED.builds[1:]))
    assert gone.sheet(gone.builds[0]) is later


@pytest.mark.parametrize("waiting", [0, -1])
def test_a_sheet_that_nobody_let_count_is_not_compared(waiting: int) -> None:
    """Neither as the first nor as the newest: gas force left in it would be told as a loss."""
    doubt = (SheetWarning(name="gas_left", serious=True),)
    sheets = [FIRST, _later(1.0, 11), _later(0.7, 12).model_copy(update={"date": "2026-10-01"})]
    sheets[waiting] = sheets[waiting].model_copy(update={"warnings": doubt})
    shed = replace(SHED, sheets=tuple(sheets))
    first, changes = against_first(BUILD, shed) or (None, {})
    counting = [sheet for sheet in sheets if not sheet.waits]
    assert first == counting[0]
    lost = [change.lost for change in changes.values() if isinstance(change, SheetChange)]
    assert lost == [waiting == 0] * 2
    seen = [*counting[:1], sheets[waiting]]
    assert against_first(BUILD, replace(SHED, sheets=tuple(seen))) is None
