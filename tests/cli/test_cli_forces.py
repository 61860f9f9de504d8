"""curve, clicks, changes, trend: the JSON contract, and that the numbers hang together."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.analysis import garage
from tests.cli.contract import check_estimate, estimates_in
from tests.running import Cli
from trackside.analysis.estimate import setting
from trackside.analysis.parts import parts_curve
from trackside.analysis.shed import Shed
from trackside.cli.output import signed
from trackside.logbook import Logbook, put
from trackside.records import Reading


def test_curve_gives_both_directions_at_the_speeds_asked(on_samples: Cli) -> None:
    found = on_samples("curve", "last", "FL", "--speeds", "25,50,100", "--json").json
    assert [e["direction"] for e in found["estimates"]] == ["bump", "rebound"]
    for estimate in found["estimates"]:
        check_estimate(estimate)
        assert estimate["speed_mm_s"] == [25, 50, 100]
        assert estimate["force_N"] == sorted(estimate["force_N"])


def test_curve_tells_the_wheel_through_the_motion_ratio(on_samples: Cli) -> None:
    """The Coupé's motion ratios are 0.70 in front and 0.82 behind (damper over wheel travel)."""
    for corner, ratio in (("FL", 0.70), ("RR", 0.82)):
        for e in on_samples("curve", "last", corner, "--json").json["estimates"]:
            assert e["wheel_force_N"] == pytest.approx([ratio * f for f in e["force_N"]])
            assert all(0 < zeta < 3 for zeta in e["damping_ratio"])
            assert e["wheel_unknown"] == []


def test_curve_tells_the_rod_travel_to_the_force(on_samples: Cli) -> None:
    for e in on_samples("curve", "last", "FL", "--json").json["estimates"]:
        travel = e["response_travel_mm"]
        assert 0 < travel["oil_alone"] < travel["with_1_percent_air"] < 3
    said = on_samples("curve", "last", "FL", "--direction", "bump").out
    assert "rod travel to 80 % of the force" in said


def test_curve_tells_the_limits_of_the_corner(on_samples: Cli) -> None:
    found = on_samples("curve", "last", "FL", "--direction", "bump", "--json").json["estimates"][0]
    assert any("holds" in line for line in found["limits"])
    said = on_samples("curve", "last", "FL", "--direction", "bump").out
    assert all(line in said for line in found["limits"])


def test_curve_tells_speeds_that_the_sheet_never_ran(on_samples: Cli) -> None:
    told = on_samples("curve", "last", "FL", "--speeds", "25,600,1500").out
    assert told.count("beyond what the sheet ran (13 to 500): 600, 1500 mm/s") == 2
    assert "beyond what the sheet ran" not in on_samples("curve", "last", "FL").out


def test_curve_carries_its_limits_as_numbers(on_samples: Cli) -> None:
    """Each line of words has its figures beside it, in mm/s, N and mm."""
    found = on_samples("curve", "last", "FL", "--speeds", "25,600,1500", "--json").json
    for e in found["estimates"]:
        assert e["beyond_sheet_mm_s"] == [600, 1500]
        slow, fast = e["sheet_ran_mm_s"]
        assert any(f"({slow:.0f} to {fast:.0f}): 600, 1500 mm/s" in line for line in e["limits"])
    bump, rebound = found["estimates"]
    assert rebound["bump_stop"] is None
    assert any("bump stop" in line for line in bump["limits"]) == (bump["bump_stop"] is not None)
    gas = found["gas"]
    assert any(f"holds {gas['bump_limit_N']:.0f} N" in line for line in bump["limits"])


