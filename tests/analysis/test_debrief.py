"""What a driver is to know: what moved which way, whether to take care, what is only a reading."""

from __future__ import annotations

import numpy as np
import pytest

from tests.analysis.garage import PREFERENCES, SHED, SPEEDS, at_one_position, corner, session
from trackside.analysis.changes import changes
from trackside.analysis.debrief import OutLap, debrief
from trackside.analysis.estimate import estimate
from trackside.analysis.gauges import NO_TEMPERATURE, OTHER_HARDWARE
from trackside.analysis.sides import uneven
from trackside.damper.gas import pressure_at
from trackside.records import Reading
from trackside.reports.change_words import paired, sentences
from trackside.reports.hints import where_words


def told(after: object, before: object | None = None, shed: object = SHED) -> object:
    return debrief(before or session(), after, shed, SPEEDS)  # type: ignore[arg-type]


def moved(after: object, before: object | None = None) -> list[tuple[str, str, int]]:
    return [(m.part, where_words(m), m.sense) for m in told(after, before).moved]  # type: ignore[attr-defined]


def text(typed: str, quantity: str) -> Reading | None:
    return Reading.of_text(typed, quantity)


# ── the force that is told ──────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("after", [session(corner(rebound=3)), session(corner("TWIN", 14, 14))])
def test_the_clearest_force_is_the_largest_share_of_its_own_band(after: object) -> None:
    found = changes(session(), after, SHED, SPEEDS).forces  # type: ignore[arg-type]
    shares = [
        float(np.max(np.abs(f.step.change) / ((f.step.high - f.step.low) / 2))) for f in found
    ]
    assert shares == sorted(shares, reverse=True)
    assert [force.share for force in found] == pytest.approx(shares)


def test_low_and_high_speed_each_have_their_clearest() -> None:
    force = changes(session(), session(corner(rebound=3)), SHED, SPEEDS).forces[0]
    slow, fast = (force.clearest_in(s, PREFERENCES.speed_split) for s in (True, False))
    assert SPEEDS[slow] <= PREFERENCES.speed_split < SPEEDS[fast]
    assert force.clearest in (slow, fast)
    assert force.clearest_in(False, 10.0) is None, "no reference speed is above it"