def test_revalve_tells_before_and_after(on_samples: Cli) -> None:
    found = on_samples("revalve", "TW-2241", "--json").json
    assert (found["before"], found["after"]) == ("A", "B")
    for one in found["directions"].values():
        if "why" in one:
            continue
        change = [
            a - b for a, b in zip(one["after"]["force_N"], one["before"]["force_N"], strict=True)
        ]
        assert one["change"]["change_N"] == pytest.approx(change)
        assert one["after"]["position"] == 12  # half of its 24 clicks
    told = on_samples("revalve", "TW-2241", "--at", "12").out
    assert "≈" in told
    assert "forces and their change in N, ± 95 %; ≈ within the noise" in told
    said = on_samples("revalve", "TW-2241", "--at", "4")
    assert "rebound at 4 of 24 from full soft" in said.out
    for wrong in (("NO-1",), ("TW-2241", "--after", "A"), ("TW-2241", "--at", "40")):
        assert on_samples("revalve", *wrong).status == 2


def test_revalve_tells_discs_that_bend_too_far(cli: Cli, tmp_path: Path) -> None:
    """Two builds of the analysis tests, known from their parts alone, into a logbook."""
    from tests.analysis.test_parts import BUILD, STACK

    file = tmp_path / "parts.trackside"
    thin = BUILD.model_copy(update={"version": "B", "bump_stack": STACK.replace("×3", "×2")})
    with Logbook.open(file) as logbook:
        for build in (BUILD, thin):
            logbook.write(put("build", build.body()))
    found = cli("--log", str(file), "revalve", "NEW", "--json").json["directions"]["bump"]
    assert all(change < 0 for change in found["change"]["change_N"][1:])
    assert any("at risk of a set" in line for line in found["discs"])
    assert "at risk of a set" in cli("--log", str(file), "revalve", "NEW").out


def test_axles_tell_front_against_rear(on_samples: Cli) -> None:
    found = on_samples("axles", "last", "--speeds", "50,100", "--json").json
    assert found["wheel_speed_mm_s"] == [50, 100]
    front, rear, heave = (found["damping_ratio"][name] for name in ("front", "rear", "heave"))
    for f, r, h in zip(front, rear, heave, strict=True):
        assert min(f, r) < h < max(f, r)  # of one body on both axles (derived)
    said = on_samples("axles", "last")
    assert said.status == 0
    assert "no moment of inertia is on record" in said.out


def test_curve_tells_secant_and_slope(on_samples: Cli) -> None:
    found = on_samples("curve", "last", "FL", "--speeds", "50,100", "--json").json
    told = on_samples("curve", "last", "FL", "--speeds", "50,100").out
    for e in found["estimates"]:
        forces = zip(e["force_N"], e["speed_mm_s"], strict=True)
        assert e["secant_N_s_per_m"] == pytest.approx([1000 * f / v for f, v in forces])
        for secant, slope in zip(e["secant_N_s_per_m"], e["tangent_N_s_per_m"], strict=True):
            assert slope > 0
            assert f" {secant:.0f} " in told
            assert f" {slope:.0f} " in told


def test_curve_tells_when_the_gas_lets_go(on_samples: Cli) -> None:
    """Margin: what the gas holds over bump's force at the peak speed; told alike in words."""
    found = on_samples("curve", "last", "FL", "--json").json["gas"]
    peak = found["peak_speed_mm_s"]
    at_peak = on_samples("curve", "last", "FL", "--speeds", peak, "--json").json["estimates"][0]
    assert found["margin"] == pytest.approx(found["bump_limit_N"] / at_peak["force_N"][0])
    assert found["least_margin"] == pytest.approx(found["bump_limit_N"] / at_peak["high_N"][0])
    assert (found["cavitates_at_mm_s"] > peak) == (found["margin"] > 1)
    told = on_samples("curve", "last", "FL").out
    assert f"holds {found['bump_limit_N']:.0f} N in bump" in told


def test_curve_counts_as_the_crew_does_and_from_hard(on_samples: Cli) -> None:
    estimates = [
        e
        for corner in ("FL", "FR")
        for e in on_samples("curve", "last", corner, "--json").json["estimates"]
    ]
    assert {e["counted_from"] for e in estimates} == {"hard", "soft"}
    shown = on_samples("show", "last", "--json").json["corners"]
    for e in estimates:
        assert e["position"] == shown[e["corner"]][f"{e['direction']}_bleed"]["si"]
        if e["counted_from"] == "hard":
            assert e["clicks_from_hard"] == e["position"]


def test_curve_in_words_has_a_chart_and_the_basis(on_samples: Cli) -> None:
    ran = on_samples("curve", "last", "fr")
    assert ran.status == 0
    assert "FR bump" in ran.out
    assert "measured" in ran.out or "between" in ran.out
    assert "┤" in ran.out or "|" in ran.out


def test_clicks_of_a_sheet_of_one_position_say_why_there_are_none(cli: Cli, tmp_path: Path) -> None:
    log = tmp_path / "one.trackside"
    shed = garage.at_one_position("HARD", 10)
    records = [("build", b.body()) for b in shed.builds] + [("sheet", shed.sheets[0].body())]
    records.append(("session", garage.session(garage.corner(bump=10, rebound=0)).body()))
    with Logbook.open(log, author="test", device="test") as logbook:
        logbook.write(*(put(kind, body) for kind, body in records))
    bump, rebound = cli("--log", log, "clicks", "last", "FL", "--json").json["adjusters"]
    check_estimate(bump["now"])
    assert bump["now"]["basis"] == "measured"
    assert bump["harder"]["basis"] == bump["softer"]["basis"] == "no estimate"
    assert "one position only" in bump["harder"]["why"]
    assert rebound["basis"] == "no estimate"
    words = cli("--log", log, "clicks", "last", "FL").out
    assert "1 harder: no estimate, " in words
    assert "1 softer: no estimate, " in words


def test_curve_without_an_estimate_says_why_with_status_2(on_samples: Cli) -> None:
    reasons = set()
    for n in range(24):
        for corner in ("FL", "FR", "RL", "RR"):
            ran = on_samples("curve", f"last-{n}", corner, "--json")
            if ran.status:
                assert (ran.status, ran.out) == (2, "")
                reasons.add(ran.err)
    assert reasons, "some corner of the samples cannot be estimated"


def test_a_corner_by_the_shop_rule_says_so(on_samples: Cli) -> None:
    bases = {
        e["basis"]
        for n in range(24)
        for corner in ("FL", "FR")
        for ran in [on_samples("curve", f"last-{n}", corner, "--json")]
        if ran.status == 0
        for e in ran.json["estimates"]
        if e["basis"] != "no estimate"
    }
    assert "shop rule" in bases
    assert "measured" in bases


def test_clicks_harder_is_more_force_and_both_steps_hang_together(on_samples: Cli) -> None:
    found = on_samples("clicks", "last", "RL", "--speeds", "25,50,100,200", "--json").json
    assert found["adjusters"]
    for worth in found["adjusters"]:
        for estimate in estimates_in(worth):
            check_estimate(estimate)
        for name, sign in (("harder", 1), ("softer", -1)):
            step = worth[name]
            if step is None:
                continue
            now, then = worth["now"]["force_N"], step["force_N"]
            difference = [b - a for a, b in zip(now, then, strict=True)]
            assert step["change_N"] == pytest.approx(difference, abs=0.01)
            assert sign * sum(step["change_N"]) >= 0
            shares = [100 * d / a for d, a in zip(difference, now, strict=True)]
            assert step["change_percent"] == pytest.approx(shares, abs=0.01)


def test_changes_compares_the_last_two_outings_of_a_driver(on_samples: Cli) -> None:
    found = on_samples("changes", "--json").json
    assert found["from"]["driver"] == found["to"]["driver"]
    assert found["from"]["car"] == found["to"]["car"]
    assert found["from"]["start"] < found["to"]["start"]
    assert found["sentences"]
    for change in found["forces"]:
        before, after = change["before"], change["after"]
        check_estimate(before)
        check_estimate(after)
        difference = [b - a for a, b in zip(before["force_N"], after["force_N"], strict=True)]
        assert change["change_N"] == pytest.approx(difference, abs=0.01)