def test_a_force_that_is_no_number_is_not_known_rather_than_small(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from trackside.analysis import changes as module

    real = module.step_from

    def holed(*asked: object) -> object:
        step = real(*asked)  # type: ignore[arg-type]
        step.low[-1] = np.nan
        return step

    monkeypatch.setattr(module, "step_from", holed)
    found = changes(session(), session(FL=corner(bump=4)), SHED, SPEEDS)
    assert found.forces == ()
    assert [(one.corner, one.direction) for one in found.unknown] == [("FL", "bump")]


def test_a_debrief_calculates_each_curve_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The force of a setting is asked for by the change of it, and by left against right of both
    outings."""
    from trackside.analysis import estimate as module
    from trackside.analysis import estimate_cache, worth

    asked: list[tuple[object, ...]] = []
    real = module.estimate_at

    def counted(at: object, shed: object, speeds: object) -> object:
        found = real(at, shed, speeds)  # type: ignore[arg-type]
        asked.append((at.corner, at.direction, at.from_hard))  # type: ignore[attr-defined]
        return found

    for user in (module, estimate_cache, worth):
        monkeypatch.setattr(user, "estimate_at", counted)
    told(session(FL=corner(rebound=3), RR=corner(bump=5)))
    assert len(asked) == 8 + 2, "both directions of four corners, and the two that were turned"
    assert len(set(asked)) == len(asked)


# ── a cautious out-lap ──────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("after", "why"),
    [
        (session(), OutLap()),
        (session(corner(rebound=9)), OutLap()),
        (session(FL=corner(rebound=0)), OutLap(large=("FL",))),
        (session(RR=corner("TWIN", 12, 12)), OutLap(swapped=("RR",))),
        (session(FR=corner("UNHEARD", 8, 8)), OutLap(swapped=("FR",))),
        (session(FR=corner(None, None, None)), OutLap(unknown=("FR",))),
        (session(FR=corner(bump=None)), OutLap(unknown=("FR",))),
        (session(items={"Rear bar": "hole 2"}), OutLap()),
        (session(RL=corner(spring_rate=text("80", "spring rate"))), OutLap()),
    ],
)
def test_care_is_asked_for_after_a_large_step_a_swap_or_an_unknown_and_never_else(
    after: object, why: OutLap
) -> None:
    found = told(after).out_lap  # type: ignore[attr-defined]
    assert found == why
    assert bool(found) == (why != OutLap())


def test_a_corner_that_nobody_touched_asks_for_no_care_though_its_force_is_unknown() -> None:
    unknown = corner("BARE")
    assert not told(session(unknown), session(unknown)).out_lap  # type: ignore[attr-defined]
    turned = told(session(unknown, FL=corner("BARE", bump=6)), session(unknown))
    assert turned.out_lap == OutLap(unknown=("FL",))  # type: ignore[attr-defined]


def test_a_far_stiffer_spring_is_a_large_step() -> None:
    before, after = (session(corner(spring_rate=text(t, "spring rate"))) for t in ("80", "120"))
    assert told(after, before).out_lap.large == ("FL", "FR", "RL", "RR")  # type: ignore[attr-defined]


# ── a swap ──────────────────────────────────────────────────────────────────────────────────────


def test_a_swap_says_each_count_with_its_end_even_where_the_numbers_are_alike() -> None:
    found = changes(session(), session(FL=corner("TWIN", 8, 12)), SHED, SPEEDS)
    assert sentences(found, PREFERENCES) == [
        "FL damper: HARD build A to TWIN build A; bump 8 from full hard to 8 from full soft; "
        "rebound 8 from full hard to 12 from full soft"
    ]
    assert found.swapped == ("FL",)
    paths = {value.path: value.within for value in found.values}
    assert paths["FL.bump_bleed"] == paths["FL.rebound_bleed"] == "FL.damper"


def test_another_damper_beside_a_rebuilt_one_is_no_rebuild_of_both() -> None:
    before = session(FL=corner(build="A"), FR=corner("TWIN", 8, 12, build="A"))
    after = session(FL=corner("SOFT", 8, 8, build="B"), FR=corner("TWIN", 8, 12, build="B"))
    told = sentences(changes(before, after, SHED, SPEEDS), PREFERENCES)
    assert told[0].startswith("FL damper: HARD build A to SOFT build B")
    assert [line.partition(":")[0] for line in told[1:]] == ["FR build"]


def test_the_end_of_a_damper_that_nobody_knows_is_not_guessed() -> None:
    found = changes(session(), session(FL=corner("UNHEARD", 8, 8)), SHED, SPEEDS)
    assert "8 from full hard to 8 from an end that is not known" in sentences(found, PREFERENCES)[0]
    assert {one.corner for one in found.unknown} == {"FL"}


def test_a_count_that_a_swap_left_open_is_said_without_an_end() -> None:
    after = session(FL=corner("HARD", build="A").model_copy(update={"damper": "TWIN"}))
    after = after.with_value("FL.bump_bleed", None)
    first = sentences(changes(session(), after, SHED, SPEEDS), PREFERENCES)[0]
    assert "bump 8 from full hard to not entered;" in first
    assert "not entered from" not in first


def test_a_damper_written_in_other_letters_is_no_swap() -> None:
    after = session(FL=corner("hard"))
    found = changes(session(), after, SHED, SPEEDS)
    assert found.swapped == ()
    assert not told(after).out_lap  # type: ignore[attr-defined]


# ── readings are not changes ────────────────────────────────────────────────────────────────────


def charged(pressure: float, at_C: float, damper: str = "HARD") -> object:
    return session(corner(
        damper,
        gas_pressure=Reading.of_si(pressure, "pressure"),
        gas_temperature=Reading.of_si(at_C, "temperature"),
    ))  # fmt: skip


def test_the_same_filling_on_a_colder_day_is_no_change() -> None:
    colder = charged(float(pressure_at(16e5, 24.0, 9.0)), 9.0)
    found = changes(charged(16e5, 24.0), colder, SHED, SPEEDS)  # type: ignore[arg-type]
    assert found.values == ()
    assert len(found.readings) == 4
    assert all(value.verdict == "same" for value in found.readings)


@pytest.mark.parametrize("filled", [14e5, 18e5])
def test_another_charge_is_a_change_and_told_at_20_degrees(filled: float) -> None:
    found = changes(charged(16e5, 20.0), charged(filled, 20.0), SHED, SPEEDS)  # type: ignore[arg-type]
    wanted = f"all four gas at 20 °C: 16.00 bar to {filled / 1e5:.2f} bar"
    assert sentences(found, PREFERENCES) == [wanted]


def test_a_gas_reading_that_was_not_taken_is_no_change() -> None:
    assert changes(charged(16e5, 20.0), session(), SHED, SPEEDS).values == ()  # type: ignore[arg-type]
    assert changes(charged(16e5, 20.0), session(), SHED, SPEEDS).readings == ()  # type: ignore[arg-type]


def test_charges_that_cannot_be_compared_are_readings_with_their_reason() -> None:
    bare = session(corner(gas_pressure=Reading.of_si(12e5, "pressure")))
    found = changes(charged(16e5, 20.0), bare, SHED, SPEEDS)  # type: ignore[arg-type]
    assert found.values == ()
    assert all(value.why == NO_TEMPERATURE for value in found.readings)
    swapped = changes(charged(16e5, 20.0), charged(12e5, 20.0, "TWIN"), SHED, SPEEDS)  # type: ignore[arg-type]
    assert all(value.why == OTHER_HARDWARE for value in swapped.readings)


def cold(*bar: float, air: str = "") -> object:
    corners = dict(zip(("FL", "FR", "RL", "RR"), bar * (4 // len(bar)), strict=True))
    sheets = {
        c: corner(cold_pressure=Reading.of_si(1e5 * p, "pressure")) for c, p in corners.items()
    }
    weather = {"air_temperature": text(air, "temperature")} if air else {}
    return session(**sheets, **weather)


def test_cold_pressures_are_one_line_whatever_they_are() -> None:
    found = changes(cold(1.40, 1.42, 1.44, 1.46), cold(1.30, 1.36, 1.4, 1.47), SHED, SPEEDS)  # type: ignore[arg-type]
    assert len(sentences(found, PREFERENCES)) == 1
    assert sentences(found, PREFERENCES)[0].count("cold: ") == 4


def test_cold_pressures_for_the_same_hot_target_are_readings() -> None:
    target = Reading.of_text("1.9", "pressure")
    before, after = (
        session(corner(cold_pressure=Reading.of_si(p, "pressure"), hot_target=target))
        for p in (1.40e5, 1.52e5)
    )
    found = changes(before, after, SHED, SPEEDS)
    assert found.values == ()
    assert len(list(paired(found.readings, PREFERENCES))) == 1
    higher = session(corner(
        cold_pressure=Reading.of_si(1.52e5, "pressure"), hot_target=Reading.of_text("2", "pressure")
    ))  # fmt: skip
    assert sentences(changes(before, higher, SHED, SPEEDS), PREFERENCES) == [
        "all four target: 1.90 bar to 2.00 bar",
        "all four cold: 1.40 bar to 1.52 bar",
    ]


def test_a_cold_pressure_that_the_day_explains_is_a_reading() -> None:
    """1.45 bar at 24 °C is 1.326 bar at 9 °C: 2.46325 · 282.15 / 297.15 − 1.01325, by p ∝ T at
    constant volume."""
    found = changes(cold(1.45, air="24"), cold(1.326, air="9"), SHED, SPEEDS)  # type: ignore[arg-type]
    assert found.values == ()
    assert len(found.readings) == 4
    let_out = changes(cold(1.45, air="24"), cold(1.25, air="9"), SHED, SPEEDS)  # type: ignore[arg-type]
    assert len(let_out.values) == 4


# ── left and right ──────────────────────────────────────────────────────────────────────────────


def test_unlike_counts_of_one_force_are_not_pointed_out() -> None:
    """TWIN is HARD on the same bench, counted from the other end of its 20 clicks."""
    assert uneven(session(FR=corner("TWIN", 12, 12)), SHED, SPEEDS) == ()


def test_like_counts_of_unlike_forces_are_pointed_out_with_the_band() -> None:
    axles = uneven(session(FR=corner("TWIN", 8, 8)), SHED, SPEEDS)
    assert {(one.axle, one.direction) for one in axles} == {
        ("front", "bump"),
        ("front", "rebound"),
    }
    for one in axles:
        assert np.all(one.low <= one.difference)
        assert np.all(one.difference <= one.high)
        i = one.clearest
        assert one.difference[i] < 0, "8 of 20 from full soft is the softer one"
        assert one.high[i] < 0


def test_without_an_estimate_on_both_sides_nothing_is_claimed() -> None:
    assert uneven(session(FR=corner("BARE")), SHED, SPEEDS) == ()


def test_a_wide_band_hides_what_it_should() -> None:
    """A shop rule beside a dyno sheet: told only where the difference leaves both bands."""
    after = session(FR=corner("RULE"))
    left, right = (estimate(after, c, "bump", SHED, SPEEDS) for c in ("FL", "FR"))
    half = np.hypot((left.high - left.low) / 2, (right.high - right.low) / 2)
    apart = np.abs(right.force - left.force) > 1.3 * half
    within = np.abs(right.force - left.force) < 0.7 * half
    told_bump = [one for one in uneven(after, SHED, SPEEDS) if one.direction == "bump"]
    clear = told_bump[0].clear if told_bump else np.zeros(len(SPEEDS), bool)
    assert np.all(clear[apart])
    assert not np.any(clear[within])


# ── what moved ──────────────────────────────────────────────────────────────────────────────────


def test_both_sides_of_an_axle_move_as_one_and_each_its_own_way_apart() -> None:
    assert moved(session(FL=corner(rebound=3), FR=corner(rebound=3))) == [("rebound", "front", 1)]
    apart = moved(session(RL=corner(bump=3), RR=corner(bump=14)))
    assert sorted(apart) == [("bump", "rear left", 1), ("bump", "rear right", -1)]


def test_what_is_in_the_noise_or_not_known_does_not_move() -> None:
    assert moved(session(corner("TWIN", 12, 12))) == []
    assert moved(session(corner("BARE", 3, 3))) == []
    lone = at_one_position("HARD", 10.0)
    assert told(session(corner(bump=3)), shed=lone).moved == ()  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("name", "was", "now", "wanted"),
    [
        ("Rear wing", "4°", "6°", ("wing", "rear", 1)),
        ("Rear wing", "6 deg", "4,5 deg", ("wing", "rear", -1)),
        ("Rear wing", "4 of 9", "6 of 9", ("wing", "rear", 0)),
        ("Front bar", "28 mm, hole 3 of 4", "28 mm, hole 2 of 4", ("bar", "front", 0)),
        ("Front bar", "25 mm, hole 3", "28 mm, hole 3", ("bar", "front", 1)),
        ("Front bar", "25 mm, hole 3", "28 mm, hole 1", ("bar", "front", 0)),
        ("Front ARB", "hole 2", "off", ("bar", "front", -1)),
        ("Rear bar", "off", "hole 1", ("bar", "rear", 1)),
        ("Brake bias", "56 % front", "58 % front", ("bias", "front", 1)),
        ("Brake bias", "44 % rear", "42 % rear", ("bias", "front", 1)),
        ("Brake bias", "3 turns", "5 turns", ("bias", "", 0)),
        ("Brake balance", "56", "58", ("bias", "", 0)),
        ("Ballast", "10 kg", "20 kg", ("", "", 0)),
        ("Front and rear bar", "25 mm", "28 mm", ("bar", "", 1)),
        ("Front bar, front car", "25 mm", "28 mm", ("bar", "front", 1)),
    ],
)
def test_bar_wing_and_bias_go_the_way_that_the_words_leave_no_doubt_of(
    name: str, was: str, now: str, wanted: tuple[str, str, int]
) -> None:
    found = told(session(items={name: now}), session(items={name: was})).moved  # type: ignore[attr-defined]
    assert [(m.part, m.axle, m.sense) for m in found] == [wanted]


def test_a_spring_of_one_side_is_no_matter_of_the_axle() -> None:
    rates = [text(t, "spring rate") for t in ("80", "90")]
    both = [session(corner(spring_rate=r)) for r in rates]
    assert moved(both[1], both[0]) == [("spring_rate", "front", 1), ("spring_rate", "rear", 1)]
    one = session(corner(spring_rate=rates[0]), FL=corner(spring_rate=rates[1]))
    assert moved(one, both[0]) == [("", "front left", 0)]