def test_changes_the_other_way_round_have_the_other_sign(on_samples: Cli) -> None:
    there = on_samples("changes", "last-3", "last", "--json").json["forces"]
    back = on_samples("changes", "last", "last-3", "--json").json["forces"]
    by_place = {(f["corner"], f["direction"]): f["change_N"] for f in back}
    assert there
    for change in there:
        opposite = [-n for n in by_place[change["corner"], change["direction"]]]
        assert change["change_N"] == pytest.approx(opposite)


def test_no_change_is_empty(on_samples: Cli) -> None:
    found = on_samples("changes", "last", "last", "--json").json
    assert found["setup"] == found["forces"] == found["conditions"] == found["no_estimate"] == []
    assert "Nothing was set differently." in on_samples("changes", "last", "last").out


def test_trend_tells_every_session_of_the_car_oldest_first(on_samples: Cli) -> None:
    found = on_samples("trend", "FR", "--speed", "50", "--direction", "rebound", "--json").json
    starts = [point["session"]["start"] for point in found["points"]]
    assert starts == sorted(starts)
    assert {point["session"]["car_name"] for point in found["points"]} == {found["car"]}
    for point in found["points"]:
        if point["basis"] == "no estimate":
            assert point["why"]
        else:
            check_estimate(point)
            assert point["speed_mm_s"] == 50


def test_trend_of_a_car_by_name_and_by_number(on_samples: Cli) -> None:
    by_name = on_samples("trend", "FL", "--car", "tourer", "--json").json
    by_number = on_samples("trend", "FL", "--car", "27", "--json").json
    assert by_name == by_number
    assert on_samples("trend", "FL", "--car", "no such car").status == 2


def test_trend_in_words_numbers_the_sessions_of_its_chart(on_samples: Cli) -> None:
    ran = on_samples("trend", "FR", "--direction", "bump")
    assert ran.status == 0
    assert "session" in ran.out.splitlines()[-1]


@pytest.mark.parametrize(
    "arguments",
    [
        ("curve", "last", "XX"),
        ("curve", "last", ""),
        ("curve", "last", "FL", "--speeds", "0"),
        ("curve", "last", "FL", "--speeds", "-25"),
        ("curve", "last", "FL", "--speeds", "nan"),
        ("curve", "last", "FL", "--speeds", ","),
        ("curve", "last", "FL", "--speeds", "1e9"),
        ("curve", "last", "FL", "--direction", "up"),
        ("curve", "last"),
        ("axles", "last", "--speeds", "0"),
        ("axles", "nothing"),
        ("clicks", "last", "front"),
        ("changes", "last"),
        ("changes", "last", "last-99"),
        ("trend", "FL", "--speed", "fast"),
        ("trend", "FL", "--speed", "0"),
    ],
)
def test_what_cannot_be_used_is_one_sentence_and_status_2(
    on_samples: Cli, arguments: tuple[str, ...]
) -> None:
    ran = on_samples(*arguments)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("trackside: ")
    assert ran.err.count("\n") == 1


def test_a_change_that_rounds_to_nothing_has_no_sign() -> None:
    assert [signed(f, "N") for f in (-0.3, 0.0, 0.3)] == ["0", "0", "0"]
    assert [signed(f, "N") for f in (-12.0, 12.0)] == ["−12", "+12"]


def test_changes_carry_numbers_units_and_signed_clicks(cli: Cli, tmp_path: Path) -> None:
    """From the facts, not out of the sentences: a script adds up clicks and bars."""
    was = garage.session(
        garage.corner(
            rebound=8,
            gas_pressure=Reading.of_text("16", "pressure"),
            gas_temperature=Reading.of_text("20", "temperature"),
            spring_rate=Reading.of_text("80", "spring rate"),
        ),
        air_temperature=Reading.of_text("24", "temperature"),
    )
    now = was
    for path, value in {
        "FL.rebound_bleed": Reading.of_si(10, "clicks"),
        "FR.rebound_bleed": Reading.of_si(5, "clicks"),
        "RL.gas_pressure": Reading.of_text("18", "pressure"),
        "RR.spring_rate": Reading.of_text("500 lbf/in", "spring rate"),
        "air_temperature": Reading.of_text("9", "temperature"),
        "items.Rear bar": "hole 3",
    }.items():
        now = now.with_value(path, value)
    log = tmp_path / "log.trackside"
    with Logbook.open(log, author="Ann") as logbook:
        for kind, records in (("build", garage.SHED.builds), ("sheet", garage.SHED.sheets)):
            logbook.write(*(put(kind, record.body()) for record in records))
        named = [put("session", session.body()) for session in (was, now)]
        logbook.write(*named)
    found = cli("--log", log, "changes", *(write.entity for write in named), "--json").json
    setup = {change["path"]: change for change in found["setup"]}
    left, right = setup["FL.rebound_bleed"], setup["FR.rebound_bleed"]
    assert (left["clicks_harder"], right["clicks_harder"]) == (-2, 3)
    assert left["counted_from"] == ["hard", "hard"]
    assert (left["was"]["number"], left["now"]["number"]) == (8, 10)
    assert left["how"] == "2 clicks softer (8 to 10 from full hard)"
    gas = setup["RL.gas_pressure"]
    assert (gas["verdict"], gas["at_20_C_bar"]) == ("set", pytest.approx([16, 18]))
    assert gas["now"] == {"number": pytest.approx(18), "unit": "bar", "typed": "18"}
    spring = setup["RR.spring_rate"]
    # 1 lbf/in = 0.45359237 kg · 9.80665 m/s² / 25.4 mm, by the definitions of pound and inch
    per_lbf = 0.45359237 * 9.80665 / 25.4
    assert spring["now"] == {
        "number": pytest.approx(500 * per_lbf),
        "unit": "N/mm",
        "typed": "500 lbf/in",
    }
    assert setup["items.Rear bar"]["was"] is None
    assert setup["items.Rear bar"]["now"]["typed"] == "hole 3"
    [air] = found["conditions"]
    assert (air["was"]["number"], air["now"]["number"], air["now"]["unit"]) == (24, 9, "°C")
    assert found["no_estimate"] == []


def test_the_parts_stand_beside_the_sheet_of_the_same_build(
    on_samples: Cli, samples_log: Path
) -> None:
    """Only the samples' rear dampers have parts and a sheet of one build. The parts' force is that
    of their own curve; the corner's is still the sheet's."""
    with Logbook.open(samples_log, read_only=True) as logbook:
        lines = [one for one in logbook.session_lines() if one.start.startswith("2026-10-18")]
        ran = next(n.entity for n in lines if logbook.record(n.entity).RL.damper == "TW-2241")
        record, shed = logbook.record(ran), Shed.of(logbook)
    bodies = on_samples("curve", ran, "RL", "--json").json["estimates"]
    assert [one["direction"] for one in bodies] == ["bump", "rebound"]
    for one in bodies:
        at = setting(record, "RL", one["direction"], shed)
        alone = parts_curve(at.build, one["direction"])
        speeds = [v / 1000 for v in one["speed_mm_s"]]
        assert one["parts_alone"]["force_N"] == pytest.approx(
            list(alone.predict(at.from_hard, speeds).force)
        )
        assert one["parts_alone"]["force_N"] != pytest.approx(one["force_N"])
        assert one["basis"] == "measured"
        assert one["parts_alone"]["can_be_what_ran"] is True
    told = on_samples("curve", ran, "RL").out
    assert "not what was on the bench" not in told
    assert told.count("its parts alone make N at mm/s: ") == 2
    assert "rebound, parts alone" in told
    front = on_samples("curve", ran, "FL", "--json").json["estimates"]
    assert not any("parts_alone" in one for one in front)
    assert "parts alone" not in on_samples("curve", ran, "FL").out
